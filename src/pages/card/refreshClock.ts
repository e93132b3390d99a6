/**
 * The screen's refresh, told from the time stamps of animation callbacks: its period, refreshes that the page missed, and the tick to be drawn.
 *
 * A tick is the animation clock over the refresh period, followed as a phase: a missed callback skips ticks, as the light did, and a callback
 * that comes a little early or late moves none. Counting callbacks would let the card run slow by each one missed. A screen whose refreshes do
 * not lie on one grid (variable refresh) has no tick, and is refused by name.
 */

/** Stamps that a period is told from: two seconds at 60 Hz. */
const LEAST_STAMPS = 100;
/** From the grid, as a share of the period: browsers round stamps to 0.1 ms and jitter a little more. */
const ON_GRID_RATIO = 0.15;
/** A share of intervals off the grid that a busy computer explains. */
const MOST_OFF_RATIO = 0.05;
/** Missing more, the page cannot keep up with the screen at all. */
const MOST_MISSED_RATIO = 0.2;
/** How fast the phase follows the stamps. */
const GAIN = 0.02;

export type RefreshSeen =
	| { readonly kind: 'steady'; readonly periodMs: number; readonly missedRatio: number }
	| { readonly kind: 'tooFew' }
	| { readonly kind: 'unsteady'; readonly why: 'variable' | 'slow'; readonly offRatio: number };

/** What a row of time stamps (ms, rising) says of the screen. */
export function judgeRefresh(stampsMs: readonly number[]): RefreshSeen {
	if (stampsMs.length < LEAST_STAMPS) return { kind: 'tooFew' };
	const intervals = stampsMs.slice(1).map((stamp, i) => stamp - stampsMs[i]!);
	const guess = shortUsual(intervals);
	const steps = intervals.map((interval) => Math.max(1, Math.round(interval / guess)));
	const refreshes = steps.reduce((sum, step) => sum + step, 0);
	const periodMs = (stampsMs.at(-1)! - stampsMs[0]!) / refreshes;
	const off = intervals.filter(
		(interval, i) => Math.abs(interval / periodMs - steps[i]!) > ON_GRID_RATIO,
	).length;
	const offRatio = off / intervals.length;
	if (offRatio > MOST_OFF_RATIO) return { kind: 'unsteady', why: 'variable', offRatio };
	const missedRatio = 1 - intervals.length / refreshes;
	if (missedRatio > MOST_MISSED_RATIO) return { kind: 'unsteady', why: 'slow', offRatio: missedRatio };
	return { kind: 'steady', periodMs, missedRatio };
}

/** Median of the shorter half: missed refreshes only lengthen intervals. */
function shortUsual(intervals: readonly number[]): number {
	const sorted = [...intervals].sort((a, b) => a - b);
	return sorted[Math.floor(sorted.length / 4)]!;
}

export type RefreshClock = {
	/** The tick of the refresh that this callback draws for. */
	tickAt(stampMs: number): number;
	/** Refreshes and misses since the clock began, and the period as followed. */
	readonly seen: () => { readonly refreshes: number; readonly missed: number; readonly periodMs: number };
	/** Whether the latest refreshes have left the grid: the screen changed its pace. */
	readonly lost: () => boolean;
};

/** Latest intervals that decide whether the grid was left. */
const LATEST = 120;
const LOST_RATIO = 0.25;

export function createRefreshClock(firstPeriodMs: number, firstTick: number): RefreshClock {
	let periodMs = firstPeriodMs;
	let phaseMs: number | null = null;
	let tick = firstTick;
	let refreshes = 0;
	let missed = 0;
	const off: boolean[] = [];
	return {
		tickAt(stampMs) {
			if (phaseMs === null) {
				phaseMs = stampMs;
				return tick;
			}
			const exact = (stampMs - phaseMs) / periodMs;
			const step = Math.max(0, Math.round(exact));
			if (step === 0) return tick;
			off.push(Math.abs(exact - step) > 2 * ON_GRID_RATIO);
			if (off.length > LATEST) off.shift();
			tick += step;
			refreshes += step;
			missed += step - 1;
			const errorMs = stampMs - (phaseMs + step * periodMs);
			phaseMs += step * periodMs + 2 * GAIN * errorMs;
			periodMs += (GAIN ** 2 * errorMs) / step;
			return tick;
		},
		seen: () => ({ refreshes, missed, periodMs }),
		lost: () => off.length === LATEST && off.filter((each) => each).length > LOST_RATIO * LATEST,
	};
}

/**
 * What is true of an invented link's run, found by brute force and not by the metrics: the age of the picture is looked at
 * every millisecond, the delay at every millisecond of content. Figures of `rehearse` and of tests stand beside these.
 *
 * Both look at the middle of each millisecond; quantiles are good to half a millisecond, shares to about 1 ms a picture.
 */
import type { Fate } from '../observations/records.ts';
import type { VirtualFrame } from './virtualDisplay.ts';
import { virtualFrames } from './virtualFrames.ts';
import type { VirtualLinkSpec } from './virtualLinkSpec.ts';

export type Truth = {
	readonly meanAgeMs: number;
	readonly p95AgeMs: number;
	/** Share of observed time with a picture older than the limit; the limit counts as not over. */
	readonly ageOverLimitRatio: number;
	/** Of pictures, each weighted by the content since the picture presented before it. */
	readonly meanFreshDelayMs: number;
	readonly medianFreshDelayMs: number;
	readonly p95FreshDelayMs: number;
	readonly delayOverLimitRatio: number;
	/** Longest time the same picture stood. */
	readonly longestHoldMs: number;
	/** Frames shown in the observed time. */
	readonly sent: number;
	readonly fates: Readonly<Record<Fate, number>>;
};

export type TruthLimits = { readonly ageLimitMs: number; readonly delayLimitMs: number };

/** Truth of a spec's run, by running it. Throws `RangeError` when nothing is presented in the observed time. */
export function truthOf(spec: VirtualLinkSpec, limits: TruthLimits): Truth {
	const fromMs = spec.warmUpMs;
	const endMs = fromMs + spec.observedMs;
	const ages = createTally(limits.ageLimitMs);
	const delays = createTally(limits.delayLimitMs);
	const fates = emptyLedger();
	let sent = 0;
	let longestHoldMs = 0;
	let before: { shownMs: number; seenMs: number } | null = null;

	for (const frame of virtualFrames(spec)) {
		if (frame.shownMs >= fromMs && frame.shownMs < endMs) {
			sent++;
			fates[frame.fate]++;
		}
		const picture = presented(frame);
		if (picture === null) continue;
		if (before !== null) {
			const { shownMs, seenMs } = before;
			for (const ms of middles(Math.max(seenMs, fromMs), Math.min(picture.seenMs, endMs)))
				ages.add(ms - shownMs);
			for (const _ of middles(Math.max(shownMs, fromMs), Math.min(picture.shownMs, endMs)))
				delays.add(picture.seenMs - picture.shownMs);
			if (picture.seenMs > fromMs)
				longestHoldMs = Math.max(longestHoldMs, Math.min(picture.seenMs, endMs) - seenMs);
		}
		before = picture;
	}
	if (before !== null)
		for (const ms of middles(Math.max(before.seenMs, fromMs), endMs)) ages.add(ms - before.shownMs);
	return {
		meanAgeMs: ages.mean(),
		p95AgeMs: ages.quantile(0.95),
		ageOverLimitRatio: ages.overRatio(),
		meanFreshDelayMs: delays.mean(),
		medianFreshDelayMs: delays.quantile(0.5),
		p95FreshDelayMs: delays.quantile(0.95),
		delayOverLimitRatio: delays.overRatio(),
		longestHoldMs,
		sent,
		fates,
	};
}

function presented({ shownMs, seenMs }: VirtualFrame): { shownMs: number; seenMs: number } | null {
	return seenMs === null ? null : { shownMs, seenMs };
}

function emptyLedger(): Record<Fate, number> {
	return { presented: 0, notDrawn: 0, unreadable: 0, overtaken: 0, late: 0, lost: 0 };
}

/** Middles of the whole milliseconds in [fromMs, untilMs). */
function* middles(fromMs: number, untilMs: number): Generator<number> {
	for (let ms = Math.ceil(fromMs - 0.5) + 0.5; ms < untilMs; ms++) yield ms;
}

/** Classes of half a millisecond up to a minute, so that memory does not grow with the run; beyond a minute, the last class. */
function createTally(limitMs: number) {
	const classes = new Uint32Array(120_001);
	let count = 0;
	let over = 0;
	let sum = 0;

	function checkCount(): void {
		if (count === 0)
			throw new RangeError('nothing was presented in the observed time, so nothing is true of its delay');
	}

	return {
		add(valueMs: number): void {
			const place = Math.min(classes.length - 1, Math.floor(valueMs * 2));
			classes[place] = classes[place]! + 1;
			count++;
			sum += valueMs;
			if (valueMs > limitMs) over++;
		},
		mean(): number {
			checkCount();
			return sum / count;
		},
		overRatio(): number {
			checkCount();
			return over / count;
		},
		/** Middle of the class that holds it. */
		quantile(order: number): number {
			checkCount();
			let below = 0;
			let place = 0;
			while (below + classes[place]! < order * count) below += classes[place++]!;
			return (place + 0.5) / 2;
		},
	};
}

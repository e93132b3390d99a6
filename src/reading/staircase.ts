/**
 * The clock fit: readings of a screen that changes once a tick, taken at regular times, put on a straight line of time without the
 * error of a phase that was not swept evenly.
 *
 * Over an exposure of length E (in ticks) about x the mean tick read is [G(x + E/2) - G(x - E/2)] / E, G being the integral of
 * a staircase that follows with the crystal's time constant (derived). Averaged over all phases it is x - 1/2 - response; at one
 * phase it is off by up to e(L - e)/2E. Fitted: offset and slope of x, E and the response, by search (estimators.md A3, B).
 */
import { findBeat } from './phaseLock.ts';

export type Staircase = {
	/** x of reading i is offset + slope times[i], in ticks. */
	readonly offset: number;
	readonly slope: number;
	readonly exposureTicks: number;
	readonly responseTicks: number;
	/** Root mean square of what is left, ticks. */
	readonly residual: number;
	/** Share of twenty phases of a tick that the readings touch. */
	readonly coverage: number;
	/** How far the line's middle lies in other fits that are as good, but for noise: exposures and phases that cannot be told apart. */
	readonly ambiguityTicks: number;
};

const EXPOSURES = [0.03, 0.12, 0.25, 0.4, 0.6, 0.8, 1, 1.4, 2, 2.6];
const RESPONSES = [0.02, 0.12, 0.25, 0.4, 0.6, 0.9];
const OFFSET_STARTS = [-0.4, -0.2, 0, 0.2, 0.4];
const TURN_STARTS = [-0.5, 0, 0.5];
const SAMPLES = 160;
const ROUNDS = 4;
const BINS = 20;
/** With fewer cycles of a tick's phase than this nothing can be told, and no time is spent on it. */
const LEAST_SWEEP = 0.25;

/** Mean tick read over an exposure of `exposure` ticks about x. */
export function staircaseReading(x: number, exposure: number, response: number): number {
	return (
		(staircaseIntegral(x + exposure / 2, response) - staircaseIntegral(x - exposure / 2, response)) / exposure
	);
}

/** Up to a constant. */
function staircaseIntegral(y: number, response: number): number {
	const whole = Math.floor(y);
	const part = y - whole;
	const plain = (whole * (whole - 1)) / 2 + whole * part;
	if (response <= 0) return plain;
	return plain - response * (whole - Math.exp(-part / response) / (1 - Math.exp(-1 / response)));
}

export type Readings = {
	/** Ascending; whatever runs evenly: file ms, or numbers of pictures. */
	readonly times: ArrayLike<number>;
	/** Mean ticks read. */
	readonly ticks: ArrayLike<number>;
	/** First guess, from a straight line through the readings. */
	readonly line: { readonly offset: number; readonly slope: number };
};

/** `responseTicks`: known from elsewhere; null: fitted too. Null with fewer than 20 readings, or where they plainly keep one phase. */
export function fitStaircase(readings: Readings, responseTicks: number | null): Staircase | null {
	const all = readings.times.length;
	if (all < 20) return null;
	if (sweeps(readings) < LEAST_SWEEP) return null;
	const thin = thinned(readings, SAMPLES);
	const responses = responseTicks === null ? RESPONSES : [responseTicks];
	const tried: Candidate[] = [];
	let best = search(thin, { responses, exposures: EXPOSURES, from: null, tried });
	for (const scale of [1.25, 1.1, 1.04]) {
		const near = (value: number): number[] => [value / scale, value, value * scale];
		best = search(thin, {
			responses: responseTicks === null ? near(best.responseTicks) : responses,
			exposures: near(best.exposureTicks),
			from: best,
			tried,
		});
	}
	const settled = settle(readings, best, 8);
	return {
		...settled,
		coverage: phaseCoverage(readings.times, settled),
		ambiguityTicks: ambiguity(thin, best, tried),
	};
}

/** Cycles of the lattice that readings at even times sweep. Some are missing (lost pictures, unread frames): the usual step is taken, not the mean. */
function sweeps({ times, line }: Readings): number {
	const steps = Float64Array.from({ length: times.length - 1 }, (_, i) => times[i + 1]! - times[i]!).sort();
	const step = steps[steps.length >> 1]!;
	const count = Math.round((times[times.length - 1]! - times[0]!) / step) + 1;
	const { parts, cycles } = findBeat(line.slope * step, count);
	return cycles * parts;
}

type Candidate = Omit<Staircase, 'coverage' | 'ambiguityTicks'>;
type Search = {
	readonly responses: readonly number[];
	readonly exposures: readonly number[];
	/** Where to start from; null: all over. */
	readonly from: Candidate | null;
	/** Every fit made goes here. */
	readonly tried: Candidate[];
};

function search(readings: Readings, { responses, exposures, from, tried }: Search): Candidate {
	const span = readings.times[readings.times.length - 1]! - readings.times[0]!;
	let best: Candidate | null = from;
	for (const responseTicks of responses)
		for (const exposureTicks of exposures) {
			const shape = { exposureTicks, responseTicks, residual: Number.POSITIVE_INFINITY };
			const starts = from === null ? startsOf(readings, responseTicks, span) : [from];
			for (const { offset, slope } of starts) {
				const found = settle(readings, { ...shape, offset, slope }, ROUNDS);
				tried.push(found);
				if (best === null || found.residual < best.residual) best = found;
			}
		}
	return best!;
}

/** A sum of squares greater by this many noise variances is still as good: 95 % of a handful of parameters. */
const AS_GOOD = 9;

function ambiguity({ times }: Readings, best: Candidate, tried: readonly Candidate[]): number {
	const count = times.length;
	const middle = (times[0]! + times[count - 1]!) / 2;
	const readAt = ({ offset, slope, responseTicks }: Candidate): number =>
		offset + slope * middle - responseTicks;
	const most = best.residual ** 2 * (1 + AS_GOOD / count);
	const asGood = tried.filter(({ residual }) => residual ** 2 <= most);
	return Math.max(0, ...asGood.map((other) => Math.abs(readAt(other) - readAt(best))));
}

function startsOf({ line, times }: Readings, responseTicks: number, span: number) {
	const middle = times[0]! + span / 2;
	return OFFSET_STARTS.flatMap((shift) =>
		TURN_STARTS.map((turn) => {
			const slope = line.slope + turn / span;
			const offset = line.offset + 0.5 + responseTicks + shift - (turn / span) * middle;
			return { offset, slope };
		}),
	);
}

/** Moves offset and slope so that what is left has no trend; the mean slope of a staircase is 1. */
function settle({ times, ticks }: Readings, start: Candidate, rounds: number): Candidate {
	const { exposureTicks, responseTicks } = start;
	let { offset, slope } = start;
	let best: Candidate = { ...start, residual: Number.POSITIVE_INFINITY };
	const count = times.length;
	for (let round = 0; round <= rounds; round++) {
		let [sumX, sumY, sumXX, sumXY, squares] = [0, 0, 0, 0, 0];
		for (let i = 0; i < count; i++) {
			const time = times[i]!;
			const left = ticks[i]! - staircaseReading(offset + slope * time, exposureTicks, responseTicks);
			sumX += time;
			sumY += left;
			sumXX += time * time;
			sumXY += time * left;
			squares += left * left;
		}
		const residual = Math.sqrt(squares / count);
		if (residual < best.residual) best = { offset, slope, exposureTicks, responseTicks, residual };
		const spread = sumXX - (sumX * sumX) / count;
		const change = spread > 0 ? (sumXY - (sumX * sumY) / count) / spread : 0;
		slope += change;
		offset += sumY / count - (change * sumX) / count;
	}
	return best;
}

function thinned(readings: Readings, most: number): Readings {
	const count = readings.times.length;
	if (count <= most) return readings;
	const places = Array.from({ length: most }, (_, i) => Math.floor((i * (count - 1)) / (most - 1)));
	return {
		times: Float64Array.from(places, (place) => readings.times[place]!),
		ticks: Float64Array.from(places, (place) => readings.ticks[place]!),
		line: readings.line,
	};
}

function phaseCoverage(
	times: ArrayLike<number>,
	{ offset, slope }: { offset: number; slope: number },
): number {
	const touched = new Uint8Array(BINS);
	for (let i = 0; i < times.length; i++) {
		const x = offset + slope * times[i]!;
		touched[Math.min(BINS - 1, Math.floor((x - Math.floor(x)) * BINS))] = 1;
	}
	return touched.reduce((sum, bin) => sum + bin, 0) / BINS;
}

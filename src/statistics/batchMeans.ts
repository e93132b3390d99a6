/**
 * How far the mean of a correlated curve may be off, from means over batches of 1, 2, 5 and 10 s, longer in a long run: the variance of the
 * overall mean by each batch length, the largest one counting (estimators.md B1). Batches are whole seconds counted
 * from a segment's start; none straddles a break, and what is left over at a segment's end is in no batch.
 */
import type { LevelCurve } from './levelCurve.ts';

const SECOND_MS = 1000;
/** Twice, four times … the longest, where the run holds this many: spells that hang together show only there. */
const LEAST_LONG_BATCHES = 30;
/** A length of batch with fewer batches than this says nothing about its variance. */
const LEAST_BATCHES = 6;
const BATCH_SECONDS = [1, 2, 5, 10];
/**
 * From one length to the next a variance that has stopped growing stays within this factor, but for chance; one that
 * grows in step with the length doubles from 5 to 10 s. Computed: at
 * 120 s this calls under 1 % of AR(1) runs too slow up to a correlation of 0.95 at 30 pictures a second, 4 % at 0.98.
 */
const GROWTH = 1.5;
/** Lets a segment of 59,999.999,999 ms hold sixty seconds. */
const ROUNDING_MS = 1e-6;

/** Whole seconds of each segment: segment i has cells [starts[i], starts[i + 1]). */
export type SecondCells = { readonly starts: Uint32Array; readonly count: number };

export type BatchVariance = {
	/** Largest variance of the mean over the lengths that have enough batches; null when none has. */
	readonly largest: number | null;
	/** The variance still grew at the longest length that has enough batches: it may be larger than this run can show. */
	readonly slowerThanSeen: boolean;
	/** By how much the fullest batch stood over the mean, at the length of the largest variance: value times seconds. */
	readonly largestSurplus: number;
	/** How many times the longest batch used goes into half the run: how far a variance could still grow. */
	readonly growthLeft: number;
};

export function layOutSeconds(curve: LevelCurve): SecondCells {
	const segmentCount = curve.segmentStarts.length;
	const starts = new Uint32Array(segmentCount + 1);
	for (let segment = 0; segment < segmentCount; segment++) {
		const end = curve.segmentStarts[segment + 1] ?? curve.count;
		let lengthMs = 0;
		for (let i = curve.segmentStarts[segment]!; i < end; i++) lengthMs += curve.lengthsMs[i]!;
		starts[segment + 1] = starts[segment]! + Math.floor((lengthMs + ROUNDING_MS) / SECOND_MS);
	}
	return { starts, count: starts[segmentCount]! };
}

/** Variance of the overall mean of `cells`, one value for each whole second. */
export function batchVariance(cells: Float64Array, layout: SecondCells): BatchVariance {
	const spreads: Spread[] = [];
	for (const seconds of BATCH_SECONDS) {
		const spread = spreadOfMean(cells, layout, seconds);
		if (spread !== null) spreads.push(spread);
	}
	let seconds = BATCH_SECONDS[Math.max(0, spreads.length - 1)]!;
	// A variance that still grows is followed to longer batches for as long as the run has enough of them.
	while (spreads.length >= BATCH_SECONDS.length && stillGrows(spreads)) {
		const spread = spreadOfMean(cells, layout, seconds * 2);
		if (spread === null) break;
		seconds *= 2;
		spreads.push(spread);
	}
	const slowerThanSeen = stillGrows(spreads);
	for (let long = seconds * 2; ; long *= 2) {
		const spread = spreadOfMean(cells, layout, long, LEAST_LONG_BATCHES);
		if (spread === null) break;
		spreads.push(spread);
	}
	const widest = spreads.reduce<Spread | undefined>(
		(most, one) => (most === undefined || one.variance > most.variance ? one : most),
		undefined,
	);
	return {
		largest: widest?.variance ?? null,
		slowerThanSeen,
		largestSurplus: widest?.surplus ?? 0,
		growthLeft: Math.max(1, cells.length / (2 * seconds)),
	};
}

/**
 * Standard uncertainty of `meanLevel(curve)` by the largest batch variance, in the level's unit; null when the curve
 * has not six batches even of one second.
 */
export function meanUncertainty(curve: LevelCurve): number | null {
	const layout = layOutSeconds(curve);
	const { largest } = batchVariance(secondMeans(curve, layout), layout);
	return largest === null ? null : Math.sqrt(largest);
}

type Spread = { readonly variance: number; readonly surplus: number };

function spreadOfMean(
	cells: Float64Array,
	{ starts }: SecondCells,
	seconds: number,
	least = LEAST_BATCHES,
): Spread | null {
	let fullest = Number.NEGATIVE_INFINITY;
	let count = 0;
	let mean = 0;
	let squares = 0;
	for (let segment = 0; segment + 1 < starts.length; segment++) {
		for (let first = starts[segment]!; first + seconds <= starts[segment + 1]!; first += seconds) {
			let sum = 0;
			for (let i = first; i < first + seconds; i++) sum += cells[i]!;
			const value = sum / seconds;
			fullest = Math.max(fullest, value);
			// Welford's running form, which keeps its figures when the values hardly differ.
			count++;
			const step = value - mean;
			mean += step / count;
			squares += step * (value - mean);
		}
	}
	if (count < least) return null;
	return { variance: squares / (count - 1) / count, surplus: (fullest - mean) * seconds };
}

function stillGrows(spreads: readonly Spread[]): boolean {
	const [before, previous, last] = spreads.slice(-3).map(({ variance }) => variance);
	if (before === undefined || previous === undefined || last === undefined) return false;
	return last > GROWTH * previous && previous > GROWTH * before;
}

function secondMeans(curve: LevelCurve, layout: SecondCells): Float64Array {
	const cells = new Float64Array(layout.count);
	for (let segment = 0; segment < curve.segmentStarts.length; segment++) {
		const base = layout.starts[segment]!;
		const wholeMs = (layout.starts[segment + 1]! - base) * SECOND_MS;
		const end = curve.segmentStarts[segment + 1] ?? curve.count;
		let atMs = 0;
		for (let i = curve.segmentStarts[segment]!; i < end && atMs < wholeMs; i++) {
			const endMs = atMs + curve.lengthsMs[i]!;
			for (let fromMs = atMs; fromMs < Math.min(endMs, wholeMs); ) {
				const cell = Math.floor(fromMs / SECOND_MS);
				const toMs = Math.min(endMs, (cell + 1) * SECOND_MS);
				const middleLevel = curve.levels[i]! + curve.slope * ((fromMs + toMs) / 2 - atMs);
				cells[base + cell]! += (middleLevel * (toMs - fromMs)) / SECOND_MS;
				fromMs = toMs;
			}
			atMs = endMs;
		}
	}
	return cells;
}

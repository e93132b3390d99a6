/**
 * How fast a lens clears: one figure over time (sharpness, or the contrast of lines) through clean, smeared, flushed and clean again.
 * The flush is where it was marked, or where the figure leaves its low for good; the time runs from there to nine tenths of
 * the way back to clean, and to the instant it is so between two pictures.
 *
 * Source: this project's own definition. Clean is the middle of what stands before the smear; low the least middle of three
 * pictures after it; a single picture's luck does not count: the level must hold for three.
 */
import { quantileSorted, sortSamples } from '../statistics/quantile.ts';
import type { NotMeasured } from './metric.ts';

export type Sighting = { readonly atMs: number; readonly value: number };

export type LensClear = {
	readonly kind: 'measured';
	readonly flushMs: number;
	readonly flushFound: 'marked' | 'found';
	readonly clean: number;
	readonly low: number;
	/** From the flush; null where it did not come back so far. */
	readonly toNineTenthsMs: number | null;
	/** What is still missing of clean at the end: 0 = nothing. */
	readonly remainsRatio: number;
};

const HOLD = 3;
const BACK = 0.9;
/** Share of the way back at which a rise is a rise: clear of the low's own scatter. */
const RISE = 0.1;
/** The low must lie below so much of clean for there to have been a smear. */
const SMEARED = 0.8;
const LEAST = 8;

/**
 * `series` in order of time; `cleanUntilMs`: before it the lens was clean; `flushMs`: where a person or the card marked the flush,
 * null to look for it. RangeError for a series out of order.
 */
export function measureLensClear(
	series: readonly Sighting[],
	{ cleanUntilMs, flushMs }: { readonly cleanUntilMs: number; readonly flushMs: number | null },
): LensClear | NotMeasured {
	if (series.some(({ atMs }, i) => i > 0 && atMs < series[i - 1]!.atMs))
		throw new RangeError('a series must stand in order of time');
	const before = series.filter(({ atMs }) => atMs < cleanUntilMs);
	const after = series.filter(({ atMs }) => atMs >= cleanUntilMs);
	if (before.length < HOLD || after.length < LEAST)
		return notMeasured(
			'tooFewPictures',
			`Clearing needs ${HOLD} pictures of the clean lens and ${LEAST} after it.`,
		);
	const clean = middle(before);
	const lowAt = lowest(after);
	const low = middle(after.slice(lowAt, lowAt + HOLD));
	if (!(low < SMEARED * clean))
		return notMeasured('notSmeared', 'The picture never became clearly worse: nothing was there to clear.');
	const flush = flushMs ?? after[lastLow(after, low + RISE * (clean - low), lowAt)]!.atMs;
	const since = after.filter(({ atMs }) => atMs >= flush);
	const level = low + BACK * (clean - low);
	const backAt = since.findIndex(
		(_, i) => i + HOLD <= since.length && since.slice(i, i + HOLD).every(({ value }) => value >= level),
	);
	return {
		kind: 'measured',
		flushMs: flush,
		flushFound: flushMs === null ? 'found' : 'marked',
		clean,
		low,
		toNineTenthsMs: backAt < 0 ? null : crossing(since, backAt, level) - flush,
		remainsRatio: Math.max(0, 1 - middle(after.slice(-HOLD)) / clean),
	};
}

export type FlushRepeats = {
	readonly count: number;
	readonly middleMs: number;
	/** Greatest less least. */
	readonly rangeMs: number;
	/** Flushes that never came back to nine tenths. */
	readonly neverCount: number;
};

/** Over several flushes; null where none came back. */
export function flushRepeats(flushes: readonly LensClear[]): FlushRepeats | null {
	const times = flushes.flatMap(({ toNineTenthsMs }) => (toNineTenthsMs === null ? [] : [toNineTenthsMs]));
	if (times.length === 0) return null;
	return {
		count: times.length,
		middleMs: quantileSorted(sortSamples(times), 0.5),
		rangeMs: Math.max(...times) - Math.min(...times),
		neverCount: flushes.length - times.length,
	};
}

function lowest(series: readonly Sighting[]): number {
	let best = 0;
	for (let i = 0; i + HOLD <= series.length; i++)
		if (middle(series.slice(i, i + HOLD)) < middle(series.slice(best, best + HOLD))) best = i;
	return best;
}

/** Place of the last picture under `level` before three in a row above it, from the low on. */
function lastLow(series: readonly Sighting[], level: number, from: number): number {
	let last = from;
	for (let i = from; i < series.length; i++) {
		if (series[i]!.value < level) last = i;
		else if (series.slice(i, i + HOLD).every(({ value }) => value >= level)) break;
	}
	return last;
}

/** The instant between two pictures at which the level was crossed, on a straight line. */
function crossing(series: readonly Sighting[], at: number, level: number): number {
	const to = series[at]!;
	const from = series[at - 1];
	if (from === undefined || from.value >= level) return to.atMs;
	return from.atMs + ((level - from.value) / (to.value - from.value)) * (to.atMs - from.atMs);
}

function middle(series: readonly Sighting[]): number {
	return quantileSorted(sortSamples(series.map(({ value }) => value)), 0.5);
}

function notMeasured(reason: string, explanation: string): NotMeasured {
	return { kind: 'notMeasured', reason, explanation };
}

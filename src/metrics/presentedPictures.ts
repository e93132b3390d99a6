/**
 * The pictures that the viewer showed, as columns, one set for each segment that outlasts its warm-up, in the order seen.
 *
 * Warm-up pictures are kept at the front: one of them may still be on the screen when observation begins, and the freeze
 * rule averages over them. A row that steps back to an older picture does not change the newest picture on the viewer;
 * it is counted in `steppedBackCount` and left out. Frames never presented are not here; `sentFrames.ts` has them.
 */
import type { Run, Segment } from '../observations/run.ts';

export type SegmentPictures = {
	readonly segment: number;
	/** Observation begins: the end of warm-up. */
	readonly fromMs: number;
	readonly endMs: number;
	/** Since when there could have been a picture: the first frame the source showed, or `fromMs` if that is earlier. */
	readonly originMs: number;
	/** How far the two ends' clocks may disagree; zero where they are one clock. */
	readonly clockBoundMs: number;
	/** The source's declared period. */
	readonly sourcePeriodMs: number;
	/** Never falling. */
	readonly seenMs: Float64Array;
	/** Always rising. */
	readonly shownMs: Float64Array;
	/** Pictures whose content is observed, shown in [fromMs, endMs), are those in [contentFrom, contentUntil). */
	readonly contentFrom: number;
	readonly contentUntil: number;
	readonly steppedBackCount: number;
	/**
	 * Ages of filmed frames where the pictures' instants are too coarse to make ages of: [at, age, half-width, weight] each. Empty where the
	 * pictures themselves are exact enough, as on a link.
	 */
	readonly coarseAges: readonly (readonly [number, number, number, number])[];
};

type Gathered = { readonly seenMs: number[]; readonly shownMs: number[]; firstShownMs: number };

/** One set of columns for each segment with observed time in it, in the run's order. */
export function gatherPictures(run: Run): SegmentPictures[] {
	const gathered = new Map<number, Gathered>();
	for (const { segment } of run.segments) {
		gathered.set(segment, { seenMs: [], shownMs: [], firstShownMs: Number.POSITIVE_INFINITY });
	}
	for (const frame of run.frames) {
		const into = gathered.get(frame.segment);
		if (into === undefined) continue;
		into.firstShownMs = Math.min(into.firstShownMs, frame.shownMs);
		if (frame.fate !== 'presented' || frame.seenMs === null) continue;
		into.seenMs.push(frame.seenMs);
		into.shownMs.push(frame.shownMs);
	}
	const sourcePeriodMs = 1000 / run.header.source.rateHz;
	return run.segments
		.filter(({ warmUpUntilMs, endMs }) => endMs > warmUpUntilMs)
		.map((segment) => ({
			...columnsOf(segment, gathered.get(segment.segment)!, sourcePeriodMs),
			coarseAges: coarseAgesOf(run, segment.segment),
		}));
}

/** How many pictures have their content in the observed time, over all segments. */
export function contentCount(pictures: readonly SegmentPictures[]): number {
	return pictures.reduce((sum, { contentFrom, contentUntil }) => sum + contentUntil - contentFrom, 0);
}

/** Observed time of these segments. */
export function observedIn(pictures: readonly SegmentPictures[]): number {
	return pictures.reduce((sum, { fromMs, endMs }) => sum + endMs - fromMs, 0);
}

/** First index of a never-falling column whose value is at least `atLeast`; its length if there is none. */
export function firstIndexFrom(column: Float64Array, atLeast: number): number {
	let low = 0;
	let high = column.length;
	while (low < high) {
		const middle = (low + high) >>> 1;
		if (column[middle]! < atLeast) low = middle + 1;
		else high = middle;
	}
	return low;
}

function coarseAgesOf({ ageSamples }: Run, segment: number): SegmentPictures['coarseAges'] {
	return ageSamples.flatMap((block) =>
		block.segment === segment && block.pictures === 'coarse' ? block.rows : [],
	);
}

/** Segments whose pictures' instants are exact enough for a delay of each. */
export function timedPictures(pictures: readonly SegmentPictures[]): readonly SegmentPictures[] {
	return pictures.filter(({ coarseAges }) => coarseAges.length === 0);
}

function columnsOf(
	segment: Segment,
	gathered: Gathered,
	sourcePeriodMs: number,
): Omit<SegmentPictures, 'coarseAges'> {
	const { seenMs, shownMs, steppedBackCount } = onlyForward(gathered);
	const { warmUpUntilMs: fromMs, endMs } = segment;
	return {
		segment: segment.segment,
		fromMs,
		endMs,
		originMs: Math.min(gathered.firstShownMs, fromMs),
		clockBoundMs: segment.clock?.boundMs ?? 0,
		sourcePeriodMs,
		seenMs,
		shownMs,
		contentFrom: firstIndexFrom(shownMs, fromMs),
		contentUntil: firstIndexFrom(shownMs, endMs),
		steppedBackCount,
	};
}

/** Puts the rows in the order seen, and leaves out those that step back to an older picture. */
function onlyForward({ seenMs, shownMs }: Gathered) {
	const order = Array.from(seenMs.keys());
	if (seenMs.some((seen, i) => i > 0 && seen < seenMs[i - 1]!)) {
		order.sort((a, b) => seenMs[a]! - seenMs[b]! || shownMs[a]! - shownMs[b]!);
	}
	let newestMs = Number.NEGATIVE_INFINITY;
	const kept = order.filter((row) => {
		const newer = shownMs[row]! > newestMs;
		if (newer) newestMs = shownMs[row]!;
		return newer;
	});
	return {
		seenMs: Float64Array.from(kept, (row) => seenMs[row]!),
		shownMs: Float64Array.from(kept, (row) => shownMs[row]!),
		steppedBackCount: order.length - kept.length,
	};
}

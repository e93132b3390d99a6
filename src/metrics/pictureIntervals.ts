/**
 * How long each picture stood until the next one came, at the viewer, one list for each segment.
 *
 * An interval counts when any of it lies after warm-up, and then with its whole length. The segment's end cuts the last
 * one off: what is listed is then the least it can have been. Where no picture had come by the end of warm-up, the
 * wait for the first counts from the first frame that the source showed.
 */
import type { SegmentPictures } from './presentedPictures.ts';

export type PictureIntervals = {
	/** Every interval of the segment, warm-up included, in time order. */
	readonly lengthMs: Float64Array;
	/** Place of the first one in which a picture stood; before it there may be the wait for that picture. */
	readonly firstStanding: number;
	/** Place of the first one that reaches beyond warm-up. */
	readonly firstObserved: number;
	readonly sourcePeriodMs: number;
};

export function pictureIntervals(pictures: SegmentPictures): PictureIntervals {
	const { seenMs, fromMs, endMs, originMs, sourcePeriodMs } = pictures;
	const lengthMs: number[] = [];
	let firstObserved = -1;
	const waitsForFirst = seenMs.length === 0 || seenMs[0]! > fromMs;
	let previousMs = waitsForFirst ? originMs : seenMs[0]!;
	for (let i = waitsForFirst ? 0 : 1; i <= seenMs.length; i++) {
		const nextMs = i < seenMs.length ? Math.min(seenMs[i]!, endMs) : endMs;
		if (nextMs > fromMs && firstObserved < 0) firstObserved = lengthMs.length;
		lengthMs.push(nextMs - previousMs);
		previousMs = nextMs;
		if (nextMs === endMs) break;
	}
	return {
		lengthMs: Float64Array.from(lengthMs),
		firstStanding: waitsForFirst ? 1 : 0,
		firstObserved,
		sourcePeriodMs,
	};
}

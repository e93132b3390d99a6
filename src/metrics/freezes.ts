/**
 * Freezes and pauses by the W3C definition (webrtc-stats, published): a freeze is an interval between two presented
 * pictures of at least max(3 avg, avg + 150 ms), avg being the mean of the last 30 intervals; a pause is over 5 s.
 *
 * The averaging rule, on which implementations differ (standards.md 5.5): the 30 intervals *before* the one judged, exact
 * arithmetic, anew in each segment, earlier freezes among them; while there are fewer than 30, those there are; where
 * there is none, the source's own period. The wait for the first picture is judged and not averaged over; intervals of
 * warm-up are averaged over and not judged.
 *
 * A long interval counts as a freeze and, over 5 s, as a pause too. One that is still open when the segment ends counts
 * as soon as it is long enough. Nothing below avg + 150 ms counts: four pictures missing at 30/s are no freeze; see
 * `gaps.ts`.
 */
import { eventRate } from './eventRate.ts';
import type { Freezes, Metric } from './metric.ts';
import { type PictureIntervals, pictureIntervals } from './pictureIntervals.ts';
import type { SegmentPictures } from './presentedPictures.ts';

const AVERAGED_INTERVALS = 30;
const FREEZE_FACTOR = 3;
const FREEZE_EXTRA_MS = 150;
const PAUSE_MS = 5000;

export function measureFreezes(pictures: readonly SegmentPictures[], observedMs: number): Metric<Freezes> {
	if (pictures.length === 0) {
		return {
			kind: 'notMeasured',
			reason: 'nothingObserved',
			explanation: 'The run ended before its warm-up did, so no time was observed.',
		};
	}
	const freezesMs = pictures.flatMap((segment) => findFreezes(pictureIntervals(segment)));
	return {
		kind: 'measured',
		freezes: eventRate(freezesMs.length, observedMs),
		pauses: eventRate(countPauses(pictures), observedMs),
		totalFreezeMs: freezesMs.reduce((sum, length) => sum + length, 0),
		longestFreezeMs: freezesMs.reduce((longest, length) => Math.max(longest, length), 0),
		averagingRule: 'mean of the 30 intervals before the one judged, anew in each segment',
	};
}

/** Lengths of the freezes of one segment, in time order. */
function findFreezes(intervals: PictureIntervals): number[] {
	const { lengthMs, firstObserved } = intervals;
	const found: number[] = [];
	for (let i = firstObserved; i < lengthMs.length; i++) {
		const length = lengthMs[i]!;
		// Below this no average can make it a freeze, and most intervals end here.
		if (length < FREEZE_EXTRA_MS) continue;
		const averageMs = averageBefore(intervals, i);
		if (length >= Math.max(FREEZE_FACTOR * averageMs, averageMs + FREEZE_EXTRA_MS)) found.push(length);
	}
	return found;
}

function averageBefore({ lengthMs, firstStanding, sourcePeriodMs }: PictureIntervals, i: number): number {
	const first = Math.max(firstStanding, i - AVERAGED_INTERVALS);
	if (first >= i) return sourcePeriodMs;
	let sum = 0;
	for (let k = first; k < i; k++) sum += lengthMs[k]!;
	return sum / (i - first);
}

function countPauses(pictures: readonly SegmentPictures[]): number {
	let count = 0;
	for (const segment of pictures) {
		const { lengthMs, firstObserved } = pictureIntervals(segment);
		for (const length of lengthMs.subarray(firstObserved)) if (length > PAUSE_MS) count++;
	}
	return count;
}

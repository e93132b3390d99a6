/**
 * Gaps between successive presented pictures at the viewer: longer than 200 ms, longer than 500 ms, and the longest.
 * A gap at the start or the end of a segment is cut off by it and counts as what was seen of it. W3C freezes need a multiple
 * of the usual interval and are in `freezes.ts`; a gap is judged by its length alone. Limits by analogy with delay
 * (standards.md 11).
 */
import { eventRate } from './eventRate.ts';
import type { Gaps, Metric } from './metric.ts';
import { pictureIntervals } from './pictureIntervals.ts';
import type { SegmentPictures } from './presentedPictures.ts';

const SHORT_GAP_MS = 200;
const LONG_GAP_MS = 500;

export function measureGaps(pictures: readonly SegmentPictures[], observedMs: number): Metric<Gaps> {
	if (pictures.length === 0) {
		return {
			kind: 'notMeasured',
			reason: 'nothingObserved',
			explanation: 'The run ended before its warm-up did, so no time was observed.',
		};
	}
	let [over200, over500, longestMs] = [0, 0, 0];
	for (const segment of pictures) {
		const { lengthMs, firstObserved } = pictureIntervals(segment);
		for (const length of lengthMs.subarray(firstObserved)) {
			if (length > SHORT_GAP_MS) over200++;
			if (length > LONG_GAP_MS) over500++;
			longestMs = Math.max(longestMs, length);
		}
	}
	return {
		kind: 'measured',
		over200: eventRate(over200, observedMs),
		over500: eventRate(over500, observedMs),
		longestMs,
	};
}

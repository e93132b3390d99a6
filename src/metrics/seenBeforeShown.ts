/**
 * No picture is seen before it is shown. A delay below zero by more than the clocks' own doubt means that the two ends
 * are misaligned, and that spoils every delay and every age of the run, not one of them.
 */
import type { NotMeasured } from './metric.ts';
import type { SegmentPictures } from './presentedPictures.ts';

/** Two instants, each rounded to a thousandth of a millisecond in the file. */
const ROUNDING_MS = 0.001;

/** Null: every picture was seen after it was shown, as far as the clocks can tell. */
export function seenBeforeShown(pictures: readonly SegmentPictures[]): NotMeasured | null {
	for (const { seenMs, shownMs, clockBoundMs } of pictures) {
		for (let i = 0; i < seenMs.length; i++) {
			const delayMs = seenMs[i]! - shownMs[i]!;
			if (delayMs >= -clockBoundMs - ROUNDING_MS) continue;
			return {
				kind: 'notMeasured',
				reason: 'seenBeforeShown',
				explanation:
					`A picture was seen ${(-delayMs).toFixed(1)} ms before it was shown, though the clocks agree within ` +
					`${clockBoundMs.toFixed(1)} ms: the two ends' clocks are misaligned, and no delay of this run can be trusted.`,
			};
		}
	}
	return null;
}

/**
 * Picture age: how old the newest picture on the viewer is, at every instant of the observed time; age(s) = s - shown(k)
 * while picture k is the newest. Delay, waiting, lost pictures and freezes are all in it. Weighted by time and exact
 * on the curve; a sampled age or an order statistic of ages would be milliseconds low (estimators.md A3, computed).
 *
 * The last picture stands to the segment's end, so a freeze at the end counts. Before any picture came, age counts
 * from the first frame that the source showed: the least it can have been. Breaks between segments are no time at all.
 * A frame that arrives after a newer one changes nothing. With nothing presented, age is still measured, and grows.
 */
import { levelUpper } from '../statistics/guardBand.ts';
import {
	CurveBuilder,
	type LevelCurve,
	levelQuantile,
	maxLevel,
	meanLevel,
	shareOver,
} from '../statistics/levelCurve.ts';
import { ageWaitMs } from './displayWait.ts';
import type { Metric, PictureAge, RunFacts, Thresholds } from './metric.ts';
import { firstIndexFrom, type SegmentPictures } from './presentedPictures.ts';
import { seenBeforeShown } from './seenBeforeShown.ts';
import { readShare } from './shareReading.ts';

export function measurePictureAge(
	pictures: readonly SegmentPictures[],
	facts: RunFacts,
	thresholds: Thresholds,
): Metric<PictureAge> {
	if (pictures.length === 0) {
		return {
			kind: 'notMeasured',
			reason: 'nothingObserved',
			explanation: 'The run ended before its warm-up did, so no time was observed.',
		};
	}
	const spoilt = seenBeforeShown(pictures);
	if (spoilt !== null) return spoilt;
	const curve = pictureAgeCurve(pictures);
	const immaterialMs = ageWaitMs(facts);
	return {
		kind: 'measured',
		meanMs: meanLevel(curve),
		medianMs: levelQuantile(curve, 0.5),
		p95Ms: levelQuantile(curve, 0.95),
		maxMs: maxLevel(curve),
		p95UpperMs: levelUpper(curve, {
			allowedRatio: 0.05,
			centreMs: facts.systematicCentreMs,
			standardMs: facts.systematicStandardMs,
			immaterialMs,
		}),
		shareOverLimitRatio: shareOver(curve, thresholds.ageLimitMs),
		overLimit: readShare(curve, {
			limit: thresholds.ageLimitMs,
			allowedRatio: thresholds.allowedRatio,
			shift: facts,
			immaterialMs,
		}),
		count: pictures.reduce((sum, segment) => sum + picturesOnCurve(segment), 0),
	};
}

/** Age over observed time, one growing piece for each picture. Throws `RangeError` when no time was observed. */
export function pictureAgeCurve(pictures: readonly SegmentPictures[]): LevelCurve {
	const builder = new CurveBuilder(1);
	for (const segment of pictures) {
		forEachHold(segment, (fromMs, untilMs, shownMs) => builder.add(untilMs - fromMs, fromMs - shownMs));
		builder.break();
	}
	return builder.finish();
}

/**
 * Tells what stood on the viewer, from when until when, and when the source had shown it; in time order, no gaps. Where only ages of
 * filmed frames are known, each stands for its own stretch of time.
 */
export function forEachHold(
	{ seenMs, shownMs, fromMs, endMs, originMs, coarseAges }: SegmentPictures,
	tell: (fromMs: number, untilMs: number, shownMs: number) => void,
): void {
	if (coarseAges.length > 0) {
		for (const [atMs, ageMs, , weightMs] of coarseAges)
			tell(atMs - weightMs / 2, atMs + weightMs / 2, atMs - ageMs);
		return;
	}
	let next = firstIndexFrom(seenMs, fromMs);
	let standing = next > 0 ? shownMs[next - 1]! : originMs;
	let sinceMs = fromMs;
	for (; next < seenMs.length && seenMs[next]! < endMs; next++) {
		tell(sinceMs, seenMs[next]!, standing);
		sinceMs = seenMs[next]!;
		standing = shownMs[next]!;
	}
	tell(sinceMs, endMs, standing);
}

function picturesOnCurve({ seenMs, fromMs, endMs, coarseAges }: SegmentPictures): number {
	if (coarseAges.length > 0) return coarseAges.length;
	const first = firstIndexFrom(seenMs, fromMs);
	const onScreenAtFirst = first > 0 && seenMs[first] !== fromMs ? 1 : 0;
	return firstIndexFrom(seenMs, endMs) - first + onScreenAtFirst;
}

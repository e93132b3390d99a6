/**
 * Fresh delay: from a picture's appearance at the source to its first appearance at the viewer's measuring point.
 *
 * Weighted by content: picture k stands for all that happened since the picture presented before it, so it weighs
 * G(k) = shown(k) - shown(k-1). Then the mean is mean age - sum G^2 / (2 sum G) exactly, whatever is lost (estimators.md
 * A1, derived); weighing every picture alike would let the pictures after a gap count for too little. The first picture
 * of a segment weighs one source period, as does content from before the end of warm-up at most.
 *
 * A picture never presented has no delay: it is counted in `frameLedger.ts`, and its absence makes the next one weigh
 * more. Content after the last picture presented is in no delay; it is in picture age.
 */
import { meanUncertainty } from '../statistics/batchMeans.ts';
import { levelUpper } from '../statistics/guardBand.ts';
import {
	CurveBuilder,
	type LevelCurve,
	levelQuantile,
	maxLevel,
	meanLevel,
	minLevel,
} from '../statistics/levelCurve.ts';
import { displayWaitMs } from './displayWait.ts';
import type { FreshDelay, Metric, NotMeasured, RunFacts, Thresholds } from './metric.ts';
import { contentCount, type SegmentPictures } from './presentedPictures.ts';
import { seenBeforeShown } from './seenBeforeShown.ts';
import { readShare } from './shareReading.ts';

/** With fewer, even a median rests on hardly anything: one second at 30 pictures a second. */
const MIN_PICTURES = 30;
/** The half-second line is about the median; design and criteria may not change it. */
const HALF_SECOND_ALLOWED_RATIO = 0.5;

export function measureFreshDelay(
	pictures: readonly SegmentPictures[],
	facts: RunFacts,
	thresholds: Thresholds,
): Metric<FreshDelay> {
	const spoilt = noDelay(pictures);
	if (spoilt !== null) return spoilt;
	const curve = freshDelayCurve(pictures);
	const immaterialMs = displayWaitMs(facts);
	const band = { centreMs: facts.systematicCentreMs, standardMs: facts.systematicStandardMs, immaterialMs };
	return {
		kind: 'measured',
		meanMs: meanLevel(curve),
		minMs: minLevel(curve),
		medianMs: levelQuantile(curve, 0.5),
		p95Ms: levelQuantile(curve, 0.95),
		maxMs: maxLevel(curve),
		medianUpperMs: levelUpper(curve, { allowedRatio: 0.5, ...band }),
		p95UpperMs: levelUpper(curve, { allowedRatio: 0.05, ...band }),
		uncertaintyMs: expandedUncertaintyMs(curve, facts),
		count: contentCount(pictures),
		overLimit: readShare(curve, {
			limit: thresholds.delayLimitMs,
			allowedRatio: thresholds.allowedRatio,
			shift: facts,
			immaterialMs,
		}),
		overHalfSecond: readShare(curve, {
			limit: thresholds.halfSecondMs,
			allowedRatio: HALF_SECOND_ALLOWED_RATIO,
			shift: facts,
			immaterialMs,
		}),
	};
}

/** Why no delay can be told; null when it can. Delay variation shares these reasons. */
export function noDelay(pictures: readonly SegmentPictures[]): NotMeasured | null {
	const count = contentCount(pictures);
	if (count === 0) {
		return {
			kind: 'notMeasured',
			reason: 'nothingPresented',
			explanation: 'Not one picture of the observed time was presented, so there is no delay to tell.',
		};
	}
	const spoilt = seenBeforeShown(pictures);
	if (spoilt !== null) return spoilt;
	if (count >= MIN_PICTURES) return null;
	return {
		kind: 'notMeasured',
		reason: 'tooFewPictures',
		explanation: `Only ${count} pictures were presented; a delay needs at least ${MIN_PICTURES}.`,
	};
}

/** Delay over content time, one flat piece for each picture presented. Throws `RangeError` when there is none. */
export function freshDelayCurve(pictures: readonly SegmentPictures[]): LevelCurve {
	const builder = new CurveBuilder(0);
	for (const { seenMs, shownMs, contentFrom, contentUntil, fromMs, sourcePeriodMs } of pictures) {
		for (let i = contentFrom; i < contentUntil; i++) {
			const shown = shownMs[i]!;
			const previousMs =
				i === 0 ? shown - sourcePeriodMs : Math.max(shownMs[i - 1]!, fromMs - sourcePeriodMs);
			builder.add(shown - previousMs, seenMs[i]! - shown);
		}
		builder.break();
	}
	return builder.finish();
}

/**
 * k = 2. A one-sided term is not taken off the reading, so its middle counts as part of the doubt: the root mean square
 * of true - reading is sqrt(centre^2 + standard^2). A run too short for batches is taken as one single reading.
 */
function expandedUncertaintyMs(curve: LevelCurve, facts: RunFacts): number {
	const randomMs = meanUncertainty(curve) ?? standardDeviationMs(curve);
	return 2 * Math.hypot(randomMs, facts.systematicStandardMs, facts.systematicCentreMs);
}

function standardDeviationMs(curve: LevelCurve): number {
	const mean = meanLevel(curve);
	let squares = 0;
	for (let i = 0; i < curve.count; i++) squares += curve.lengthsMs[i]! * (curve.levels[i]! - mean) ** 2;
	return Math.sqrt(squares / curve.totalMs);
}

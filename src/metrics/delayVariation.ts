/**
 * How unevenly pictures come, by four names, because four quantities go by "jitter" and do not agree:
 * spread  P95 - P5 of fresh delay, weighted by content: the headline;
 * PDV     delay less the least delay of the run (RFC 5481, published at second hand), weighted like the spread;
 * IPDV    difference from one presented picture to the next (RFC 3393, likewise), its size, every pair counting the same;
 * jitter  RFC 3550's smoothed figure, begun anew in every segment (`interarrivalJitter.ts`); beside them the steps of level.
 *
 * A systematic error is one draw for the run and moves P95 and P5 alike, so it cancels in every figure here and the bounds
 * carry none. The bounds of the spread join two bounds of 97.5 % each (Bonferroni: 95 % together).
 */
import { levelLower, levelUpper } from '../statistics/guardBand.ts';
import { type LevelCurve, levelQuantile, maxLevel, minLevel } from '../statistics/levelCurve.ts';
import { quantileSorted, sortSamples } from '../statistics/quantile.ts';
import { findDelaySteps } from './delaySteps.ts';
import { displayWaitMs } from './displayWait.ts';
import { freshDelayCurve, noDelay } from './freshDelay.ts';
import { interarrivalJitter } from './interarrivalJitter.ts';
import type { DelayVariation, Metric, RunFacts } from './metric.ts';
import { contentCount, type SegmentPictures } from './presentedPictures.ts';

const UPPER_TAIL = { allowedRatio: 0.05, centreMs: 0, standardMs: 0, confidence: 0.975 };
const LOWER_TAIL = { ...UPPER_TAIL, allowedRatio: 0.95 };

export function measureDelayVariation(
	pictures: readonly SegmentPictures[],
	facts: RunFacts,
): Metric<DelayVariation> {
	const spoilt = noDelay(pictures);
	if (spoilt !== null) return spoilt;
	const delays = pictures.map(delayColumn);
	const changesMs = neighbourChanges(delays);
	if (changesMs.length === 0) {
		return {
			kind: 'notMeasured',
			reason: 'noNeighbours',
			explanation:
				'No two pictures were presented in one unbroken stretch, so nothing can be said of their unevenness.',
		};
	}
	const sortedChanges = sortSamples(changesMs);
	const curve = freshDelayCurve(pictures);
	const leastMs = minLevel(curve);
	return {
		kind: 'measured',
		...spreadOf(curve, displayWaitMs(facts)),
		pdvMedianMs: levelQuantile(curve, 0.5) - leastMs,
		pdvP95Ms: levelQuantile(curve, 0.95) - leastMs,
		pdvMaxMs: maxLevel(curve) - leastMs,
		ipdvMedianMs: quantileSorted(sortedChanges, 0.5),
		ipdvP95Ms: quantileSorted(sortedChanges, 0.95),
		...jitterFigures(delays),
		steps: pictures.flatMap(({ seenMs, contentFrom, contentUntil, fromMs }, i) =>
			findDelaySteps(seenMs.subarray(contentFrom, contentUntil), delays[i]!, fromMs),
		),
		count: contentCount(pictures),
	};
}

function spreadOf(
	curve: LevelCurve,
	immaterialMs: number,
): Pick<DelayVariation, 'spreadMs' | 'spreadUpperMs' | 'spreadLowerMs'> {
	const upper = { ...UPPER_TAIL, immaterialMs };
	const lower = { ...LOWER_TAIL, immaterialMs };
	const [p95Upper, p95Lower] = [levelUpper(curve, upper), levelLower(curve, upper)];
	const [p5Upper, p5Lower] = [levelUpper(curve, lower), levelLower(curve, lower)];
	return {
		spreadMs: levelQuantile(curve, 0.95) - levelQuantile(curve, 0.05),
		spreadUpperMs: p95Upper === null || p5Lower === null ? null : p95Upper - p5Lower,
		spreadLowerMs: p95Lower === null || p5Upper === null ? null : Math.max(0, p95Lower - p5Upper),
	};
}

/** Pairs do not reach across a break: nobody saw what happened in between. */
function neighbourChanges(delays: readonly Float64Array[]): Float64Array {
	const pairs = delays.reduce((sum, { length }) => sum + Math.max(0, length - 1), 0);
	const sizesMs = new Float64Array(pairs);
	let filled = 0;
	for (const column of delays) {
		for (let i = 1; i < column.length; i++) sizesMs[filled++] = Math.abs(column[i]! - column[i - 1]!);
	}
	return sizesMs;
}

function jitterFigures(
	delays: readonly Float64Array[],
): Pick<DelayVariation, 'interarrivalJitterMs' | 'interarrivalJitterMaxMs'> {
	const ofSegments = delays.filter(({ length }) => length > 0).map(interarrivalJitter);
	return {
		interarrivalJitterMs: ofSegments.at(-1)?.lastMs ?? 0,
		interarrivalJitterMaxMs: ofSegments.reduce((greatest, { maxMs }) => Math.max(greatest, maxMs), 0),
	};
}

function delayColumn({ seenMs, shownMs, contentFrom, contentUntil }: SegmentPictures): Float64Array {
	const delaysMs = new Float64Array(contentUntil - contentFrom);
	for (let i = contentFrom; i < contentUntil; i++) delaysMs[i - contentFrom] = seenMs[i]! - shownMs[i]!;
	return delaysMs;
}

/**
 * Delivered rate: pictures presented in each whole window of 1 s of observed time, laid from each segment's end of
 * warm-up; the rest of under 1 s at a segment's end is not judged. When a window is slow: `rateWindows.ts`.
 *
 * The source's rate is the declared one, unless it showed over 2 % fewer frames than that; then what it really showed.
 * The limit is taken from the declared rate all the same: a source that lags is the harness's fault and makes the line
 * undecided (`harnessHealth.ts`), never easier.
 */
import { CurveBuilder } from '../statistics/levelCurve.ts';
import { quantileSorted, sortSamples } from '../statistics/quantile.ts';
import type { DeliveredRate, Metric, RunFacts, ShareReading, Thresholds } from './metric.ts';
import type { SegmentPictures } from './presentedPictures.ts';
import { countPerWindow, requiredPerWindow, WINDOW_MS } from './rateWindows.ts';
import type { SegmentSent } from './sentFrames.ts';
import { NO_SHIFT, readShare } from './shareReading.ts';

/** A fifth percentile of fewer windows is nothing but their least. */
const MIN_WINDOWS = 10;
const SOURCE_SHORTFALL = 0.02;

export function measureDeliveredRate(
	basis: { readonly pictures: readonly SegmentPictures[]; readonly sent: readonly SegmentSent[] },
	facts: RunFacts,
	thresholds: Thresholds,
): Metric<DeliveredRate> {
	const counts = basis.pictures.map(({ seenMs, fromMs, endMs }) => countPerWindow(seenMs, fromMs, endMs));
	const all = counts.flatMap((ofSegment) => Array.from(ofSegment));
	const sentCount = basis.sent.reduce((sum, { count }) => sum + count, 0);
	if (all.length < MIN_WINDOWS || sentCount === 0) {
		return {
			kind: 'notMeasured',
			reason: sentCount === 0 ? 'nothingSent' : 'tooShort',
			explanation:
				sentCount === 0
					? 'The source showed no frame in the observed time.'
					: `Only ${all.length} whole seconds were observed; a rate needs at least ${MIN_WINDOWS}.`,
		};
	}
	const declaredHz = facts.header.source.rateHz;
	const shownHz = (sentCount / facts.observedMs) * 1000;
	const sorted = sortSamples(all);
	return {
		kind: 'measured',
		meanHz: all.reduce((sum, count) => sum + count, 0) / all.length,
		medianHz: quantileSorted(sorted, 0.5),
		p5Hz: quantileSorted(sorted, 0.05),
		sourceHz: shownHz < (1 - SOURCE_SHORTFALL) * declaredHz ? shownHz : declaredHz,
		slowWindows: readSlowWindows(counts, requiredPerWindow(thresholds.slowRateHz, declaredHz), thresholds),
		windowCount: all.length,
		decodedShareRatio: decodedCount(basis.sent) / sentCount,
	};
}

/** The curve's level is by how many pictures a window falls short; above zero it is slow. */
function readSlowWindows(
	counts: readonly Uint32Array[],
	required: number,
	{ allowedRatio }: Thresholds,
): ShareReading {
	const shortfall = new CurveBuilder(0);
	for (const ofSegment of counts) {
		for (const count of ofSegment) shortfall.add(WINDOW_MS, required - count);
		shortfall.break();
	}
	return { ...readShare(shortfall.finish(), { limit: 0, allowedRatio, shift: NO_SHIFT }), limit: required };
}

function decodedCount(sent: readonly SegmentSent[]): number {
	let count = 0;
	for (const { decoded } of sent) for (const flag of decoded) count += flag;
	return count;
}

/**
 * What the air does to packets, each way for itself: loss and how it lies (RFC 3611, RFC 3357, a Gilbert chain), variation of the
 * one-way delay (PDV of RFC 5481, IPDV of RFC 3393, jitter of RFC 3550), and reordering (RFC 4737).
 *
 * Delay counts from the least of the run, so that nothing here needs the two clocks to agree. A lost packet has no delay.
 */
import type { Run } from '../observations/run.ts';
import {
	burstsAndGaps,
	fitGilbert,
	type GilbertFit,
	lossDistances,
	noticeableLossRatio,
} from '../statistics/lossPattern.ts';
import { effectiveLossSize } from '../statistics/lossRuns.ts';
import { quantileSorted, sortSamples } from '../statistics/quantile.ts';
import { measureReordering } from '../statistics/reordering.ts';
import { wilsonInterval } from '../statistics/wilson.ts';
import { type AirPackets, type AirWayName, airWaysOf } from './airWays.ts';
import { interarrivalJitter } from './interarrivalJitter.ts';
import type { Metric } from './metric.ts';

export type AirWay = {
	readonly way: AirWayName;
	readonly carriedBy: AirPackets['carriedBy'];
	readonly sent: number;
	readonly lost: number;
	readonly lostRatio: number;
	/** One-sided Wilson, 95 %, at the effective size that runs of losses leave. */
	readonly lostUpperRatio: number;
	/** RFC 5481: delay less the least. */
	readonly pdvMedianMs: number;
	readonly pdvP95Ms: number;
	readonly pdvMaxMs: number;
	/** RFC 3393: size of the change from one packet that came to the next. */
	readonly ipdvP95Ms: number;
	readonly interarrivalJitterMs: number;
	readonly bursts: {
		readonly count: number;
		/** From first to last loss, by the packets' own sending. */
		readonly longestMs: number;
		readonly densityRatio: number | null;
		readonly gapDensityRatio: number | null;
	};
	/** RFC 3357, noticeable rate for a distance of 16: share of losses close behind another. */
	readonly closeLossRatio: number | null;
	readonly gilbert: GilbertFit | null;
	readonly reordered: number;
	readonly longestReorderingExtent: number;
};

const Z_95 = 1.644854;
const CLOSE = 16;
const LEAST_PACKETS = 30;

/** Each way that has packets; the way to the viewer first. */
export function measureAir(run: Run): Metric<{ readonly ways: readonly AirWay[] }> {
	// One way after the other: only one way's columns are held at a time.
	const ways = airWaysOf(run).flatMap(({ gather }) => {
		const packets = gather();
		const { delayMs } = packets;
		const isEnough = delayMs.length >= LEAST_PACKETS && delayMs.some((ms) => ms < Number.POSITIVE_INFINITY);
		return isEnough ? [measureWay(packets)] : [];
	});
	if (ways.length === 0)
		return {
			kind: 'notMeasured',
			reason: 'noPackets',
			explanation: `Fewer than ${LEAST_PACKETS} packets went through the air in the observed time, or none came.`,
		};
	return { kind: 'measured', ways };
}

function measureWay(packets: AirPackets): AirWay {
	const { way, carriedBy, delayMs, sentMs } = packets;
	const lost = Uint8Array.from(delayMs, (ms) => (ms === Number.POSITIVE_INFINITY ? 1 : 0));
	const lostCount = lost.reduce((sum, flag) => sum + flag, 0);
	const lostRatio = lostCount / lost.length;
	const size = effectiveLossSize(lost);
	const came = Float64Array.from(cameIn(packets), (i) => delayMs[i]!);
	const sorted = sortSamples(came);
	const leastMs = sorted[0]!;
	const changes = came.subarray(1).map((ms, i) => Math.abs(ms - came[i]!));
	const pattern = burstsAndGaps(lost);
	const reordering = measureReordering(arrivalOrder(packets));
	return {
		...{ way, carriedBy, sent: lost.length, lost: lostCount, lostRatio },
		lostUpperRatio: wilsonInterval(lostRatio * size, size, Z_95).upperRatio,
		pdvMedianMs: quantileSorted(sorted, 0.5) - leastMs,
		pdvP95Ms: quantileSorted(sorted, 0.95) - leastMs,
		pdvMaxMs: sorted[sorted.length - 1]! - leastMs,
		ipdvP95Ms: changes.length === 0 ? 0 : quantileSorted(sortSamples(changes), 0.95),
		interarrivalJitterMs: interarrivalJitter(came).lastMs,
		bursts: {
			count: pattern.bursts.length,
			longestMs: pattern.bursts.reduce(
				(longest, { first, last }) => Math.max(longest, sentMs[last]! - sentMs[first]!),
				0,
			),
			densityRatio: pattern.burstDensityRatio,
			gapDensityRatio: pattern.gapDensityRatio,
		},
		closeLossRatio: noticeableLossRatio(lossDistances(lost), CLOSE),
		gilbert: fitGilbert(lost),
		reordered: reordering?.reordered ?? 0,
		longestReorderingExtent: reordering?.longestExtent ?? 0,
	};
}

/** Places of the packets that came, in order of sending. Not by `filter`, which boxes every number of a long run. */
function cameIn({ delayMs }: AirPackets): Uint32Array {
	const places = new Uint32Array(delayMs.length);
	let count = 0;
	for (let i = 0; i < delayMs.length; i++) if (delayMs[i]! < Number.POSITIVE_INFINITY) places[count++] = i;
	return places.subarray(0, count);
}

/** Numbers of the packets that came, in the order in which they came. */
function arrivalOrder(packets: AirPackets): Float64Array {
	const { sequence, sentMs, delayMs } = packets;
	const came = cameIn(packets);
	came.sort((a, b) => sentMs[a]! + delayMs[a]! - sentMs[b]! - delayMs[b]!);
	return Float64Array.from(came, (i) => sequence[i]!);
}

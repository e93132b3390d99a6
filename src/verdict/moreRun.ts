/**
 * About how much longer a run would have to be to settle a line, from what this run saw (estimators.md B3 and D): a
 * forecast that supposes the same link and the same luck, rounded up to half a minute, never told beyond twenty.
 */
import { type ClusteredShare, clusterUpper } from '../statistics/clusterBound.ts';
import { moreTimeMs } from '../statistics/moreTime.ts';
import { poissonLower, poissonUpper } from '../statistics/poissonRate.ts';
import { wilsonInterval } from '../statistics/wilson.ts';
import { NO_LONGER, type Settling } from './decision.ts';
import { VERDICT_OBSERVED_MS } from './profiles.ts';

const STEP_SECONDS = 30;
/** Told as "at least 20 min". */
const CAP_SECONDS = 1200;
const CONFIDENCE = 0.95;
/** One-sided 95 %. */
const Z = 1.6448536269514722;

/** That many milliseconds more, rounded up and capped; none is needed below zero. */
export function settleAfter(moreMs: number): Settling {
	if (!Number.isFinite(moreMs)) return NO_LONGER;
	const steps = Math.max(1, Math.ceil(moreMs / 1000 / STEP_SECONDS));
	return { seconds: Math.min(CAP_SECONDS, steps * STEP_SECONDS), longerWillSettle: true };
}

/** A run shorter than a verdict needs at least that length, whatever else. */
function settleByVerdictLength(observedMs: number): Settling {
	return observedMs < VERDICT_OBSERVED_MS ? settleAfter(VERDICT_OBSERVED_MS - observedMs) : NO_LONGER;
}

export type ShareForecast = {
	readonly centralRatio: number;
	readonly ifLowRatio: number;
	readonly ifHighRatio: number;
	readonly allowedRatio: number;
	readonly effectiveCount: number;
	readonly clusterRatio: number;
	readonly observedMs: number;
};

/**
 * A time share: the effective size that would bring its bound to the limit, at the rate at which this run gathered it.
 * What the rig's own doubt takes of the way to the limit is taken off first; where it takes all, longer will not help.
 */
export function settleShare(share: ShareForecast): Settling {
	const { centralRatio, allowedRatio, effectiveCount, observedMs } = share;
	const wayRatio = allowedRatio - centralRatio;
	const doubtRatio = wayRatio >= 0 ? share.ifLowRatio - centralRatio : centralRatio - share.ifHighRatio;
	const leftRatio = Math.sqrt(wayRatio ** 2 - doubtRatio ** 2);
	if (!(leftRatio > 0)) return NO_LONGER;
	if (!(effectiveCount > 0)) return settleByVerdictLength(observedMs);
	const reachRatio = centralRatio + Math.sign(wayRatio) * leftRatio;
	if (!(reachRatio > 0 && reachRatio < 1)) return NO_LONGER;
	const moreMs = moreTimeMs({
		shareRatio: centralRatio,
		allowedRatio: reachRatio,
		effectiveCount,
		clusterRatio: share.clusterRatio,
		observedMs,
	});
	return moreMs === null ? NO_LONGER : settleAfter(moreMs);
}

/** A rare event: the first length at which as many events as this run's rate would give settle it either way. */
export function settleRate(count: number, observedMs: number, limitPerMin: number): Settling {
	return firstLength(observedMs, (lengthMs) => {
		const expected = (count * lengthMs) / observedMs;
		const allowed = (limitPerMin * lengthMs) / 60_000;
		if (poissonUpper(Math.ceil(expected - 1e-9), CONFIDENCE) <= allowed) return true;
		return poissonLower(Math.floor(expected), CONFIDENCE) > allowed;
	});
}

/** Losses: the same share of a proportionally larger effective size, the longest run no longer than it was. */
export function settleLosses(
	{ shareRatio, count, clusterRatio }: ClusteredShare,
	at: { limit: number; observedMs: number },
) {
	if (!(count > 0)) return settleByVerdictLength(at.observedMs);
	return firstLength(at.observedMs, (lengthMs) => {
		const times = lengthMs / at.observedMs;
		const n = count * times;
		const longer = { shareRatio, count: n, clusterRatio: clusterRatio / times };
		return (
			clusterUpper(longer, CONFIDENCE) <= at.limit ||
			wilsonInterval(shareRatio * n, n, Z).lowerRatio > at.limit
		);
	});
}

/** A figure whose bounds close in with the square root of the length. */
export function settleByWidth(
	reading: number,
	bound: number | null,
	at: { limit: number; observedMs: number },
) {
	if (bound === null) return settleByVerdictLength(at.observedMs);
	const times = ((bound - reading) / (at.limit - reading)) ** 2;
	return settleAfter((times - 1) * at.observedMs);
}

function firstLength(observedMs: number, settled: (lengthMs: number) => boolean): Settling {
	if (!(observedMs > 0 && Number.isFinite(observedMs))) return NO_LONGER;
	for (let seconds = STEP_SECONDS; seconds <= CAP_SECONDS; seconds += STEP_SECONDS) {
		if (settled(observedMs + seconds * 1000)) return { seconds, longerWillSettle: true };
	}
	return NO_LONGER;
}

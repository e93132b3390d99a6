/**
 * A share of a curve beyond a limit, with its two doubts apart: the random one (episode bound, estimators.md B1) and
 * the rig's systematics (estimators.md C), of which one draw moves the whole curve. True level = reading + centre + draw,
 * so a limit on the truth is read at limit - centre, and at limit - centre -+ 1.645 u for the 5 % worst draws.
 */
import { ShareBounder } from '../statistics/episodeBound.ts';
import { boundWithin } from '../statistics/guardBand.ts';
import { type LevelCurve, shareOver } from '../statistics/levelCurve.ts';
import type { RunFacts, ShareReading } from './metric.ts';

/** One-sided 95 % of a normal draw. */
const Z_95 = 1.645;

export type SystematicShift = Pick<RunFacts, 'systematicCentreMs' | 'systematicStandardMs'>;

/** For a curve that the systematics of delay do not touch, such as pictures in a second. */
export const NO_SHIFT: SystematicShift = { systematicCentreMs: 0, systematicStandardMs: 0 };

export type SharePlan = {
	readonly limit: number;
	/** The share that the line allows: sets where the effective size is taken, and how large it must be. */
	readonly allowedRatio: number;
	readonly shift: SystematicShift;
	/** Variation about the median that is the display's own (displayWait.ts); 0 when left out. */
	readonly immaterialMs?: number;
};

export function readShare(
	curve: LevelCurve,
	{ limit, allowedRatio, shift, immaterialMs = 0 }: SharePlan,
): ShareReading {
	const centralLimit = limit - shift.systematicCentreMs;
	const reachMs = Z_95 * shift.systematicStandardMs;
	const bound = boundWithin(new ShareBounder(curve, { allowedRatio, immaterialMs }), centralLimit, reachMs);
	return {
		limit,
		shareRatio: shareOver(curve, limit),
		upperRatio: bound.upperRatio,
		lowerRatio: bound.lowerRatio,
		noBoundReason: bound.noBoundReason,
		effectiveCount: bound.effectiveCount,
		clusterRatio: bound.clusterRatio,
		observedMs: curve.totalMs,
		shareIfReadLowRatio: shareOver(curve, centralLimit - reachMs),
		shareIfReadHighRatio: shareOver(curve, centralLimit + reachMs),
		centralShareRatio: bound.shareRatio,
	};
}

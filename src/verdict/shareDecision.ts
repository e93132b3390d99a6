/**
 * The rule for a share of time or of content beyond a level: met when its upper bound is within what is allowed, not met
 * when its lower bound is beyond it. The bound takes the random doubt (the episode bound, already in the reading) and the
 * rig's systematic doubt, one draw a run, in quadrature (estimators.md B1 and C). No bound, no answer.
 *
 * It never says "met" of a run too short for the bad spells that its profile vouches for (estimators.md B2), nor of a
 * reading counted at another level than the criteria ask.
 */
import type { DelayVariation, HarnessHealth, ShareReading } from '../metrics/metric.ts';
import { combineLower, combineUpper } from '../statistics/guardBand.ts';
import {
	type Bounded,
	type Decision,
	DOES_NOT_HOLD,
	decideAtMost,
	decided,
	holdsTogether,
	type Settling,
	undecided,
} from './decision.ts';
import { harnessHold, type LineContext } from './lineContext.ts';
import { settleAfter, settleByWidth, settleShare } from './moreRun.ts';
import { longEnoughForSpells, spellsNeedMs } from './profiles.ts';
import { spellRuleBinds } from './requiredLines.ts';

/** How far a level may differ by the way it was written and still be the same level. */
const LEVEL_TOLERANCE = 1e-6;

type ShareRule = {
	readonly harness: keyof HarnessHealth['lateSharePerLine'];
	/** Level at which the share had to be counted. */
	readonly level: number | null;
	/** By what part of it the metric may have counted lower; none when left out. */
	readonly slack?: number;
};

export function decideShare(share: ShareReading, context: LineContext, rule: ShareRule): Decision {
	const figure = boundedShare(share);
	if (figure === null) return undecided(DOES_NOT_HOLD);
	if (!countedThere(share.limit, rule)) {
		const counted = `counted at ${share.limit}, but the criteria ask ${rule.level}: judge the run again`;
		return undecided(counted, figure);
	}
	const hold = harnessHold(context, rule.harness, context.limit);
	if (hold !== null) return undecided(hold, figure);

	const state = decideAtMost(figure, context.limit);
	if (state === 'notMet') return decided('notMet', figure, 'even the lower bound is beyond the limit');
	if (state === 'met') {
		return (
			tooShort(share.observedMs, figure, context) ?? decided('met', figure, 'the upper bound is within it')
		);
	}
	const settle = settleShare({
		centralRatio: share.centralShareRatio,
		ifLowRatio: share.shareIfReadLowRatio,
		ifHighRatio: share.shareIfReadHighRatio,
		allowedRatio: context.limit,
		effectiveCount: share.effectiveCount,
		clusterRatio: share.clusterRatio,
		observedMs: share.observedMs,
	});
	return undecided(share.noBoundReason ?? 'the limit lies between the two bounds', figure, settle);
}

/** P95 less P5 of the delay: the rig's systematic doubt, the same for both, falls out of the difference. */
export function decideVariation(variation: DelayVariation, context: LineContext): Decision {
	const figure: Bounded = {
		reading: variation.spreadMs,
		lower: variation.spreadLowerMs,
		upper: variation.spreadUpperMs,
	};
	if (!holdsTogether(figure)) return undecided(DOES_NOT_HOLD);
	const { limit } = context;
	const hold = harnessHold(context, 'delay', P95_TAIL_RATIO);
	if (hold !== null) return undecided(hold, figure);

	const { observedMs } = context.metrics.facts;
	const state = decideAtMost(figure, limit);
	if (state === 'notMet') return decided('notMet', figure, 'even the lower bound is beyond the limit');
	if (state === 'met') {
		return tooShort(observedMs, figure, context) ?? decided('met', figure, 'the upper bound is within it');
	}
	const bound = figure.reading <= limit ? figure.upper : figure.lower;
	const because = bound === null ? 'the run gives no bound for it' : 'the limit lies between the two bounds';
	return undecided(because, figure, settleByWidth(figure.reading, bound, { limit, observedMs }));
}
/** The variation line rests on the outer twentieth at either end. */
const P95_TAIL_RATIO = 0.05;

function countedThere(countedAt: number, { level, slack = 0 }: ShareRule): boolean {
	return (
		level !== null &&
		countedAt <= level + LEVEL_TOLERANCE &&
		countedAt >= level * (1 - slack) - LEVEL_TOLERANCE
	);
}

/** The share with both doubts in its bounds; null when its numbers cannot be shares of one curve. */
function boundedShare(share: ShareReading): Bounded | null {
	const central = share.centralShareRatio;
	const random: Bounded = { reading: central, lower: share.lowerRatio, upper: share.upperRatio };
	const systematic: Bounded = {
		reading: central,
		lower: share.shareIfReadHighRatio,
		upper: share.shareIfReadLowRatio,
	};
	const observed = Number.isFinite(share.observedMs) && share.observedMs > 0;
	if (!observed || !areShares(random) || !areShares(systematic)) return null;
	return {
		reading: central,
		lower:
			share.lowerRatio === null
				? null
				: combineLower({
						centralRatio: central,
						randomLowerRatio: share.lowerRatio,
						ifHighRatio: share.shareIfReadHighRatio,
					}),
		upper:
			share.upperRatio === null
				? null
				: combineUpper({
						centralRatio: central,
						randomUpperRatio: share.upperRatio,
						ifLowRatio: share.shareIfReadLowRatio,
					}),
	};
}

function areShares(figure: Bounded): boolean {
	return holdsTogether(figure) && (figure.upper ?? figure.reading) <= 1 + LEVEL_TOLERANCE;
}

function tooShort(observedMs: number, figure: Bounded, context: LineContext): Decision | null {
	const { profile, rig, line } = context;
	if (!spellRuleBinds(rig, line.id) || longEnoughForSpells(observedMs, profile)) return null;
	if (profile.spellMs === null) return undecided('a run of this profile vouches for no bad spells', figure);
	const settle: Settling = settleAfter(spellsNeedMs(profile.spellMs) - observedMs);
	const spells = `bad spells of ${profile.spellMs / 1000} s`;
	return undecided(`the run is too short for the ${spells} that its profile vouches for`, figure, settle);
}

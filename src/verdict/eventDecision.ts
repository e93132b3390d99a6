/**
 * The rule for rare events: a rate with an exact Poisson bound, never "none seen, so fine" (estimators.md D). Met when
 * the upper bound is within the limit, not met when the lower one is beyond it. For a pause one event is enough for no.
 *
 * The harness may have made an event itself: where its own silences could fill more than half of the time that the
 * allowed events would take, the line stays undecided.
 */
import type { HarnessHealth, RateReading } from '../metrics/metric.ts';
import {
	type Bounded,
	type Decision,
	DOES_NOT_HOLD,
	decideAtMost,
	decided,
	holdsTogether,
	undecided,
} from './decision.ts';
import { harnessHold, type LineContext } from './lineContext.ts';
import { settleRate } from './moreRun.ts';

type EventRule = {
	readonly harness: keyof HarnessHealth['lateSharePerLine'];
	/** The least time that one such event takes. */
	readonly eventMs: number;
	readonly oneIsNo: boolean;
	/** Of a file: parts left out, one of which is no too; null: the file is cut off; undefined: not looked for. */
	readonly cuts?: number | null | undefined;
};

export function decideEvents(events: RateReading, context: LineContext, rule: EventRule): Decision {
	const figure: Bounded = { reading: events.perMin, lower: events.lowerPerMin, upper: events.upperPerMin };
	if (
		!isCount(events.count) ||
		!(events.observedMs > 0 && Number.isFinite(events.observedMs)) ||
		!holdsTogether(figure)
	) {
		return undecided(DOES_NOT_HOLD);
	}
	const { limit, profile } = context;
	if (profile.census && rule.oneIsNo) return decideCensus(events, rule);
	const hold = harnessHold(context, rule.harness, allowedShare(events, limit, rule));
	if (hold !== null) return undecided(hold, figure);

	const seen = `${events.count} in ${(events.observedMs / 1000).toFixed(0)} s`;
	if (rule.oneIsNo && events.count > 0) return decided('notMet', figure, `${seen}: one is enough`);

	const state = decideAtMost(figure, limit);
	if (state !== 'undecided') return decided(state, figure, seen);
	const could = `could still be up to ${events.upperPerMin.toFixed(2)} a minute`;
	return undecided(`${seen}: ${could}`, figure, settleRate(events.count, events.observedMs, limit));
}

/** A file holds all there is of itself: what was counted is the figure, and no bench had a part in it. */
function decideCensus({ count, perMin, observedMs }: RateReading, { cuts }: EventRule): Decision {
	const figure: Bounded = { reading: perMin, lower: perMin, upper: perMin };
	const seen = `${count} in the ${(observedMs / 1000).toFixed(0)} s of the file`;
	if (count > 0) return decided('notMet', figure, `${seen}: one is enough`);
	if (cuts === undefined) return undecided(`${seen}; cuts are not looked for yet`, figure);
	if (cuts === null) return undecided(`${seen}; the file is cut off: give the original, whole`, figure);
	if (cuts > 0) return decided('notMet', figure, `${cuts} cuts: parts of the picture were left out`);
	return decided('met', figure, `${seen}, and no cut`);
}

/** The time that the allowed events would fill; where one is enough for no, never so much that the harness could have made it. */
function allowedShare(events: RateReading, limitPerMin: number, { eventMs, oneIsNo }: EventRule): number {
	const share = (limitPerMin / 60_000) * eventMs;
	return oneIsNo ? Math.min(share, eventMs / events.observedMs) : share;
}

function isCount(count: number): boolean {
	return Number.isSafeInteger(count) && count >= 0;
}

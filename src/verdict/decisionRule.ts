/**
 * The rule of design.md 6, line by line: which figure a line asks for and by which rule it is decided. A line is met, not
 * met, undecided, or its figure was not measured; nothing here makes an answer of it.
 */
import type { Metric, Orientation } from '../metrics/metric.ts';
import type { LineId } from './criteriaLine.ts';
import { type Decision, decided, notMeasured, undecided } from './decision.ts';
import { decideEvents } from './eventDecision.ts';
import type { LineContext } from './lineContext.ts';
import { decideColour, decideDetail, decideLost, decideMovingRecord } from './recordDecision.ts';
import { decideShare, decideVariation } from './shareDecision.ts';

/** The least time that a silence of the source takes to show as a freeze (at 25 pictures a second or more), a gap, a pause. */
const FREEZE_MS = 200;
const GAP_MS = 500;
const PAUSE_MS = 5000;
/** Of a source hardly faster than the level, 90 % are counted instead (metrics/rateWindows.ts). */
const SLOW_SLACK = 0.1;

/** The decision for the context's line. */
export function decideLine(context: LineContext): Decision {
	return rules[context.line.id](context);
}

const rules: Readonly<Record<LineId, (context: LineContext) => Decision>> = {
	age: (c) =>
		whenMeasured(c.metrics.pictureAge, (m) =>
			decideShare(m.overLimit, c, { harness: 'age', level: c.line.level }),
		),
	delay: (c) =>
		whenMeasured(c.metrics.freshDelay, (m) =>
			decideShare(m.overLimit, c, { harness: 'delay', level: c.line.level }),
		),
	'half-second': (c) =>
		whenMeasured(c.metrics.freshDelay, (m) =>
			decideShare(m.overHalfSecond, c, { harness: 'delay', level: c.line.level }),
		),
	variation: (c) => whenMeasured(c.metrics.delayVariation, (m) => decideVariation(m, c)),
	rate: (c) =>
		whenMeasured(c.metrics.deliveredRate, (m) =>
			decideShare(m.slowWindows, c, { harness: 'rate', level: c.line.level, slack: SLOW_SLACK }),
		),
	freezes: (c) =>
		whenMeasured(c.metrics.freezes, (m) =>
			decideEvents(m.freezes, c, { harness: 'age', eventMs: FREEZE_MS, oneIsNo: false }),
		),
	gaps: (c) =>
		whenMeasured(c.metrics.gaps, (m) =>
			decideEvents(m.over500, c, { harness: 'gaps', eventMs: GAP_MS, oneIsNo: false }),
		),
	lost: (c) => whenMeasured(c.metrics.frames, (m) => decideLost(m, c)),
	'lost-record': (c) => whenMeasured(c.metrics.frames, (m) => decideLost(m, c)),
	orientation: (c) => whenMeasured(c.metrics.orientation, decideOrientation),
	continuity: (c) =>
		whenMeasured(c.metrics.freezes, (m) =>
			decideEvents(m.pauses, c, { harness: 'gaps', eventMs: PAUSE_MS, oneIsNo: true, cuts: m.cuts }),
		),
	'moving-record': (c) => whenMeasured(c.metrics.deliveredRate, (m) => decideMovingRecord(m, c)),
	colour: (c) => whenMeasured(c.metrics.colour, (m) => decideColour(m, 'median', c)),
	'colour-p95': (c) => whenMeasured(c.metrics.colour, (m) => decideColour(m, 'p95', c)),
	detail: (c) => whenMeasured(c.metrics.sharpness, (m) => decideDetail(m, c)),
};

/** A mirror image is "no" whoever meant it; a turned picture waits for a person who knows whether the kit is meant to show it so. */
function decideOrientation({ shown, turnedDeg, asMeant }: Orientation): Decision {
	const figure = { reading: Math.abs(turnedDeg), lower: null, upper: null };
	const by = `${Math.abs(Math.round(turnedDeg))} degrees ${turnedDeg < 0 ? 'anticlockwise' : 'clockwise'}`;
	if (shown === 'mirrored')
		return decided(
			'notMet',
			figure,
			'the picture on the tablet is a mirror image: look for a setting of the kit’s app that mirrors or flips it, and film again',
		);
	if (shown === 'upright') return decided('met', figure, 'the picture on the tablet is upright');
	if (asMeant) return decided('met', figure, `the picture is turned by ${by}, and was said to be meant so`);
	return undecided(
		`the picture on the tablet is turned by ${by}: turn the scope or confirm that it is meant so`,
		figure,
	);
}

function whenMeasured<T>(metric: Metric<T>, decide: (measured: T) => Decision): Decision {
	if (metric.kind === 'measured') return decide(metric);
	return metric.kind === 'notMeasured'
		? notMeasured(metric.explanation)
		: undecided('unknown kind of figure');
}

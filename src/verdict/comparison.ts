/**
 * Kits (or places, or settings) beside each other, the *session* as the unit: power off to power off. A run's own bounds say
 * how sure that run is; what another morning would have given is in the scatter between sessions alone.
 *
 * For each figure: every pair's difference with an interval; the intervals of one figure hold together for all pairs (95 %,
 * Welch's t, Bonferroni), the rig's systematic doubt in quadrature. They do not hold together across figures. An order is
 * stated only where an interval of 98 % for all pairs together leaves zero out: of four kits a wrong order is then stated
 * in about 1 of 100 comparisons at the very worst (`bench risk`). Where a figure counts events, the number of events must
 * tell the arms apart too: three sessions that happen to agree say nothing of how seldom a thing is. And the two arms'
 * sessions must take turns, or kit and time cannot be told apart.
 *
 * It leaves out: any pooling of sessions into one long run, and any adding up of figures into one mark.
 */
import {
	type MeanDifference,
	meanDifference,
	simultaneousHalfWidth,
	summarise,
} from '../statistics/meanDifference.ts';
import { normalQuantile } from '../statistics/normal.ts';
import { clopperPearson } from '../statistics/wilson.ts';
import type { ComparedFigure } from './comparedLine.ts';
import { leastTolerance } from './tolerances.ts';
import type { Answer } from './verdict.ts';

/** Fewer sessions an arm show readings, and no difference is judged (design.md 6). */
export const LEAST_SESSIONS = 3;
const SHOWN_CONFIDENCE = 0.95;
const ORDER_CONFIDENCE = 0.98;
/** Of all pairs of a session of the one and a session of the other, those in which the one came first: no more than this. */
const MOST_IN_ONE_ORDER = 0.8;

export type ArmSession = {
	readonly key: string;
	/** ISO 8601. */
	readonly startedAt: string;
	/** By the figure's path; absent where no run of the session has it. */
	readonly values: Readonly<Record<string, number>>;
	/** Standard uncertainty of what is one draw for a whole run. */
	readonly systematicStandardMs: number;
};
/** What its runs said; the margin is the least of them, null where one has none. */
export type SessionAnswers = {
	readonly steer: Answer;
	readonly record: Answer;
	readonly margin: number | null;
};
export type Arm = { readonly name: string; readonly sessions: readonly (ArmSession & SessionAnswers)[] };

/** One "no" among a session's runs makes it a no; one "yes" settles what the others left open. */
export function sessionAnswer(answers: readonly Answer[]): Answer {
	const first = (['no', 'yes', 'undetermined'] as const).find((answer) => answers.includes(answer));
	return first ?? 'notAsked';
}

export type PairDifference = {
	readonly first: string;
	readonly second: string;
	/** Second less first, of the means over sessions; null where one has no reading. */
	readonly difference: number | null;
	/** Of the 95 % interval; null where none can be given. */
	readonly halfWidth: number | null;
	/** Which is better, for certain; null when that is not known. */
	readonly better: string | null;
	readonly because: string;
	/** Told apart, and by less than this project would act on (the least tolerance; own proposal). */
	readonly slight: boolean;
};

type ComparedArm = {
	readonly name: string;
	readonly readings: readonly number[];
	readonly mean: number | null;
};

export type FigureComparison = {
	readonly figure: ComparedFigure;
	readonly arms: readonly ComparedArm[];
	readonly pairs: readonly PairDifference[];
};

export function compareFigure(figure: ComparedFigure, arms: readonly Arm[]): FigureComparison {
	const read = arms.map((arm) => readArm(arm, figure));
	const comparisons = (arms.length * (arms.length - 1)) / 2;
	const pairs = read.flatMap((first, i) =>
		read.slice(i + 1).map((second) => judgePair(first, second, { figure, comparisons })),
	);
	return { figure, arms: read.map(({ name, readings, mean }) => ({ name, readings, mean })), pairs };
}

type ReadArm = ComparedArm & {
	readonly systematicMs: number;
	/** When the sessions that have the figure began. */
	readonly startedAt: readonly string[];
	readonly events: EventCount | null;
};

function readArm({ name, sessions }: Arm, figure: ComparedFigure): ReadArm {
	const read = sessions.flatMap(({ values, systematicStandardMs, startedAt }) => {
		const value = values[figure.path];
		return value === undefined ? [] : [{ value, systematicStandardMs, startedAt }];
	});
	const readings = read.map(({ value }) => value);
	return {
		name,
		readings,
		mean: readings.length === 0 ? null : sum(readings) / readings.length,
		// The same rig in every session: its doubt does not shrink with their number.
		systematicMs: figure.carriesSystematics ? Math.max(0, ...read.map((one) => one.systematicStandardMs)) : 0,
		startedAt: read.map(({ startedAt }) => startedAt),
		events: countEvents(sessions, figure),
	};
}

export type EventCount = { readonly events: number; readonly exposure: number };

/** Events of all sessions and over how much they were counted; null where the figure is no count or that is not known. */
export function countEvents(
	sessions: readonly ArmSession[],
	{ path, counted }: ComparedFigure,
): EventCount | null {
	if (counted === null) return null;
	const each = sessions.flatMap(({ values }) => {
		const [value, over] = [values[path], values[counted.exposurePath]];
		if (value === undefined || over === undefined || !(over > 0)) return [];
		const exposure = over / counted.divisor;
		return [{ events: value * exposure, exposure }];
	});
	const exposure = sum(each.map((one) => one.exposure));
	return exposure > 0 ? { events: sum(each.map((one) => one.events)), exposure } : null;
}

/** Given as many events in all, the share that fell to the second arm: does its exact interval leave out what chance gives it? */
function eventsTellApart(first: ReadArm, second: ReadArm, errorEach: number): boolean {
	if (first.events === null || second.events === null) return true;
	const all = first.events.events + second.events.events;
	if (!(all > 0)) return false;
	const expected = second.events.exposure / (first.events.exposure + second.events.exposure);
	const { lowerRatio, upperRatio } = clopperPearson(second.events.events, all, 1 - errorEach / 2);
	return expected < lowerRatio || expected > upperRatio;
}

type PairContext = { readonly figure: ComparedFigure; readonly comparisons: number };

function judgePair(first: ReadArm, second: ReadArm, context: PairContext): PairDifference {
	const names = { first: first.name, second: second.name };
	if (first.mean === null || second.mean === null)
		return {
			...{ ...names, difference: null, halfWidth: null, better: null, slight: false },
			because: 'not measured in both',
		};
	const open = {
		...names,
		difference: second.mean - first.mean,
		halfWidth: null,
		better: null,
		slight: false,
	};
	const fewest = Math.min(first.readings.length, second.readings.length);
	if (fewest < LEAST_SESSIONS)
		return {
			...open,
			because:
				first.readings.length === 1 && second.readings.length === 1
					? 'one each: difference not judged'
					: `fewer than ${LEAST_SESSIONS} sessions each: difference not judged`,
		};
	const difference = meanDifference(summarise(first.readings), summarise(second.readings));
	if (difference === null)
		return {
			...open,
			because: 'the same in every session: no scatter to judge a difference by',
		};
	const systematicMs = Math.hypot(first.systematicMs, second.systematicMs);
	const reach = (confidence: number): number =>
		halfWidthOf(difference, { confidence, comparisons: context.comparisons, systematicMs });
	const judged = { ...open, halfWidth: reach(SHOWN_CONFIDENCE) };
	if (Math.abs(difference.difference) <= reach(ORDER_CONFIDENCE))
		return { ...judged, because: 'not told apart by these sessions' };
	if (!takeTurns(first.startedAt, second.startedAt))
		return {
			...judged,
			because: 'they did not take turns: which it is and when it was cannot be told apart',
		};
	if (!eventsTellApart(first, second, (1 - ORDER_CONFIDENCE) / context.comparisons))
		return { ...judged, because: 'too few events to tell them apart' };
	const secondBetter = difference.difference < 0 === (context.figure.better === 'lower');
	const least = leastTolerance(context.figure.path);
	return {
		...judged,
		slight: least !== null && Math.abs(difference.difference) < least,
		better: secondBetter ? second.name : first.name,
		because: 'told apart, all pairs taken together',
	};
}

type Reach = {
	readonly confidence: number;
	readonly comparisons: number;
	readonly systematicMs: number;
};

function halfWidthOf(difference: MeanDifference, { systematicMs, ...together }: Reach): number {
	const errorEach = (1 - together.confidence) / together.comparisons;
	return Math.hypot(
		simultaneousHalfWidth(difference, together),
		systematicMs * normalQuantile(1 - errorEach / 2),
	);
}

/** Whether every two arms with more than one session each took turns; what has fewer is not judged anyway. */
export function isAlternated(arms: readonly Arm[]): boolean {
	const times = arms
		.filter(({ sessions }) => sessions.length > 1)
		.map(({ sessions }) => sessions.map(({ startedAt }) => startedAt));
	return times.every((one, i) => times.slice(i + 1).every((other) => takeTurns(one, other)));
}

/** Three sessions each in turn (ABABAB, ABBAAB, ABBABA) pass; AAABBB and AABABB do not. */
function takeTurns(first: readonly string[], second: readonly string[]): boolean {
	const order = (one: string, other: string): number => (one < other ? 1 : one === other ? 0.5 : 0);
	const before = sum(first.flatMap((one) => second.map((other) => order(one, other))));
	const share = before / (first.length * second.length);
	return share <= MOST_IN_ONE_ORDER && share >= 1 - MOST_IN_ONE_ORDER;
}

function sum(values: readonly number[]): number {
	return values.reduce((total, value) => total + value, 0);
}

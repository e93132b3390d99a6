/**
 * Kits (or places, or settings) beside each other, the *session* as the unit: power off to power off. A run's own bounds say
 * how sure that run is; what another morning would have given is in the scatter between sessions alone.
 *
 * For each figure: every pair's difference with an interval; the intervals of one figure hold together for all pairs (95 %,
 * Welch's t, Bonferroni), the rig's systematic doubt in quadrature. They do not hold together across figures. An order is
 * stated only where an interval of 98 % for all pairs together leaves zero out: of four kits a wrong order is then stated
 * in about 1 of 100 comparisons at the very worst (`bench decisionRisk`).
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
import type { ComparedFigure } from './comparedLine.ts';

/** Fewer sessions an arm show readings, and no difference is judged (design.md 6). */
export const LEAST_SESSIONS = 3;
const SHOWN_CONFIDENCE = 0.95;
const ORDER_CONFIDENCE = 0.98;

export type ArmSession = {
	readonly key: string;
	/** ISO 8601. */
	readonly startedAt: string;
	/** By the figure's path; absent where no run of the session has it. */
	readonly values: Readonly<Record<string, number>>;
	/** Standard uncertainty of what is one draw for a whole run. */
	readonly systematicStandardMs: number;
};
export type Arm = { readonly name: string; readonly sessions: readonly ArmSession[] };

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
};

export type ComparedArm = {
	readonly name: string;
	readonly readings: readonly number[];
	readonly mean: number | null;
};

export type FigureComparison = {
	readonly figure: ComparedFigure;
	readonly arms: readonly ComparedArm[];
	readonly pairs: readonly PairDifference[];
};

/** `alternated`: whether the sessions' order lets a kit be told from the time of day; without it no order is stated. */
export function compareFigure(
	figure: ComparedFigure,
	arms: readonly Arm[],
	{ alternated }: { readonly alternated: boolean },
): FigureComparison {
	const read = arms.map((arm) => readArm(arm, figure));
	const comparisons = (arms.length * (arms.length - 1)) / 2;
	const pairs = read.flatMap((first, i) =>
		read.slice(i + 1).map((second) => judgePair(first, second, { figure, comparisons, alternated })),
	);
	return { figure, arms: read.map(({ name, readings, mean }) => ({ name, readings, mean })), pairs };
}

type ReadArm = ComparedArm & { readonly systematicMs: number };

function readArm({ name, sessions }: Arm, { path, carriesSystematics }: ComparedFigure): ReadArm {
	const read = sessions.flatMap(({ values, systematicStandardMs }) => {
		const value = values[path];
		return value === undefined ? [] : [{ value, systematicStandardMs }];
	});
	const readings = read.map(({ value }) => value);
	return {
		name,
		readings,
		mean: readings.length === 0 ? null : sum(readings) / readings.length,
		// The same rig in every session: its doubt does not shrink with their number.
		systematicMs: carriesSystematics ? Math.max(0, ...read.map((one) => one.systematicStandardMs)) : 0,
	};
}

type PairContext = {
	readonly figure: ComparedFigure;
	readonly comparisons: number;
	readonly alternated: boolean;
};

function judgePair(first: ReadArm, second: ReadArm, context: PairContext): PairDifference {
	const names = { first: first.name, second: second.name };
	if (first.mean === null || second.mean === null)
		return { ...names, difference: null, halfWidth: null, better: null, because: 'not measured in both' };
	const open = { ...names, difference: second.mean - first.mean, halfWidth: null, better: null };
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
	if (!context.alternated)
		return { ...judged, because: 'not alternated: kit and time of day cannot be told apart' };
	const secondBetter = difference.difference < 0 === (context.figure.better === 'lower');
	return {
		...judged,
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

/**
 * Whether the arms' sessions are mixed in time: no arm may lie wholly before or after another, unless both have but one
 * session.
 */
export function isAlternated(arms: readonly Arm[]): boolean {
	const spans = arms
		.filter(({ sessions }) => sessions.length > 1)
		.map(({ sessions }) => sessions.map(({ startedAt }) => startedAt).sort());
	return spans.every((one, i) =>
		spans
			.slice(i + 1)
			.every((other) => (one[0] ?? '') < (other.at(-1) ?? '') && (other[0] ?? '') < (one.at(-1) ?? '')),
	);
}

function sum(values: readonly number[]): number {
	return values.reduce((total, value) => total + value, 0);
}

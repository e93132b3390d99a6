/** What repeats at each place of a yard check, in words that name no device as found. */
import type { Cause } from '../metrics/repeatCauses.ts';
import { isSamePeriod } from '../metrics/repeating.ts';
import type { YardReading } from '../verdict/yardSession.ts';
import { formatShare } from './numbers.ts';

/** Looks up candidates for a period; an argument, so that this file computes nothing. */
export type CausesOf = (periodS: number, periodUncertaintyS: number) => readonly Cause[];

/** A measured place with its runs, the latest last. */
type PlaceRead = { readonly name: string; readonly readings: readonly Pick<YardReading, 'repeats'>[] };

const NONE_SEEN =
	'A weak disturbance, one slower than a tenth of the run, or one that keeps step with our own pictures would not show.';
const NOT_LOOKED_FOR =
	'whether anything repeats could not be looked for: too few packets came, or too short a time.';

type Repeat = NonNullable<YardReading['repeats']>[number];

/** What was seen in any run at a place is told, though a later run there did not show it; what was not looked for is not called absent. */
export function repeatWords(read: readonly PlaceRead[], causesOf: CausesOf): string[] {
	const looked = read.map(({ name, readings }) => {
		const runs = readings.flatMap(({ repeats }) => (repeats === null ? [] : [repeats]));
		return { name, runs, found: onePerPeriod(runs) };
	});
	if (looked.every(({ runs, found }) => runs.length > 0 && found.length === 0))
		return [`Nothing was seen to repeat. ${NONE_SEEN}`];
	return looked.flatMap(({ name, runs, found }) => {
		if (runs.length === 0) return [`${name}: ${NOT_LOOKED_FOR}`];
		if (found.length === 0) return [`${name}: nothing was seen to repeat. ${NONE_SEEN}`];
		return found.flatMap(({ repeat, seenIn }) => [
			foundWords(name, repeat, runs.length === 1 ? '' : `seen in ${seenIn} of ${runs.length} runs, `),
			...causeWords(repeat, {
				causesOf,
				others: found.flatMap((one) => (one.repeat === repeat ? [] : [one.repeat])),
			}),
		]);
	});
}

/** Each period once, as the run saw it that is surest of it, and in how many runs it was seen. */
function onePerPeriod(runs: readonly (readonly Repeat[])[]): { repeat: Repeat; seenIn: number }[] {
	const surestFirst = runs
		.flatMap((repeats, run) => repeats.map((repeat) => ({ repeat, run })))
		.sort((a, b) => a.repeat.falseAlarmRatio - b.repeat.falseAlarmRatio);
	const told: { repeat: Repeat; runs: Set<number> }[] = [];
	for (const { repeat, run } of surestFirst) {
		const same = told.find((one) => isSamePeriod(one.repeat, repeat));
		if (same === undefined) told.push({ repeat, runs: new Set([run]) });
		else same.runs.add(run);
	}
	return told.map(({ repeat, runs: seen }) => ({ repeat, seenIn: seen.size }));
}

function foundWords(
	name: string,
	{ periodS, periodUncertaintyS, falseAlarmRatio, strengthRatio, bothWays }: Repeat,
	seenIn: string,
): string {
	const chance =
		falseAlarmRatio < 1e-4 ? 'less than 1 in 10,000' : `about ${(100 * falseAlarmRatio).toPrecision(1)} %`;
	return `${name}: something repeats every ${periodWords(periodS)} (give or take ${periodWords(periodUncertaintyS)}), ${seenIn}${bothWays ? 'both ways, ' : ''}in ${formatShare(strengthRatio)} of the unevenness; chance alone would show as much in ${chance} of runs.`;
}

/** A weak disturbance is seen now and then by a half, a third or a multiple of its period (bench `periodicity`). */
const INSTEAD = [
	[2, 'half'],
	[3, 'a third of'],
	[1 / 2, 'twice'],
	[1 / 3, 'three times'],
] as const;

function causeWords(
	{ periodS, periodUncertaintyS }: Repeat,
	{ causesOf, others }: { readonly causesOf: CausesOf; readonly others: readonly Repeat[] },
): string[] {
	const causes = causesOf(periodS, periodUncertaintyS);
	if (causes.length > 0) return causes.map((cause) => `It may be ${causeSentence(cause)}`);
	for (const [factor, part] of INSTEAD) {
		const times = { periodS: factor * periodS, periodUncertaintyS: factor * periodUncertaintyS };
		if (others.some((other) => isSamePeriod(other, times)))
			return [
				`It is ${part} the ${periodWords(times.periodS)} told for this place: most likely the same thing.`,
			];
	}
	const instead = INSTEAD.flatMap(([factor, part]) =>
		causesOf(factor * periodS, factor * periodUncertaintyS).map(
			(cause) =>
				`If this is ${part} the true period, ${periodWords(factor * periodS)}, it may be ${causeSentence(cause)}`,
		),
	);
	return ['Nothing that we know of has this period; what it is was not identified.', ...instead];
}

function causeSentence({ name, attempt, source }: Cause): string {
	return `${name}; that was not identified. To try: ${attempt} (${source}.)`;
}

/** Seconds from a tenth of one, else milliseconds; two digits of a doubt are enough. */
function periodWords(seconds: number): string {
	const [value, unit] = seconds >= 0.1 ? [seconds, 's'] : [1000 * seconds, 'ms'];
	return `${value >= 100 ? value.toFixed(0) : Number(value.toPrecision(3))} ${unit}`;
}

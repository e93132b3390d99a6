/**
 * The criteria: what each line asks of a metric, which answer it gates, and how hard the ground under it is.
 *
 * A line may ask one thing of one figure. Where the table of design.md 6 asks two things in one row, there are two lines
 * here: lost pictures against steering and against recording, and the median and the P95 of the colour shift.
 *
 * What it leaves out: which lines a rig must have met (requiredLines.ts) and how a line is decided (decisionRule.ts).
 * The limits come from studies of other tasks; none was done with a flexible endoscope in a horse. Sources are named by
 * the short names of standards.md, with the strength that page gives them.
 */
import type { Thresholds } from '../metrics/metric.ts';
import { type CriteriaLine, LINE_IDS, type LineId } from './criteriaLine.ts';
import { fnv1a64 } from './fnv1a.ts';
import { standardLines } from './standardLines.ts';

export type Criteria = { readonly name: string; readonly lines: readonly CriteriaLine[] };

/** The defaults of design.md 6. */
export const standardCriteria: Criteria = { name: 'standard', lines: standardLines };

/** Delay over which steering is out of the question whatever else holds; the same in every criteria file. */
export const HALF_SECOND_MS = 500;
/** P95 is "19 times in 20": the quantile bounds are taken there, or further out when the criteria allow less. */
const P95_TAIL_RATIO = 0.05;

/** The line of that id; throws `RangeError` when the criteria do not hold it. */
export function lineOf(criteria: Criteria, id: LineId): CriteriaLine {
	const line = criteria.lines.find((candidate) => candidate.id === id);
	if (line === undefined) throw new RangeError(`the criteria "${criteria.name}" hold no line "${id}"`);
	return line;
}

/** The line in words with its level: "share of time with a picture older than 240 ms". */
export function lineLabel(line: CriteriaLine): string {
	return line.label.replace('{level}', String(line.level));
}

/**
 * What the metrics are to count, in plain numbers. Quantile bounds are taken at P95 unless a time share is allowed less
 * than 5 %: then further out, so that the room left for scope and app is never told too wide.
 */
export function thresholdsOf(criteria: Criteria): Thresholds {
	return {
		ageLimitMs: levelOf(criteria, 'age'),
		delayLimitMs: levelOf(criteria, 'delay'),
		halfSecondMs: HALF_SECOND_MS,
		slowRateHz: levelOf(criteria, 'rate'),
		allowedRatio: Math.min(P95_TAIL_RATIO, limitOf(criteria, 'age'), limitOf(criteria, 'delay')),
	};
}

/**
 * Sixteen hex digits that name these criteria: two sets with the same digits decide alike. Names, words and sources are
 * left out of it. FNV-1a over the numbers in the order of `LINE_IDS`: it finds a difference, it does not guard against
 * someone who means to forge one (the run folder's SHA-256 does that).
 */
export function criteriaHash(criteria: Criteria): string {
	const numbers = LINE_IDS.map((id) => {
		const { label: _label, source: _source, strength: _strength, ...decides } = lineOf(criteria, id);
		return Object.entries(decides)
			.sort(([a], [b]) => (a < b ? -1 : 1))
			.map(([key, value]) => `${key}=${value}`)
			.join(' ');
	});
	return fnv1a64(numbers.join('\n'));
}

/** Every number that is not the standard's, in words; empty for the standard itself. */
export function differsFromStandard(criteria: Criteria): string[] {
	return LINE_IDS.flatMap((id) => {
		const line = lineOf(criteria, id);
		const standard = lineOf(standardCriteria, id);
		return (['level', 'limit', 'limitLong', 'comfort'] as const)
			.filter((key) => line[key] !== standard[key])
			.map((key) => `${id}: ${key} ${said(line[key])} instead of ${said(standard[key])}`);
	});
}

function levelOf(criteria: Criteria, id: LineId): number {
	const { level } = lineOf(criteria, id);
	if (level === null) throw new RangeError(`the line "${id}" of "${criteria.name}" has no level`);
	return level;
}

function limitOf(criteria: Criteria, id: LineId): number {
	const { limit } = lineOf(criteria, id);
	if (limit === null) throw new RangeError(`the line "${id}" of "${criteria.name}" has no limit`);
	return limit;
}

function said(value: number | null): string {
	return value === null ? 'none' : String(value);
}

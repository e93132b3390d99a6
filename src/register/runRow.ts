/**
 * One run as the index keeps it: what a list, a filter and a trend need, so that none of them has to open thousands of results.
 * Figures are every number of the result's metrics, by the path under which the result has it ("freshDelay.p95Ms").
 */
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { z } from 'zod';
import { OutsideFailure } from '../failure.ts';
import type { Answer } from '../verdict/verdict.ts';
import { parseDocument } from './documentFile.ts';
import { RESULT_FILE } from './runFolder.ts';
import { readSeal, type Seal } from './seal.ts';

export type RunRow = {
	/** Name of the folder within the root. */
	readonly folder: string;
	/** Sizes and times of the files it was made from; another stamp, and it is made anew. */
	readonly stamp: string;
	/** What is wrong with the folder, in one sentence; null when nothing is. */
	readonly trouble: string | null;
	readonly facts: RunRowFacts | null;
};

export type RunRowFacts = {
	readonly runId: string;
	readonly startedAt: string;
	readonly rig: string;
	readonly profile: string;
	readonly subject: string;
	readonly subjectKind: string;
	readonly invented: boolean;
	/** "generated to presented". */
	readonly measuringPoints: string;
	readonly sourceRateHz: number;
	readonly systematicStandardMs: number;
	readonly place: string | null;
	readonly fitness: string;
	readonly steer: Answer;
	readonly record: Answer;
	/** Room to spare of the steering answer, as the verdict has it. */
	readonly margin: number | null;
	/** Ids of the required lines that were not met. */
	readonly notMet: readonly string[];
	readonly headline: string;
	readonly criteriaHash: string;
	readonly criteriaName: string;
	readonly criteriaDiffer: readonly string[];
	readonly torn: boolean;
	readonly figures: Readonly<Record<string, number>>;
};

const answer = z.enum(['yes', 'no', 'undetermined', 'notAsked']);

/** Only what the index needs of it: a result of an older program may lack what later ones have. */
export const resultKind = {
	format: 'steerworthy-result',
	version: 1,
	schema: z.object({
		format: z.literal('steerworthy-result'),
		version: z.literal(1),
		run: z.object({
			place: z.string().nullable(),
			torn: z.boolean(),
			subject: z.object({ kind: z.string(), invented: z.boolean() }),
			measuringPoints: z.object({ source: z.string(), viewer: z.string() }),
			source: z.object({ rateHz: z.number() }),
			systematicStandardMs: z.number(),
		}),
		criteria: z.array(z.object({ id: z.string(), required: z.array(z.string()), state: z.string() })),
		metrics: z.record(z.string(), z.unknown()),
		criteriaSet: z.object({
			hash: z.string(),
			name: z.string(),
			differsFromStandard: z.array(z.string()),
		}),
		verdict: z.object({
			fitness: z.string(),
			headline: z.string(),
			steer: answer,
			record: answer,
			margin: z.number().nullable(),
		}),
	}),
} as const;

export async function readRunRow(root: string, folder: string, stamp: string): Promise<RunRow> {
	const at = { folder, stamp };
	try {
		const seal = await readSeal(join(root, folder));
		if (seal === null)
			return {
				...at,
				trouble: `${folder} was broken off before its end; steerworthy judge ${folder} says what it holds.`,
				facts: null,
			};
		const path = join(root, folder, RESULT_FILE);
		const text = await readFile(path, 'utf8').catch(() => null);
		if (text === null) return { ...at, trouble: `${folder}: ${RESULT_FILE} is missing.`, facts: null };
		return { ...at, trouble: null, facts: factsOf(seal, parseDocument(text, path, resultKind)) };
	} catch (failure) {
		if (!(failure instanceof OutsideFailure)) throw failure;
		return { ...at, trouble: failure.message, facts: null };
	}
}

function factsOf(
	seal: Seal,
	{ run, verdict, ...result }: z.infer<(typeof resultKind)['schema']>,
): RunRowFacts {
	const notMet = result.criteria.filter(({ required, state }) => required.length > 0 && state === 'notMet');
	return {
		runId: seal.runId,
		startedAt: seal.startedAt,
		rig: seal.rig,
		profile: seal.profile,
		subject: seal.subject,
		subjectKind: run.subject.kind,
		invented: run.subject.invented,
		measuringPoints: `${run.measuringPoints.source} to ${run.measuringPoints.viewer}`,
		sourceRateHz: run.source.rateHz,
		systematicStandardMs: run.systematicStandardMs,
		place: run.place,
		fitness: verdict.fitness,
		steer: verdict.steer,
		record: verdict.record,
		margin: verdict.margin,
		notMet: notMet.map(({ id }) => id),
		headline: verdict.headline,
		criteriaHash: result.criteriaSet.hash,
		criteriaName: result.criteriaSet.name,
		criteriaDiffer: result.criteriaSet.differsFromStandard,
		torn: run.torn,
		figures: figuresOf(result.metrics),
	};
}

/** Every number within the metrics, lists left out. */
function figuresOf(metrics: Readonly<Record<string, unknown>>): Record<string, number> {
	const figures: Record<string, number> = {};
	const walk = (value: unknown, path: string): void => {
		if (typeof value === 'number') figures[path] = value;
		else if (typeof value === 'object' && value !== null && !Array.isArray(value))
			for (const [key, inner] of Object.entries(value)) walk(inner, path === '' ? key : `${path}.${key}`);
	};
	walk(metrics, '');
	return figures;
}

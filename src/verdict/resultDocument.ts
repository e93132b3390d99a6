/**
 * The result document: what a run gave, as `result.json`, `--json` and the report carry it (design.md 5).
 *
 * Field names are those of the metrics. Every number is rounded to its stated decimals (rounding.ts). A result can be
 * made again from the observations; it holds nothing that the observations and the criteria do not.
 */
import { z } from 'zod';
import type { Metrics, Warning } from '../metrics/metric.ts';
import { type Header, PROFILES } from '../observations/records.ts';
import { type Criteria, criteriaHash, differsFromStandard } from './criteria.ts';
import { type ResultMetrics, resultMetricsSchema, systematicSchema } from './resultMetrics.ts';
import { roundFigures, roundTo, roundToUnit } from './rounding.ts';
import type { JudgedLine, Verdict } from './verdict.ts';

const RESULT_FORMAT = 'steerworthy-result';
const RESULT_VERSION = 1;

export type ResultRun = {
	readonly id: string;
	readonly rig: Header['rig'];
	readonly subject: Header['subject'];
	/** Name of the kit, where the subject is one. */
	readonly kit: string | null;
	readonly place: string | null;
	readonly joined: string | null;
	readonly profile: Header['profile'];
	/** Wall-clock label for people; never enters a measurement. */
	readonly startedAt: string;
	readonly measuringPoints: Header['measuringPoints'];
	readonly viewerClock: Header['viewerClock'];
	readonly source: Header['source'];
	readonly path: Header['path'];
	readonly displayPeriodMs: number | null;
	readonly lostAfterMs: number;
	/** After warm-up, segments added, breaks between them not counted. */
	readonly observedMs: number;
	readonly warmUpMs: number;
	readonly segmentCount: number;
	readonly torn: boolean;
	/** Why the run ended; null when the file does not say. */
	readonly endedBy: string | null;
	/** The rig's doubts that are one draw for the whole run; true = reading + centre + draw. */
	readonly systematics: Metrics['facts']['systematics'];
	readonly systematicCentreMs: number;
	readonly systematicStandardMs: number;
};

export type ResultDocument = {
	readonly format: typeof RESULT_FORMAT;
	readonly version: typeof RESULT_VERSION;
	readonly toolVersion: string;
	readonly run: ResultRun;
	readonly metrics: ResultMetrics;
	readonly criteria: readonly JudgedLine[];
	readonly criteriaSet: {
		readonly name: string;
		readonly hash: string;
		/** In words; empty for the standard criteria. */
		readonly differsFromStandard: readonly string[];
	};
	readonly warnings: readonly Warning[];
	readonly verdict: Verdict;
};

const count = z.number().int().nonnegative();
const runSchema: z.ZodType<ResultRun> = z.strictObject({
	id: z.string(),
	rig: z.enum(['link', 'optical', 'recording', 'still']),
	subject: z.strictObject({
		kind: z.enum(['link', 'computer', 'kit', 'recording']),
		name: z.string(),
		invented: z.boolean(),
	}),
	kit: z.string().nullable(),
	place: z.string().nullable(),
	joined: z.string().nullable(),
	profile: z.enum(PROFILES),
	startedAt: z.string(),
	measuringPoints: z.strictObject({
		source: z.enum(['generated', 'light', 'file']),
		viewer: z.enum(['presented', 'decoded', 'light', 'file']),
	}),
	viewerClock: z.enum(['reference', 'pinged']),
	source: z.strictObject({
		layout: z.string(),
		widthPx: count,
		heightPx: count,
		rateHz: z.number(),
		seed: count,
		difficulty: z.enum(['easy', 'hard', 'motion']),
	}),
	path: z
		.strictObject({
			transport: z.string(),
			codec: z.string(),
			bitrateKbps: z.number().nullable(),
			keyEveryFrames: count.nullable(),
			air: z.string().nullable(),
		})
		.nullable(),
	displayPeriodMs: z.number().nullable(),
	lostAfterMs: z.number(),
	observedMs: z.number(),
	warmUpMs: z.number(),
	segmentCount: count,
	torn: z.boolean(),
	endedBy: z.string().nullable(),
	systematics: z.array(systematicSchema),
	systematicCentreMs: z.number(),
	systematicStandardMs: z.number(),
});

const answersGated = z.array(z.enum(['steer', 'record']));
const lineSchema: z.ZodType<JudgedLine> = z.strictObject({
	id: z.string(),
	gates: answersGated,
	required: answersGated,
	label: z.string(),
	unit: z.enum(['ratio', 'ms', 'perMin', 'deltaE', 'none']),
	limit: z.number().nullable(),
	reading: z.number().nullable(),
	bound: z.number().nullable(),
	state: z.enum(['met', 'notMet', 'undecided', 'notMeasured', 'informs']),
	because: z.string(),
	margin: z.number().nullable(),
	source: z.string(),
	strength: z.string(),
	settleBySeconds: z.number().nullable(),
	longerWillSettle: z.boolean(),
});

const answer = z.enum(['yes', 'no', 'undetermined', 'notAsked']);
const verdictSchema: z.ZodType<Verdict> = z.strictObject({
	fitness: z.enum(['steering', 'recording', 'unfit', 'undetermined']),
	steer: answer,
	record: answer,
	headline: z.string(),
	order: z.string(),
	subject: z.string(),
	roomLeftMs: z.number().nullable(),
	margin: z.number().nullable(),
	decidedBy: z.array(z.string()),
	settleBySeconds: z.number().nullable(),
	speaksFor: z.string(),
	criteria: z.strictObject({ name: z.string(), hash: z.string() }),
});

export const resultSchema: z.ZodType<ResultDocument> = z.strictObject({
	format: z.literal(RESULT_FORMAT),
	version: z.literal(RESULT_VERSION),
	toolVersion: z.string(),
	run: runSchema,
	metrics: resultMetricsSchema,
	criteria: z.array(lineSchema),
	criteriaSet: z.strictObject({
		name: z.string(),
		hash: z.string(),
		differsFromStandard: z.array(z.string()),
	}),
	warnings: z.array(z.strictObject({ code: z.string(), seen: z.string(), advice: z.string() })),
	verdict: verdictSchema,
});

export type ResultParts = {
	readonly metrics: Metrics;
	readonly lines: readonly JudgedLine[];
	readonly verdict: Verdict;
	readonly criteria: Criteria;
	readonly toolVersion: string;
	/** Why the run ended; left out when the file does not say. */
	readonly endedBy?: string | null;
};

/** The document of a judged run. Throws `RangeError` when a figure is not a finite number: metrics never hold one. */
export function buildResult(parts: ResultParts): ResultDocument {
	const { facts: _facts, warnings, ...metrics } = parts.metrics;
	const document: ResultDocument = {
		format: RESULT_FORMAT,
		version: RESULT_VERSION,
		toolVersion: parts.toolVersion,
		run: roundFigures(runOf(parts.metrics, parts.endedBy ?? null)),
		metrics: roundFigures(metrics),
		criteria: parts.lines.map(roundedLine),
		criteriaSet: {
			name: parts.criteria.name,
			hash: criteriaHash(parts.criteria),
			differsFromStandard: differsFromStandard(parts.criteria),
		},
		warnings,
		verdict: { ...parts.verdict, margin: roundedMargin(parts.verdict.margin) },
	};
	return resultSchema.parse(document);
}

/** JSON Schema (2020-12) of the result document, made from the schema above. */
export function resultJsonSchema(): Record<string, unknown> {
	return { ...z.toJSONSchema(resultSchema) };
}

function runOf({ facts }: Metrics, endedBy: string | null): ResultRun {
	const { header } = facts;
	return {
		id: header.runId,
		rig: header.rig,
		subject: header.subject,
		kit: header.subject.kind === 'kit' ? header.subject.name : null,
		place: header.place,
		joined: header.joined,
		profile: header.profile,
		startedAt: header.startedAt,
		measuringPoints: header.measuringPoints,
		viewerClock: header.viewerClock,
		source: header.source,
		path: header.path,
		displayPeriodMs: header.displayPeriodMs,
		lostAfterMs: header.lostAfterMs,
		observedMs: facts.observedMs,
		warmUpMs: facts.warmUpMs,
		segmentCount: facts.segmentCount,
		torn: facts.torn,
		endedBy,
		systematics: facts.systematics,
		systematicCentreMs: facts.systematicCentreMs,
		systematicStandardMs: facts.systematicStandardMs,
	};
}

function roundedLine(line: JudgedLine): JudgedLine {
	return {
		...line,
		limit: roundToUnit(line.limit, line.unit),
		reading: roundToUnit(line.reading, line.unit),
		bound: roundToUnit(line.bound, line.unit),
		margin: roundedMargin(line.margin),
	};
}

function roundedMargin(margin: number | null): number | null {
	return margin === null ? null : roundTo(margin, 4);
}

/**
 * From a run folder to its answer: observations -> metrics -> verdict -> result document -> report. The one path that
 * `link`, `judge` and `rehearse` all take, so that none of them can say what another would not.
 */
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { againstReference } from '../metrics/againstReference.ts';
import { besideReference } from '../metrics/besideReference.ts';
import { measureRun } from '../metrics/measureRun.ts';
import type { Metrics, Warning } from '../metrics/metric.ts';
import { measureSeries } from '../metrics/series.ts';
import type { Run } from '../observations/run.ts';
import {
	REPORT_FILE,
	RESULT_FILE,
	readJoinedRecording,
	readReference,
	readRunFolder,
	writeRunFile,
} from '../register/runFolder.ts';
import { sealFolder } from '../register/seal.ts';
import { renderFramesCsv, renderMetricsCsv } from '../report/csv.ts';
import { renderHtml } from '../report/html.ts';
import type { Evidence } from '../report/htmlFigures.ts';
import { renderJson } from '../report/json.ts';
import type { Criteria } from '../verdict/criteria.ts';
import { thresholdsOf } from '../verdict/criteria.ts';
import { judgeRun } from '../verdict/judgeRun.ts';
import { buildResult, type ResultDocument } from '../verdict/resultDocument.ts';
import { readChartScript } from './chartScript.ts';
import { TOOL_VERSION } from './version.ts';

/** Bins of the chart over time: about two a pixel column on a laptop's report. */
const CHART_BINS = 400;

export type Conclusion = { readonly run: Run; readonly result: ResultDocument };

/** Judges the observations in a folder; writes nothing. */
export async function judgeFolder(folder: string, criteria: Criteria): Promise<Conclusion> {
	const reference = await readReference(folder);
	const seen = await readRunFolder(folder);
	const run = reference === null ? seen : besideReference(seen, reference);
	const metrics = measuredBeside({ run, seen, reference }, criteria);
	const recording = await measureJoined(folder, criteria);
	const { lines, verdict } = judgeRun(metrics, criteria, recording);
	const result = buildResult({
		metrics: recording === undefined ? metrics : withRecording(metrics, recording),
		lines,
		verdict,
		criteria,
		toolVersion: TOOL_VERSION,
		endedBy: run.endedBy,
	});
	return { run, result };
}

type Beside = {
	/** As its reference lets it be judged. */
	readonly run: Run;
	/** As it was seen, by the card as drawn: what the reference's own figures are counted from too. */
	readonly seen: Run;
	readonly reference: Run | null;
};

function measuredBeside({ run, seen, reference }: Beside, criteria: Criteria): Metrics {
	const measure = (one: Run): Metrics => measureRun(one, thresholdsOf(criteria));
	const metrics = measure(run);
	if (reference === null) return metrics;
	const own = seen === run ? metrics : measure(seen);
	return { ...metrics, againstReference: againstReference(own, measure(reference)) };
}

/** Figures of the kit's own recording, where the folder holds one. */
async function measureJoined(folder: string, criteria: Criteria): Promise<Metrics | undefined> {
	const run = await readJoinedRecording(folder);
	return run === null ? undefined : measureRun(run, thresholdsOf(criteria));
}

/** What was noticed about the recording stands beside what was noticed about the rest. */
function withRecording(metrics: Metrics, { facts, warnings }: Metrics): Metrics {
	const { name } = facts.header.subject;
	const joined: Warning = {
		code: 'recordingJoined',
		seen: `The record answer and its lines are of the kit's own recording, ${name}, ${Math.round(facts.observedMs / 1000)} s.`,
		advice: 'Nothing need be done, if that file is of this kit and this session.',
	};
	const named = warnings.map((warning) => ({ ...warning, seen: `${name}: ${warning.seen}` }));
	return { ...metrics, warnings: [...metrics.warnings, joined, ...named] };
}

/** The report as one page; writes nothing. */
export async function renderReport(folder: string, { run, result }: Conclusion): Promise<string> {
	return renderHtml({
		result,
		series: measureSeries(run, CHART_BINS),
		chartScript: await readChartScript(),
		evidence: await readEvidence(folder, result),
	});
}

/** Writes result and report beside the observations and seals the folder. */
export async function writeConclusion(folder: string, conclusion: Conclusion): Promise<void> {
	const { result } = conclusion;
	await writeRunFile(folder, RESULT_FILE, renderJson(result));
	await writeRunFile(folder, REPORT_FILE, await renderReport(folder, conclusion));
	await sealFolder(folder, {
		runId: result.run.id,
		startedAt: result.run.startedAt,
		subject: result.verdict.subject,
		rig: result.run.rig,
		profile: result.run.profile,
		headline: result.verdict.headline,
	});
}

/** Figures and frames as tables, for a spreadsheet. Gives the names of the files. */
export async function writeTables(folder: string, { run, result }: Conclusion): Promise<string[]> {
	await writeRunFile(folder, 'figures.csv', renderMetricsCsv(result));
	await writeRunFile(folder, 'frames.csv', renderFramesCsv(run));
	return ['figures.csv', 'frames.csv'];
}

async function readEvidence(folder: string, { metrics }: ResultDocument): Promise<Evidence[]> {
	if (metrics.likeness.kind !== 'measured') return [];
	const pictures: Evidence[] = [];
	for (const { file, frameNumber } of metrics.likeness.evidence) {
		if (!/^[\w.-]+\.png$/.test(file)) continue;
		const bytes = await readFile(join(folder, file)).catch(() => null);
		if (bytes === null) continue;
		const dataUri = `data:image/png;base64,${bytes.toString('base64')}`;
		pictures.push({
			file,
			dataUri,
			caption: `Frame ${frameNumber}: where it differs from the card as drawn`,
		});
	}
	return pictures;
}

/**
 * Tables for a spreadsheet, by RFC 4180: commas, quotes doubled, CRLF, one header row. Names end in their unit, as in the
 * result document; figures are unrounded and always with a point. An empty cell is a value that does not exist.
 */
import type { Run } from '../observations/run.ts';
import type { ResultDocument } from '../verdict/resultDocument.ts';

const FRAME_COLUMNS = ['segment', 'frameNumber', 'dueMs', 'shownMs', 'fate', 'decodedMs', 'seenMs'] as const;
const METRIC_COLUMNS = ['metric', 'field', 'value', 'unit', 'notMeasured', 'explanation'] as const;

/** One row a frame, in the order of the observations; instants in ms on the run's reference clock. Yields line by line. */
export function* renderFramesCsv(run: Pick<Run, 'frames'>): Generator<string> {
	yield csvLine(FRAME_COLUMNS);
	for (const frame of run.frames) yield csvLine(FRAME_COLUMNS.map((name) => frame[name]));
}

/** Every figure of the result, one a row; a metric that was not measured has one row with its reason. */
export function renderMetricsCsv(result: ResultDocument): string {
	const rows = Object.entries(result.metrics).flatMap(([metric, value]) => metricRows(metric, value));
	return [METRIC_COLUMNS, ...rows].map(csvLine).join('');
}

type Cell = string | number | boolean | null;

function metricRows(metric: string, value: unknown): Cell[][] {
	if (isRecord(value) && value['kind'] === 'notMeasured')
		return [[metric, null, null, null, String(value['reason']), String(value['explanation'])]];
	return leaves('', value)
		.filter(([field]) => field !== 'kind')
		.map(([field, leaf]) => [metric, field, leaf, unitOf(field), null, null]);
}

/** Every value that holds no others, by its path: `overLimit.shareRatio`, `patches.3.deltaE00`. */
function leaves(path: string, value: unknown): [field: string, leaf: Cell][] {
	if (isRecord(value))
		return Object.entries(value).flatMap(([key, inner]) =>
			leaves(path === '' ? key : `${path}.${key}`, inner),
		);
	return value === null || isPlain(value) ? [[path, value]] : [];
}

function isRecord(value: unknown): value is Readonly<Record<string, unknown>> {
	return typeof value === 'object' && value !== null;
}

function isPlain(value: unknown): value is string | number | boolean {
	return typeof value === 'string' || typeof value === 'number' || typeof value === 'boolean';
}

const UNIT_SUFFIXES: readonly (readonly [suffix: RegExp, unit: string])[] = [
	[/PerMin$/, '1/min'],
	[/Ms$/, 'ms'],
	[/Hz$/, '1/s'],
	[/Ratio$/, 'ratio'],
	[/Db$/, 'dB'],
	[/Deg$/, 'degree'],
	[/Px$/, 'px'],
	[/DeltaE(00)?$/i, 'CIEDE2000'],
	[/Count$/, 'count'],
];

function unitOf(field: string): string | null {
	return UNIT_SUFFIXES.find(([suffix]) => suffix.test(field))?.[1] ?? null;
}

function csvLine(cells: readonly Cell[]): string {
	return `${cells.map(csvCell).join(',')}\r\n`;
}

/** Text that a spreadsheet would take for a formula gets an apostrophe before it: names come from outside. */
function csvCell(cell: Cell): string {
	if (cell === null) return '';
	if (typeof cell !== 'string') return String(cell);
	const text = /^[=+\-@\t\r]/.test(cell) ? `'${cell}` : cell;
	return /[",\r\n]/.test(text) ? `"${text.replace(/"/g, '""')}"` : text;
}

/**
 * A result for a terminal: the headline in its frame, the order, what was judged and for how long, what decided it, the
 * lines, the frames, warnings and cautions. The frame's line carries the meaning without colour; colour is an extra.
 */
import type { ResultDocument } from '../verdict/resultDocument.ts';
import type { Fitness, JudgedLine } from '../verdict/verdict.ts';
import { SHORT_CAUTIONS } from './cautions.ts';
import { fateRows, lossWords, observedWords } from './facts.ts';
import { keyFigureRows } from './figures.ts';
import { formatDuration, formatMs, formatNumber } from './numbers.ts';
import { isOfOne, referenceName, referenceRows, slowedRows } from './referenceRows.ts';
import { bullet, cleanText, framed, type Glyphs, tableLines, wrapText } from './textLayout.ts';
import {
	ANSWER_WORDS,
	boundWords,
	limitWords,
	marginWords,
	measuringPointsWords,
	PROFILE_WORDS,
	readingWords,
	STATE_WORDS,
} from './words.ts';

export type TextOptions = {
	readonly columns: number;
	readonly glyphs: Glyphs;
	/** Deep teal and plum by escape codes, for a terminal that takes them. */
	readonly colour: boolean;
	/** Folder of the run as the user would type it; null when nothing was kept. */
	readonly folder: string | null;
	/** Every line of the criteria with reading, bound and limit; else only what decided. */
	readonly everyLine: boolean;
};

const LEAST_COLUMNS = 60;

/** The result in lines no wider than `columns` (at least 60, else `RangeError`), ending in a line break. */
export function renderText(result: ResultDocument, options: TextOptions): string {
	if (!(options.columns >= LEAST_COLUMNS))
		throw new RangeError(`a result needs ${LEAST_COLUMNS} columns or more, got ${options.columns}`);
	const page = new TextPage(options);
	writeVerdict(page, result);
	writeJudged(page, result);
	writeDecided(page, result);
	if (options.everyLine) writeLines(page, result.criteria);
	writeFigures(page, result);
	writeReference(page, result);
	writeFrames(page, result);
	writeWarnings(page, result);
	page.title('Before you go on');
	for (const caution of SHORT_CAUTIONS) page.item(caution);
	writeFiles(page, result, options.folder);
	return page.text();
}

/** Collects lines; all text passes `cleanText` on its way in. */
class TextPage {
	readonly #lines: string[] = [];
	readonly #options: TextOptions;

	constructor(options: TextOptions) {
		this.#options = options;
	}

	get columns(): number {
		return this.#options.columns;
	}

	clean(text: string): string {
		return cleanText(text, this.#options.glyphs);
	}

	title(text: string): void {
		this.#lines.push('', this.clean(text).toUpperCase());
	}

	line(text: string): void {
		this.#lines.push(...wrapText(this.clean(text), this.columns));
	}

	item(text: string): void {
		this.#lines.push(...bullet('- ', this.clean(text), this.columns));
	}

	pair(term: string, detail: string): void {
		this.table([16, this.columns - 18], [[term, detail]]);
	}

	frame(lines: readonly string[], fitness: Fitness): void {
		const { columns, glyphs, colour } = this.#options;
		const drawn = framed(
			lines.map((text) => this.clean(text)),
			fitness,
			{ columns, glyphs },
		);
		this.#lines.push(...(colour ? drawn.map((text) => coloured(text, fitness)) : drawn));
	}

	/** Columns by width; a negative width sets the column to the right. */
	table(widths: readonly number[], rows: readonly (readonly string[])[]): void {
		const columns = widths.map(
			(width) => ({ width: Math.abs(width), align: width < 0 ? 'right' : 'left' }) as const,
		);
		this.#lines.push(
			...tableLines(
				columns,
				rows.map((row) => row.map((cell) => this.clean(cell))),
			),
		);
	}

	text(): string {
		return `${this.#lines.join('\n')}\n`;
	}
}

/** Deep teal for steering, plum for recording only; the others stay as the terminal writes. */
const COLOUR_CODE: Readonly<Record<Fitness, string | null>> = {
	steering: '\u001b[38;5;30m',
	recording: '\u001b[38;5;96m',
	unfit: null,
	undetermined: null,
};

function coloured(text: string, fitness: Fitness): string {
	const code = COLOUR_CODE[fitness];
	return code === null ? text : `${code}${text}\u001b[0m`;
}

function writeVerdict(page: TextPage, { verdict, run }: ResultDocument): void {
	const invented = run.subject.invented ? ['INVENTED for rehearsal: no such device was tested', ''] : [];
	page.frame(
		[...invented, run.subject.name, '', sentence(verdict.headline), '', verdict.order],
		verdict.fitness,
	);
	page.pair('steer', ANSWER_WORDS[verdict.steer]);
	page.pair('record', ANSWER_WORDS[verdict.record]);
	if (verdict.roomLeftMs !== null)
		page.pair('room left', `${formatMs(verdict.roomLeftMs)} for the scope and its app`);
	if (verdict.margin !== null) page.pair('room to spare', marginWords(verdict.margin));
	if (verdict.settleBySeconds !== null)
		page.pair('to settle it', `a fresh run, about ${formatDuration(verdict.settleBySeconds * 1000)} longer`);
}

function sentence(text: string): string {
	return text.charAt(0).toUpperCase() + text.slice(1);
}

function writeJudged(page: TextPage, { run, verdict }: ResultDocument): void {
	page.title('What was judged');
	page.pair('subject', verdict.subject);
	page.pair('measured', measuringPointsWords(run.measuringPoints));
	page.pair('observed', observedWords(run));
	page.pair('profile', PROFILE_WORDS[run.profile]);
	page.pair('place', run.place ?? 'not given');
	page.pair('run', run.id);
	page.line(`This run ${verdict.speaksFor}.`);
}

function writeDecided(page: TextPage, { criteria, verdict }: ResultDocument): void {
	page.title('What decided it');
	if (verdict.decidedBy.length === 0) page.line('No single line; all required lines together.');
	for (const id of verdict.decidedBy) {
		const line = criteria.find((candidate) => candidate.id === id);
		page.item(line ? `${line.label}: ${STATE_WORDS[line.state]}. ${line.because}` : id);
	}
}

function writeLines(page: TextPage, lines: readonly JudgedLine[]): void {
	page.title('The lines');
	const widths = [page.columns - 55, -9, -14, -9, 15];
	page.table(widths, [['', 'read', 'as bad as', 'limit', 'state']]);
	page.table(
		widths,
		lines.map((line) => [
			line.label,
			readingWords(line),
			boundWords(line),
			limitWords(line),
			STATE_WORDS[line.state],
		]),
	);
	page.line(
		'"As bad as": 19 chances in 20 that it is no worse, this rig’s own uncertainty included; "at best", where a line is not met: that it is no better.',
	);
}

/** Wide enough for two figures with their units. */
const VALUE_COLUMNS = 20;

function writeFigures(page: TextPage, { metrics, run }: ResultDocument): void {
	page.title('The figures');
	const nameColumns = Math.floor(page.columns * 0.39);
	const widths = [nameColumns, -VALUE_COLUMNS, page.columns - nameColumns - VALUE_COLUMNS - 4];
	for (const row of keyFigureRows(metrics, run.measuringPoints, run.rig)) {
		if (row.value.length <= VALUE_COLUMNS) page.table(widths, [[row.name, row.value, row.beside]]);
		else page.item(`${row.name}: ${row.value}${row.beside === '' ? '' : ` (${row.beside})`}`);
	}
}

/** Single lines and greys only on the page of the report. */
function writeReference(page: TextPage, { metrics }: ResultDocument): void {
	const against = metrics.againstReference;
	if (against?.kind !== 'measured') return;
	page.title('Beside the reference');
	page.line(`${referenceName(against)}. Each measure, as a share of the reference’s; the report holds all.`);
	for (const [asked, said, exact] of slowedRows(against)) page.item(`${asked} ${said} (${exact}).`);
	const rows = referenceRows(against).filter((row) => !isOfOne(row));
	page.table(
		[Math.floor(page.columns * 0.48), -9, page.columns - Math.floor(page.columns * 0.48) - 13],
		rows,
	);
}

function writeFrames(page: TextPage, { metrics }: ResultDocument): void {
	page.title('What happened to each picture');
	const { frames } = metrics;
	if (frames.kind === 'measured') {
		const rows = fateRows(frames).map(({ words, count }) => [words, formatNumber(count)]);
		page.table([44, -10], [...rows, ['sent (the sum of these)', formatNumber(frames.sent)]]);
	}
	page.line(lossWords(frames));
}

function writeWarnings(page: TextPage, { warnings }: ResultDocument): void {
	if (warnings.length === 0) return;
	page.title('Warnings and notes');
	for (const { code, seen, advice } of warnings) page.item(`${seen} ${advice} (${code})`);
}

const FILES: readonly (readonly [file: string, holds: string])[] = [
	['report.html', 'the whole report, with charts; opens without a network'],
	['result.json', 'every figure and every line, for programs'],
	['observations.jsonl', 'what was seen'],
];

function writeFiles(
	page: TextPage,
	{ toolVersion, criteriaSet }: ResultDocument,
	folder: string | null,
): void {
	page.title('Where it is kept');
	if (folder === null) page.line('Nothing was kept of this run.');
	else {
		page.line(folder);
		page.table([20, page.columns - 22], FILES);
		page.line(`Made again by: steerworthy judge ${folder}`);
	}
	page.line(`steerworthy ${toolVersion}; criteria "${criteriaSet.name}" ${criteriaSet.hash}`);
	if (criteriaSet.differsFromStandard.length > 0)
		page.line(`Criteria that differ from the standard ones: ${criteriaSet.differsFromStandard.join('; ')}.`);
}

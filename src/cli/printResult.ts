/** Prints a result: one JSON document on stdout, or the answer as a person reads it. */
import { renderJson } from '../report/json.ts';
import { renderText } from '../report/text.ts';
import { cleanText, wrapText } from '../report/textLayout.ts';
import type { ResultDocument } from '../verdict/resultDocument.ts';

const MOST_COLUMNS = 100;
const LEAST_COLUMNS = 60;
const COLUMNS_WITHOUT_TERMINAL = 80;

type Printed = {
	readonly json: boolean;
	readonly full: boolean;
	readonly folder: string | null;
	readonly notes: readonly string[];
};

export function printResult(result: ResultDocument, { json, full, folder, notes }: Printed): void {
	if (json) {
		process.stdout.write(renderJson(result));
		for (const note of notes) process.stderr.write(`${note}\n`);
		return;
	}
	const plan = terminal();
	process.stdout.write(renderText(result, { ...plan, folder, everyLine: full }));
	for (const note of notes)
		for (const line of wrapText(cleanText(note, plan.glyphs), plan.columns))
			process.stdout.write(`${line}\n`);
}

/** What this terminal takes: its width, letters beyond ASCII, colour (`NO_COLOR` and a pipe are respected). */
export function terminal(): { columns: number; glyphs: 'unicode' | 'ascii'; colour: boolean } {
	const { isTTY, columns = COLUMNS_WITHOUT_TERMINAL } = process.stdout;
	const { NO_COLOR, TERM, LC_ALL, LC_CTYPE, LANG } = process.env;
	const locale = LC_ALL ?? LC_CTYPE ?? LANG ?? 'UTF-8';
	const plain = TERM === 'dumb' || !/utf-?8/i.test(locale);
	return {
		columns: Math.min(Math.max(columns, LEAST_COLUMNS), MOST_COLUMNS),
		glyphs: plain ? 'ascii' : 'unicode',
		colour: isTTY === true && (NO_COLOR === undefined || NO_COLOR === ''),
	};
}

/**
 * Laying text into columns for a terminal: widths, wrapping, frames and tables. Knows nothing of results.
 *
 * Widths are approximate beyond Latin letters: wide East Asian characters and pictographs count two columns, combining
 * marks none. Control characters and direction overrides never reach the terminal.
 */
import type { Fitness } from '../verdict/verdict.ts';

export type Glyphs = 'unicode' | 'ascii';

/** How each sign is written where only ASCII is to be had; anything else outside ASCII becomes a question mark. */
const ASCII_FOR: Readonly<Record<string, string>> = {
	'\u202f': ' ',
	'\u2212': '-',
	'\u2013': '-',
	'\u2019': "'",
	'\u2026': '...',
	'\u2264': '<=',
	'\u2265': '>=',
	'\u00d7': 'x',
	'\u00b1': '+/-',
	'\u00b2': '^2',
	'\u00b7': '.',
	'\u0394': 'd',
};

/** One line of text fit for a terminal: no control characters, no direction overrides, signs of the chosen set. */
export function cleanText(text: string, glyphs: Glyphs): string {
	const oneLine = text.replace(
		/[\p{Cc}\p{Zl}\p{Zp}\u061c\u200b-\u200f\u202a-\u202e\u2060-\u206f\ufeff]+/gu,
		' ',
	);
	if (glyphs === 'unicode') return oneLine;
	return oneLine.replace(/\P{ASCII}/gu, (sign) => ASCII_FOR[sign] ?? '?');
}

/** Columns that a line takes. */
export function textWidth(text: string): number {
	let columns = 0;
	for (const sign of text) columns += signWidth(sign);
	return columns;
}

function signWidth(sign: string): number {
	if (/\p{Mn}/u.test(sign)) return 0;
	return /[\u1100-\u115f\u2e80-\ua4cf\uac00-\ud7a3\uf900-\ufaff\ufe30-\ufe6f\uff00-\uff60\uffe0-\uffe6]|\p{Emoji_Presentation}/u.test(
		sign,
	)
		? 2
		: 1;
}

function padTo(text: string, columns: number): string {
	return text + ' '.repeat(Math.max(0, columns - textWidth(text)));
}

/** Breaks at plain spaces; a word longer than the line is cut, so that no line is ever wider than asked. */
export function wrapText(text: string, columns: number): string[] {
	if (!(columns >= 2)) throw new RangeError(`a line to wrap into needs 2 columns or more, got ${columns}`);
	const lines: string[] = [];
	let line = '';
	for (const word of text.split(' ').flatMap((w) => cutWord(w, columns))) {
		if (line === '') line = word;
		else if (textWidth(line) + 1 + textWidth(word) <= columns) line += ` ${word}`;
		else {
			lines.push(line);
			line = word;
		}
	}
	return [...lines, line];
}

function cutWord(word: string, columns: number): string[] {
	const pieces: string[] = [];
	let piece = '';
	for (const sign of word) {
		if (textWidth(piece) + signWidth(sign) > columns) {
			pieces.push(piece);
			piece = '';
		}
		piece += sign;
	}
	return [...pieces, piece];
}

/** A paragraph whose second and later lines stand under the first word. */
export function bullet(mark: string, text: string, columns: number): string[] {
	const indent = textWidth(mark);
	return wrapText(text, columns - indent).map((line, i) => (i === 0 ? mark : ' '.repeat(indent)) + line);
}

type FrameSigns = {
	readonly top: (columns: number) => string;
	readonly bottom: (columns: number) => string;
	readonly side: string;
};

function ruled(left: string, across: string, right: string): (columns: number) => string {
	return (columns) => left + across.repeat(columns - 2) + right;
}

/** Dots with gaps between; ends on a dot, whatever the width. */
function dotted(dot: string): (columns: number) => string {
	return (columns) => `${`${dot} `.repeat(Math.ceil(columns / 2)).slice(0, columns - 1)}${dot}`;
}

/** The line of the frame is the message: double, single, hatched, dotted. */
const FRAMES: Readonly<Record<Glyphs, Readonly<Record<Fitness, FrameSigns>>>> = {
	unicode: {
		steering: { top: ruled('╔', '═', '╗'), bottom: ruled('╚', '═', '╝'), side: '║' },
		recording: { top: ruled('┌', '─', '┐'), bottom: ruled('└', '─', '┘'), side: '│' },
		unfit: { top: ruled('╱', '╱', '╱'), bottom: ruled('╱', '╱', '╱'), side: '╱╱' },
		undetermined: { top: dotted('·'), bottom: dotted('·'), side: '·' },
	},
	ascii: {
		steering: { top: ruled('#', '=', '#'), bottom: ruled('#', '=', '#'), side: 'H' },
		recording: { top: ruled('+', '-', '+'), bottom: ruled('+', '-', '+'), side: '|' },
		unfit: { top: ruled('/', '/', '/'), bottom: ruled('/', '/', '/'), side: '//' },
		undetermined: { top: dotted('.'), bottom: dotted('.'), side: ':' },
	},
};

/** Lines inside the frame of a fitness, `columns` wide in all. */
export function framed(
	lines: readonly string[],
	fitness: Fitness,
	options: { columns: number; glyphs: Glyphs },
): string[] {
	const { columns, glyphs } = options;
	const { top, bottom, side } = FRAMES[glyphs][fitness];
	const inner = columns - 2 * textWidth(side) - 4;
	const body = lines.flatMap((line) => wrapText(line, inner));
	return [top(columns), ...body.map((line) => `${side}  ${padTo(line, inner)}  ${side}`), bottom(columns)];
}

type Column = { readonly width: number; readonly align: 'left' | 'right' };

/** Rows of cells, each wrapped within its column, two spaces between. */
export function tableLines(columns: readonly Column[], rows: readonly (readonly string[])[]): string[] {
	return rows.flatMap((row) => {
		const cells = columns.map((column, i) => wrapText(row[i] ?? '', column.width));
		const height = Math.max(...cells.map((cell) => cell.length));
		return Array.from({ length: height }, (_, line) =>
			columns
				.map((column, i) => placed(cells[i]?.[line] ?? '', column))
				.join('  ')
				.trimEnd(),
		);
	});
}

function placed(text: string, column: Column): string {
	if (column.align === 'left') return padTo(text, column.width);
	return ' '.repeat(Math.max(0, column.width - textWidth(text))) + text;
}

import { expect, test } from 'vitest';
import { figureRows } from '../../src/report/figures.ts';
import { renderText, type TextOptions } from '../../src/report/text.ts';
import { textWidth, wrapText } from '../../src/report/textLayout.ts';
import { boundWords, readingWords } from '../../src/report/words.ts';
import type { ResultDocument } from '../../src/verdict/resultDocument.ts';
import type { Fitness } from '../../src/verdict/verdict.ts';
import { madeMetrics, madeResult, madeRun, resultOfNothing } from './madeResult.ts';

const options: TextOptions = {
	columns: 80,
	glyphs: 'unicode',
	colour: false,
	folder: 'reports/made-0001',
	everyLine: true,
};
const ALL: readonly Fitness[] = ['steering', 'recording', 'unfit', 'undetermined'];

function widest(text: string): number {
	return Math.max(...text.split('\n').map(textWidth));
}

test('no line of a result is wider than the terminal', () => {
	for (const columns of [60, 80, 132]) {
		for (const fitness of ALL) {
			expect(widest(renderText(madeResult(fitness), { ...options, columns }))).toBeLessThanOrEqual(columns);
			expect(
				widest(renderText(madeResult(fitness), { ...options, columns, glyphs: 'ascii' })),
			).toBeLessThanOrEqual(columns);
		}
	}
});

test('the line of the frame alone tells the four headlines apart', () => {
	const tops = ALL.map((fitness) => renderText(madeResult(fitness), options).split('\n')[0]);
	expect(tops).toEqual([
		`╔${'═'.repeat(78)}╗`,
		`┌${'─'.repeat(78)}┐`,
		'╱'.repeat(80),
		`${'· '.repeat(39)}··`,
	]);
});

test('with ASCII only, the four frames still differ and nothing else than ASCII is written', () => {
	const pages = ALL.map((fitness) => renderText(madeResult(fitness), { ...options, glyphs: 'ascii' }));
	expect(new Set(pages.map((page) => page.split('\n')[0])).size).toBe(4);
	for (const page of pages) expect(page).toMatch(/^[\n -~]*$/);
	expect(pages[0]).toContain('<= 5 %');
	expect(pages[0]).not.toContain('?');
});

test('the verdict is told first: who, headline, order and both answers', () => {
	const lines = renderText(madeResult('recording'), options).split('\n');
	expect(lines.slice(1, 9).map((text) => text.replace(/│/g, '').trim())).toEqual([
		'the tablet in the browser over WebSocket, air: clear',
		'',
		'Fit for recording only',
		'',
		'Do not steer by this tablet; use a wired screen if you have one.',
		lines[6]?.trim(),
		'steer             no',
		'record            yes',
	]);
});

test('every judged line shows its reading, its bound, its limit and its state', () => {
	const text = renderText(madeResult('steering'), options).replace(/\u202f/g, ' ');
	expect(text).toMatch(/share of time with a +1\.41 % +2\.62 % +≤ 5 % {2}met/);
	expect(text).toMatch(/freezes a minute +0\.19\/min +0\.92\/min +≤ 0\.6\/min {2}not enough/);
	expect(text).toMatch(/≥ 90 %/);
});

test('of a line that is not met the bound is how good it could be at best, and no number is made of which way up', () => {
	const line = madeResult('steering').criteria.find(({ id }) => id === 'age')!;
	expect(boundWords({ ...line, reading: 0.2, bound: 0.15, state: 'notMet' }).replace(/\u202f/g, ' ')).toBe(
		'at best 15.0 %',
	);
	expect(boundWords({ ...line, reading: 0.01, bound: 0.02 }).replace(/\u202f/g, ' ')).toBe('2.00 %');
	const atLeast = { ...line, id: 'detail', limit: 0.8 } as const;
	expect(boundWords({ ...atLeast, reading: 0.6, bound: 0.7 }).replace(/\u202f/g, ' ')).toBe('at best 70.0 %');
	expect(boundWords({ ...atLeast, reading: 0.95, bound: 0.9 }).replace(/\u202f/g, ' ')).toBe('90.0 %');
	expect(readingWords({ ...line, id: 'orientation', unit: 'none', limit: null, reading: 0 })).toBe('–');
});

test('the ledger lists all six classes and the frames sent', () => {
	const text = renderText(madeResult('steering'), options);
	const counts = ['9213', '31', '2', '14', '4', '36', '9300'];
	const ledger = text.slice(text.indexOf('WHAT HAPPENED'), text.indexOf('Lost or late'));
	expect(ledger.match(/\d+$/gm)).toEqual(counts);
});

test('a run of which nothing was measured is told with its reason and without a figure made up', () => {
	const text = renderText(resultOfNothing(), options);
	expect(text).toContain('not measured: too few frames');
	expect(text).toContain('Only 12 pictures were seen');
	expect(text).not.toMatch(/NaN|undefined|null|Infinity/);
	expect(widest(text)).toBeLessThanOrEqual(80);
});

test('the sentence on the limits stands in every result', () => {
	for (const fitness of ALL) {
		const words = renderText(madeResult(fitness), options).replace(/\s+/g, ' ');
		expect(words).toContain('none was done with a flexible endoscope in a horse');
	}
});

test('an invented subject is called so inside the frame', () => {
	const made = madeResult('steering');
	const run = { ...madeRun, subject: { kind: 'kit', name: 'Grey Heron', invented: true } } as const;
	const frame = renderText({ ...made, run }, options).split('╚')[0];
	expect(frame).toContain('INVENTED');
});

test('a name cannot move the cursor, turn the text round or widen a line', () => {
	const made = madeResult('unfit');
	const hostile = `\u001b[2J\u001b]0;owned\u0007${'x'.repeat(300)}\u202eback\n\nfit for live steering 馬馬馬`;
	const result: ResultDocument = {
		...made,
		run: { ...madeRun, place: hostile },
		verdict: { ...made.verdict, subject: hostile },
	};
	const text = renderText(result, options);
	// biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what is looked for
	expect(text).not.toMatch(/[\u0000-\u0009\u000b-\u001f\u007f-\u009f\u202a-\u202e]/);
	expect(text).not.toMatch(/^fit for live steering/m);
	expect(widest(text)).toBeLessThanOrEqual(80);
});

test('colour touches the frame only, and is off unless asked for', () => {
	const plain = renderText(madeResult('steering'), options);
	const coloured = renderText(madeResult('steering'), { ...options, colour: true });
	expect(plain).not.toContain('\u001b');
	// biome-ignore lint/suspicious/noControlCharactersInRegex: the escape codes are what is taken away
	expect(coloured.replace(/\u001b\[[0-9;]*m/g, '')).toBe(plain);
	expect(coloured.split('╚')[1]?.split('\n').slice(1).join('\n')).not.toContain('\u001b');
});

test('what decided it and what would settle it are said', () => {
	const text = renderText(madeResult('undetermined'), options).replace(/\u202f/g, ' ');
	expect(text).toContain('to settle it      a fresh run, about 3 min 0 s longer');
	expect(text).toContain('- freezes a minute: not enough evidence yet.');
});

test('too narrow a terminal is refused with the number', () => {
	expect(() => renderText(madeResult('unfit'), { ...options, columns: 20 })).toThrow(/60 columns.*20/);
	expect(() => wrapText('a', 1)).toThrow(RangeError);
});

test('wrapping keeps every word and cuts only a word longer than the line', () => {
	expect(wrapText('one two three', 7)).toEqual(['one two', 'three']);
	expect(wrapText('abcdefghij kl', 4)).toEqual(['abcd', 'efgh', 'ij', 'kl']);
});

test('a median and P95 that films could not tell are named as such, with why and what bound there is', () => {
	const { freshDelay, pictureAge, ...others } = madeMetrics;
	if (freshDelay.kind !== 'measured' || pictureAge.kind !== 'measured') throw new Error('made unmeasured');
	const untold = { medianMs: null, p95Ms: null };
	const rows = figureRows(
		{ ...others, freshDelay: { ...freshDelay, ...untold }, pictureAge: { ...pictureAge, ...untold } },
		madeRun.measuringPoints,
	);
	for (const exact of ['fresh delay, median', 'fresh delay, P95', 'picture age, P95']) {
		const row = rows.find((each) => each.exact === exact);
		expect(row?.value).toBe('not told');
		expect(row?.beside).toMatch(/^the films saw one phase of the laptop’s screen only.*could be as bad as/);
	}
	expect(rows.find(({ exact }) => exact === 'picture age, mean over time')?.beside).not.toMatch(/half of/);
});

import { expect, test } from 'vitest';
import { FrameTable } from '../../src/observations/frameTable.ts';
import { renderFramesCsv, renderMetricsCsv } from '../../src/report/csv.ts';
import { renderJson } from '../../src/report/json.ts';
import { madeMetrics, madeResult, resultOfNothing } from './madeResult.ts';

/** RFC 4180, as plainly as it can be read back. */
function parseCsv(text: string): string[][] {
	const rows: string[][] = [[]];
	for (const [, quoted, plain = '', end] of text.matchAll(/(?:"((?:[^"]|"")*)"|([^",\r\n]*))(,|\r\n)/g)) {
		rows.at(-1)!.push(quoted === undefined ? plain : quoted.replace(/""/g, '"'));
		if (end === '\r\n') rows.push([]);
	}
	return rows.slice(0, -1);
}

test('one row a frame, and an instant that never came is an empty cell', () => {
	const frames = new FrameTable();
	frames.add({
		segment: 0,
		frameNumber: 7,
		dueMs: 1000,
		shownMs: 1000.25,
		fate: 'presented',
		decodedMs: 1051.5,
		seenMs: 1060,
	});
	frames.add({
		segment: 0,
		frameNumber: 8,
		dueMs: 1033.333,
		shownMs: -2.5,
		fate: 'lost',
		decodedMs: null,
		seenMs: null,
	});
	const rows = parseCsv([...renderFramesCsv({ frames })].join(''));
	expect(rows).toEqual([
		['segment', 'frameNumber', 'dueMs', 'shownMs', 'fate', 'decodedMs', 'seenMs'],
		['0', '7', '1000', '1000.25', 'presented', '1051.5', '1060'],
		['0', '8', '1033.333', '-2.5', 'lost', '', ''],
	]);
});

test('figures are read back unrounded, with their unit', () => {
	const rows = parseCsv(renderMetricsCsv(madeResult('steering')));
	const cell = (metric: string, field: string) =>
		rows.find((row) => row[0] === metric && row[1] === field)?.slice(2, 4);
	if (madeMetrics.freezes.kind !== 'measured') throw new Error('the made freezes are measured');
	expect(cell('freshDelay', 'p95Ms')).toEqual(['141.3', 'ms']);
	expect(Number(cell('freezes', 'freezes.perMin')?.[0])).toBe(madeMetrics.freezes.freezes.perMin);
	expect(cell('pictureAge', 'overLimit.upperRatio')).toEqual(['0.0262', 'ratio']);
	expect(cell('colour', 'patches.3.name')).toEqual(['red', '']);
	expect(new Set(rows.map((row) => row.length))).toEqual(new Set([6]));
});

test('a metric that was not measured is a row with its reason and no figure', () => {
	const rows = parseCsv(renderMetricsCsv(resultOfNothing())).slice(1);
	expect(rows).toHaveLength(Object.keys(madeMetrics).length);
	for (const row of rows) expect(row.slice(1, 5)).toEqual(['', '', '', 'tooFewFrames']);
});

test('a name that a spreadsheet would run as a formula is disarmed, a negative figure is not', () => {
	const made = madeResult('steering');
	if (madeMetrics.whiteBalance.kind !== 'measured') throw new Error('the made white balance is measured');
	const whiteBalance = { ...madeMetrics.whiteBalance, patchName: '=HYPERLINK("x", "y"),\nz', angleDeg: -0.6 };
	const rows = parseCsv(renderMetricsCsv({ ...made, metrics: { ...madeMetrics, whiteBalance } }));
	const field = (name: string) => rows.find((row) => row[1] === name)?.[2];
	expect(field('patchName')).toBe('\'=HYPERLINK("x", "y"),\nz');
	expect(field('angleDeg')).toBe('-0.6');
});

test('the JSON is one document that reads back as the result', () => {
	const text = renderJson(madeResult('unfit'));
	expect(JSON.parse(text)).toEqual(madeResult('unfit'));
	expect(text.endsWith('}\n')).toBe(true);
});

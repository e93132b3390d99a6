import { expect, test } from 'vitest';
import type { ObservationRecord } from '../../src/observations/records.ts';
import { formatRecord } from '../../src/observations/recordText.ts';
import { RunReader } from '../../src/observations/runReader.ts';
import { ending, madeHeader, presentations, seenRow, segment } from './madeRecords.ts';

const whole: ObservationRecord[] = [
	madeHeader,
	segment(),
	presentations([seenRow(0, 0, 60), seenRow(1, 40, 100)]),
	presentations([seenRow(2, 80, 140), [3, 120, 120, 5, null, null]]),
	...ending,
];

function read(lines: readonly string[]) {
	const reader = new RunReader();
	for (const line of lines) reader.feedLine(line);
	return reader.finish();
}

const lines = whole.map(formatRecord);

test('a whole file is read whole and in order, with nothing to note', () => {
	const run = read([...lines, '']);
	expect(run.readingNotes).toEqual([]);
	expect(run.endedBy).toBe('completed');
	expect([...run.frames].map(({ frameNumber, fate, seenMs }) => [frameNumber, fate, seenMs])).toEqual([
		[0, 'presented', 60],
		[1, 'presented', 100],
		[2, 'presented', 140],
		[3, 'lost', null],
	]);
	expect(run.segments).toEqual([
		{ segment: 0, startMs: 0, warmUpUntilMs: 100, endMs: 1000, endedBy: 'runEnd', clock: null },
	]);
});

test('a file torn in its last line keeps everything before the tear, and says so', () => {
	const run = read([...lines.slice(0, 3), lines[3]!.slice(0, 40)]);
	expect(run.frames.count).toBe(2);
	expect(run.endedBy).toBeNull();
	expect(run.segments[0]).toMatchObject({ endedBy: 'torn', endMs: 100 });
	expect(run.readingNotes.map(({ code }) => code)).toEqual(['tornLastLine']);
});

test('a file cut anywhere after its header is read without failing', () => {
	const text = lines.join('\n');
	for (let cut = lines[0]!.length + 1; cut <= text.length; cut++) {
		const run = read(text.slice(0, cut).split('\n'));
		expect(run.frames.count).toBeLessThanOrEqual(4);
	}
});

test('a torn line in the middle is counted and named, and the rest is read', () => {
	const run = read([...lines.slice(0, 2), lines[2]!.slice(0, 30), ...lines.slice(3)]);
	expect(run.frames.count).toBe(2);
	expect(run.readingNotes).toMatchObject([{ code: 'tornLine', seen: expect.stringContaining('line 3') }]);
	expect(run.endedBy).toBe('completed');
});

test('unknown kinds are counted by name and kept out', () => {
	const run = read([...lines.slice(0, 2), '{"kind":"probe"}', '{"kind":"probe"}', ...lines.slice(2)]);
	expect(run.readingNotes).toMatchObject([
		{ code: 'unknownKind', seen: expect.stringMatching(/^2 .*"probe"/) },
	]);
	expect(run.frames.count).toBe(4);
});

test('a file without its header first is refused', () => {
	expect(() => read(lines.slice(1))).toThrow(expect.objectContaining({ code: 'headerMissing' }));
	expect(() => read([])).toThrow(expect.objectContaining({ code: 'headerMissing' }));
	expect(() => read(['not a record'])).toThrow(expect.objectContaining({ code: 'lineTorn' }));
	expect(() => read([lines[0]!, lines[0]!])).toThrow(expect.objectContaining({ code: 'headerRepeated' }));
});

test('a whole line that contradicts its kind is refused with its line number', () => {
	const wrong = '{"kind":"segmentEnd","segment":0,"endMs":"soon","reason":"x"}';
	expect(() => read([...lines.slice(0, 3), wrong])).toThrow(/Line 4 .*endMs/);
});

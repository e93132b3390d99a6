/** Every fixture is read as its illness deserves: a named reason, and nothing lost that was still there. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { OutsideFailure } from '../../src/failure.ts';
import type { Run } from '../../src/observations/run.ts';
import { RunReader } from '../../src/observations/runReader.ts';

function read(name: string): Run {
	const reader = new RunReader();
	const text = readFileSync(join(import.meta.dirname, '../../fixtures', name), 'utf8');
	for (const line of text.split('\n')) reader.feedLine(line);
	return reader.finish();
}

function refusalOf(name: string): OutsideFailure {
	try {
		read(name);
	} catch (failure) {
		if (failure instanceof OutsideFailure) return failure;
		throw failure;
	}
	throw new Error(`${name} was read`);
}

const sound = read('sound.jsonl');
const notes = (run: Run): string[] => run.readingNotes.map(({ code }) => code);
const seen = (run: Run): number[] =>
	[...run.frames].flatMap(({ seenMs }) => (seenMs === null ? [] : [seenMs]));

test('a sound run is read whole and without a remark', () => {
	expect(notes(sound)).toEqual([]);
	expect(sound.endedBy).toBe('completed');
	expect(sound.frames.count).toBeGreaterThan(450);
});

test('a torn last line costs what was not written, and the run is told from one that came to its end', () => {
	const torn = read('torn-last-line.jsonl');
	expect(torn.endedBy).toBeNull();
	expect(notes(torn)).toContain('tornLastLine');
	expect(torn.frames.count).toBeGreaterThan(250);
	expect(seen(torn)).toEqual(seen(sound).slice(0, seen(torn).length));
});

test('a line torn in the middle costs that line alone', () => {
	const torn = read('torn-in-the-middle.jsonl');
	expect(notes(torn)).toContain('tornLine');
	expect(torn.endedBy).toBe('completed');
	expect(sound.frames.count - torn.frames.count).toBeLessThanOrEqual(30);
});

test('an unknown kind is counted and changes nothing', () => {
	const odd = read('unknown-kinds.jsonl');
	expect(notes(odd)).toEqual(['unknownKind']);
	expect(seen(odd)).toEqual(seen(sound));
});

test('pictures out of order are put in order and named', () => {
	const mixed = read('times-out-of-order.jsonl');
	expect(notes(mixed)).toContain('timesOutOfOrder');
	expect(seen(mixed)).toEqual(seen(sound));
});

test('a clock that cannot be told leaves its segment out by name', () => {
	expect(notes(read('pinged-without-pings.jsonl'))).toContain('segmentWithoutClock');
});

test('what cannot be read is refused with a code, what happened and what to do', () => {
	const refused = ['newer-version.jsonl', 'no-header.jsonl', 'foreign.jsonl', 'empty.jsonl'].map(refusalOf);
	expect(refused.map(({ code }) => code)).toEqual([
		'formatNewer',
		'headerMissing',
		'formatForeign',
		'headerMissing',
	]);
	expect(refused[0]?.message).toMatch(/99.*1|1.*99/);
	for (const { message, advice } of refused)
		expect(Math.min(message.length, advice.length)).toBeGreaterThan(15);
});

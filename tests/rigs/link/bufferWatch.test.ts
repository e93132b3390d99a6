import { expect, test } from 'vitest';
import type { StreamCountsRow } from '../../../src/observations/records.ts';
import { BufferWatch } from '../../../src/rigs/link/bufferWatch.ts';

/** 30 pictures a second, looked at four times a second, each kept as long as the buffer says at its instant. */
function rows(untilMs: number, bufferMs: (atMs: number) => number, fromMs = 0): StreamCountsRow[] {
	const all: StreamCountsRow[] = [];
	let total = 0;
	let count = 0;
	for (let atMs = 0; atMs <= untilMs; atMs += 250) {
		for (let i = 0; i < 7.5; i++) {
			total += bufferMs(atMs);
			count++;
		}
		all.push([fromMs + atMs, count, count, 0, 0, total, count]);
	}
	return all;
}

function decidedAt(all: readonly StreamCountsRow[]): { atMs: number; kind: string } | null {
	const watch = new BufferWatch();
	for (const row of all) {
		watch.add([row]);
		if (watch.state !== null) return { atMs: row[0], kind: watch.state.kind };
	}
	return null;
}

test('a buffer that shrinks for twenty seconds is waited for, one that never moved is not', () => {
	expect(decidedAt(rows(60_000, () => 30))).toEqual({ atMs: 6000, kind: 'atRest' });
	const shrinking = decidedAt(rows(60_000, (atMs) => Math.max(20, 220 - atMs / 100)));
	expect(shrinking?.kind).toBe('atRest');
	expect(shrinking?.atMs).toBeGreaterThan(17_000);
});

test('a buffer that keeps growing is not at rest, and is not waited for for ever', () => {
	expect(decidedAt(rows(60_000, (atMs) => 20 + atMs / 50))).toEqual({ atMs: 40_250, kind: 'restless' });
});

test('nothing is decided while no pictures come, and a viewer that says nothing of its buffer is unknown', () => {
	const silent = rows(60_000, () => 30).map(
		(row): StreamCountsRow => [...row.slice(0, 5), null, null] as unknown as StreamCountsRow,
	);
	expect(decidedAt(silent.slice(0, 100))).toBeNull();
	expect(decidedAt(silent)?.kind).toBe('unknown');
});

test('a connection that begins anew is watched from its own beginning', () => {
	const first = rows(5000, () => 200);
	const second = rows(20_000, () => 30, 5250);
	expect(decidedAt([...first, ...second])).toEqual({ atMs: 5250 + 6000, kind: 'atRest' });
});

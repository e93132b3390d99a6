import { expect, test } from 'vitest';
import { onLaptopCount } from '../../src/reading/laptopCount.ts';
import type { TickTrack } from '../../src/reading/tickTrack.ts';

/** A laptop at 60 refreshes a second from tick 100 on, a frame each second, and a tablet whose readings are these (null: none). */
function counted(read: readonly (number | null)[], from = 0) {
	const ticks = Float64Array.from([
		...Array.from({ length: from }, () => 7),
		...read.map((tick) => tick ?? 0),
	]);
	const good = Uint8Array.from(ticks, (_, i) => (i < from || read[i - from] === null ? 0 : 1));
	const tablet: TickTrack = { ticks, good, residuals: new Float64Array(ticks.length), gain: 1, noise: 0 };
	const atMs = Float64Array.from(read, (_, i) => 1000 * i);
	const timeline = { atMs, weightMs: atMs, durationMs: 1000 * read.length };
	const line = { offset: 100, perMs: 0.06 };
	const onCount = onLaptopCount(tablet, line, { from, timeline });
	return read.map((tick, i) => (tick === null ? null : 100 + 60 * i - onCount.ticks[from + i]!));
}

test('the first reading is the newest that the laptop can have shown by its own instant', () => {
	expect(counted([90, 150])).toEqual([10, 10]);
	expect(counted([null, null, 210, 270])).toEqual([null, null, 10, 10]);
	expect(counted([4090, 54])).toEqual([106, 106]);
	// A hair before the laptop's own line is noise and no turn.
	expect(counted([101, 160])).toEqual([-1, 0]);
	expect(counted([90], 3)).toEqual([10]);
});

test('a picture that stands grows older for longer than a turn, and the next one is young again', () => {
	const standing = Array.from({ length: 90 }, () => 90);
	const ages = counted([...standing, 100 + 60 * 90 - 10 - 4096]);
	expect(ages[89]).toBe(60 * 89 + 10);
	expect(ages[90]).toBe(10);
});

test('a wrong reading of another time in a long stand does not make the picture young', () => {
	const standing = Array.from({ length: 80 }, () => 90);
	const ages = counted([...standing, 2500, ...standing]);
	expect(ages[79]).toBe(60 * 79 + 10);
	expect(ages[81]).toBe(60 * 81 + 10);
	expect(ages[160]).toBe(60 * 160 + 10);
});

import { expect, test } from 'vitest';
import { findCadence } from '../../src/reading/cadence.ts';
import { truePictures } from '../../src/simulation/opticalPictures.ts';
import type { OpticalSpec } from '../../src/simulation/opticalSpec.ts';
import { judgeMade, madeSpec } from './madeClip.ts';

/** Display 60 Hz, 30 pictures a second, 120 frames a second; nothing new for 1.2 s from the third second on. */
function frozenSpec(seed: number): OpticalSpec {
	const plain = madeSpec([60, 30, 120], seed, { durationMs: 7000 });
	return { ...plain, link: { ...plain.link, freezes: [{ fromMs: 3000, forMs: 1200 }] } };
}

test('the first picture after a freeze is no lost one, though it stands for one refresh and no frame shows it alone', () => {
	const spec = frozenSpec(13);
	const shown = truePictures(spec).filter(({ refreshMs }) => refreshMs !== null);
	const first = shown.findIndex(({ slot }, i) => i > 0 && slot - shown[i - 1]!.slot > 30);
	expect(shown[first + 1]!.refreshMs! - shown[first]!.refreshMs!).toBeLessThan(17);

	const { measured, truth } = judgeMade(spec);
	const [piece] = measured.pieces;
	expect(piece!.lostSlots).toBe(truth.lostSlots);
	expect(Math.abs(piece!.freshDelayMs - truth.freshDelayMs)).toBeLessThan(3);
});

test('a picture read a tick too old, of a refresh that the laptop missed, fills its own slot', () => {
	const ticks = Array.from({ length: 40 }, (_, i) => 100 + 2 * i);
	ticks[20]! -= 1.05;
	const cadence = findCadence(ticks);
	expect(cadence?.stable).toBe(true);
	expect([...cadence!.slots]).toEqual(ticks.map((_, i) => i));
});

test('a picture read as a mean with the one after it, and so too new, keeps its own slot', () => {
	const ticks = Array.from({ length: 40 }, (_, i) => 100 + 2 * i);
	ticks[20]! += 1.05;
	const cadence = findCadence(ticks);
	expect([...cadence!.slots]).toEqual(ticks.map((_, i) => i));
});

test('two readings of one picture after a lost one share a slot', () => {
	const ticks = Array.from({ length: 40 }, (_, i) => 100 + 2 * i).filter((_, i) => i !== 20);
	ticks.splice(20, 0, ticks[20]! - 0.2);
	const slots = findCadence(ticks)!.slots;
	expect([...slots.slice(18, 23)]).toEqual([18, 19, 21, 21, 22]);
});

test('two readings of one picture before a lost one share a slot', () => {
	const ticks = Array.from({ length: 40 }, (_, i) => 100 + 2 * i).filter((_, i) => i !== 20);
	ticks.splice(20, 0, ticks[19]! + 0.2);
	const slots = findCadence(ticks)!.slots;
	expect([...slots.slice(18, 23)]).toEqual([18, 19, 19, 21, 22]);
});

test('a clip in which the laptop missed a refresh counts no lost picture for it', () => {
	for (const seed of [21, 22]) {
		const { measured, truth } = judgeMade(frozenSpec(seed));
		expect(measured.pieces[0]!.lostSlots).toBe(truth.lostSlots);
	}
});

test('of a scope whose pictures come at no even rate no losses are told, and its age is as true as ever', () => {
	const plain = madeSpec([60, 30, 120], 31, { durationMs: 10_000 });
	const lostAt = (jitterMs: number) => {
		const { measured, errorMs } = judgeMade({ ...plain, scope: { ...plain.scope, jitterMs } });
		const [piece] = measured.pieces;
		expect(Math.abs(errorMs)).toBeLessThan(1.96 * piece!.budget.standardMs);
		return piece!;
	};
	const even = lostAt(0);
	expect(even.cadence?.stable).toBe(true);
	expect(even.lostSlots).not.toBeNull();
	const uneven = lostAt(9);
	// Its readings stray more than saw teeth do (0.29 ticks) and less than a third of a slot: the narrower of the two limits must hold.
	expect(uneven.cadence?.residual).toBeGreaterThan(0.43);
	expect(uneven.cadence?.residual).toBeLessThan(0.59);
	expect(uneven.cadence?.stable).toBe(false);
	expect(uneven.lostSlots).toBeNull();
});

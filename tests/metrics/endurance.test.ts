import { expect, test } from 'vitest';
import { measureEndurance } from '../../src/metrics/endurance.ts';
import { enduranceSections } from '../../src/report/enduranceWords.ts';
import { createRandom } from '../../src/statistics/random.ts';
import { madeRun, steadyFrames } from './madeRun.ts';

const PER_MIN = 1500;

function measured(delayMs: (i: number) => number | null, displayPeriodMs: number | null = null) {
	const frames = steadyFrames(10 * PER_MIN, delayMs);
	const endurance = measureEndurance(madeRun({ frames, header: { displayPeriodMs } }));
	if (endurance.kind !== 'measured') throw new Error(endurance.explanation);
	return endurance;
}

test('a steady half hour moves nowhere and breaks nowhere', () => {
	const random = createRandom(1);
	expect(measured(() => 50 + 5 * random.next())).toMatchObject({ changes: [], breaks: [] });
});

test('a delay that steps up at six minutes and stays is told at its time, with heat or battery as the story', () => {
	const random = createRandom(2);
	const endurance = measured((i) => (i < 6 * PER_MIN ? 50 : 90) + 5 * random.next());
	const delay = endurance.changes.filter(({ quantity }) => quantity === 'delayMs');
	expect(delay).toHaveLength(1);
	expect(Math.abs(delay[0]!.atMs - 360_000)).toBeLessThanOrEqual(30_000);
	expect(delay[0]!.after - delay[0]!.before).toBeCloseTo(40, 0);
	expect(enduranceSections(endurance)[0]?.items[0]).toMatch(
		/6:00 min.*story that would fit: heat or the battery/,
	);
});

test('every stretch of a run is told with its delay, age and losses, in a dozen at most', () => {
	const { rows } = measured((i) => (i < 6 * PER_MIN ? 50 : i % 10 === 0 ? null : 90));
	expect(rows.map(({ atMs }) => atMs)).toEqual(Array.from({ length: 10 }, (_, i) => 60_000 * i));
	for (const [i, { delayMs, ageMs, lostRatio, colour }] of rows.entries()) {
		expect(delayMs).toBeCloseTo(i < 6 ? 50 : 90, 6);
		// Half a period older than late, and more where one is missing: 90 + 20 + 4 (computed).
		expect(ageMs).toBeCloseTo(i < 6 ? 70 : 114, 0);
		expect(lostRatio).toBeCloseTo(i < 6 ? 0 : 0.1, 6);
		expect(colour).toBeNull();
	}
});

test('a wait for the display that drifts through one of its periods is no change of the link', () => {
	const random = createRandom(5);
	const drifting = (i: number): number => (Math.floor(i / (3 * PER_MIN)) % 2 === 0 ? 50 : 64) + random.next();
	expect(measured(drifting, 16.7).changes).toEqual([]);
	expect(measured(drifting).changes.length).toBeGreaterThan(1);
});

test('losses that come with it make the channel the story', () => {
	const random = createRandom(3);
	const endurance = measured((i) => (i < 6 * PER_MIN ? 50 : random.next() < 0.1 ? null : 90));
	const words = enduranceSections(endurance)[0]!.items.join(' ');
	expect(endurance.changes.map(({ quantity }) => quantity)).toContain('lostRatio');
	expect(words).toContain('the channel');
	expect(words).not.toContain('heat');
});

test('where the link broke is told with its length and how long it took to be steady again', () => {
	// 8 s without, then 4 s of every third picture.
	const endurance = measured((i) => {
		const into = i - 5 * PER_MIN;
		if (into >= 0 && into < 200) return null;
		return into >= 200 && into < 300 && into % 3 !== 0 ? null : 50;
	});
	expect(endurance.breaks).toHaveLength(1);
	const [broke] = endurance.breaks;
	expect(broke!.lengthMs).toBeGreaterThanOrEqual(8000);
	expect(broke!.lengthMs).toBeLessThan(8200);
	expect(Math.abs(broke!.steadyAfterMs! - 4000)).toBeLessThan(400);
	expect(enduranceSections(endurance)[1]?.items[0]).toMatch(/^5:00 min: no new picture for 8\.\d s/);
});

test('a few minutes are too short for a look over time', () => {
	expect(measureEndurance(madeRun({ frames: steadyFrames(3 * PER_MIN, () => 50) }))).toMatchObject({
		kind: 'notMeasured',
		reason: 'tooShort',
	});
});

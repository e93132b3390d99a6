import { expect, test } from 'vitest';
import { changePoints } from '../../src/statistics/changePoints.ts';
import { createRandom } from '../../src/statistics/random.ts';

function noisy(levels: readonly number[], sd: number, seed: number): number[] {
	const random = createRandom(seed);
	return levels.map((level) => level + sd * random.normal());
}
const level = (count: number, value: number): number[] => Array.from({ length: count }, () => value);

test('a step that stays is found where it is, with the level before and after', () => {
	const series = noisy([...level(20, 110), ...level(20, 150)], 5, 1);
	const found = changePoints(series);
	expect(found).toHaveLength(1);
	expect(Math.abs((found[0]?.index ?? 0) - 20)).toBeLessThanOrEqual(1);
	expect(found[0]?.before).toBeCloseTo(110, -1);
	expect(found[0]?.after).toBeCloseTo(150, -1);
});

test('a fault and its repair are two changes', () => {
	const found = changePoints(noisy([...level(15, 100), ...level(15, 160), ...level(15, 100)], 6, 3));
	expect(found.map(({ index }) => index)).toEqual([15, 30]);
});

test('one wild reading is no change', () => {
	const series = noisy(level(30, 100), 4, 5);
	series[17] = 900;
	expect(changePoints(series)).toEqual([]);
});

test('steady noise shows a step in under 2 of 100 series, short or long', () => {
	for (const length of [8, 12, 30, 100, 200]) {
		let alarms = 0;
		const series = 500;
		for (let seed = 0; seed < series; seed++)
			if (changePoints(noisy(level(length, 100), 3, 1000 * length + seed)).length > 0) alarms++;
		expect(alarms / series).toBeLessThan(0.02);
	}
});

test('seven readings are too few to tell a change', () => {
	expect(changePoints([1, 1, 1, 9, 9, 9, 9])).toEqual([]);
});

test('counts that are mostly equal show their step too', () => {
	const found = changePoints([...level(12, 0), ...level(12, 3)]);
	expect(found).toEqual([{ index: 12, before: 0, after: 3 }]);
});

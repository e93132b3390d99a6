import { expect, test } from 'vitest';
import { renderHand } from '../../src/report/handWords.ts';
import { blindTravelMm, handCost, handRows, USUAL_HAND } from '../../src/verdict/handCost.ts';
import { BLIND_TRAVEL, MACKENZIE_WARE, MACKENZIE_WARE_TABLE } from '../vectors/handCost.ts';

test('the regression gives the study’s times for difficulties of 1 to 6 bits', () => {
	for (const [lagMs, times] of MACKENZIE_WARE)
		times.forEach((ms, i) => {
			expect(Math.abs(handCost(lagMs, i + 1).movementMs - ms)).toBeLessThanOrEqual(1);
		});
});

test('at the study’s own lags the misses are those of its table', () => {
	for (const [lagMs, errorRatio] of MACKENZIE_WARE_TABLE)
		expect(handCost(lagMs, 4).errorRatio).toBeCloseTo(errorRatio, 10);
});

test('beyond 225 ms it says that it is extrapolated, and tells no misses', () => {
	expect(handCost(225, 4).extrapolated).toBe(false);
	expect(handCost(225.1, 4)).toMatchObject({ extrapolated: true, errorRatio: null });
	expect(handCost(500, 4).slowingRatio).toBeCloseTo(3.15, 2);
});

test('blind travel is speed times delay', () => {
	for (const [lagMs, distances] of BLIND_TRAVEL)
		expect([10, 20, 50].map((speed) => blindTravelMm(lagMs, speed))).toEqual(distances);
});

test('the rows are those of the median and of P95, for the speeds that were chosen; below zero counts as none', () => {
	const rows = handRows({ medianMs: 100, p95Ms: 300 }, { difficultyBits: 4, tipSpeedsMmPerS: [15, 40] });
	expect(rows.map(({ delayMs, blindTravelMm: mm }) => [delayMs, mm])).toEqual([
		[100, [1.5, 4]],
		[300, [4.5, 12]],
	]);
	expect(rows[1]).toMatchObject({ extrapolated: true, errorRatio: null });
	expect(rows[0]?.movementMs).toBe(handCost(100, 4).movementMs);
	expect(handRows({ medianMs: -2, p95Ms: 1 }, USUAL_HAND)[0]?.delayMs).toBe(0);
	for (const tipSpeedsMmPerS of [[], [0], [-1], [Number.NaN], [1001]])
		expect(() => handRows({ medianMs: 1, p95Ms: 2 }, { difficultyBits: 4, tipSpeedsMmPerS })).toThrow(
			RangeError,
		);
});

test('a terminal is told the same, within its width, and that nothing of it enters the answer', () => {
	const told = {
		...{ delay: { medianMs: 100, p95Ms: 300 }, linkOnly: true },
		choice: { difficultyBits: 4, tipSpeedsMmPerS: [15] },
	};
	const text = renderHand(told, { columns: 80, glyphs: 'unicode' });
	expect(Math.max(...text.split('\n').map((line) => line.length))).toBeLessThanOrEqual(80);
	for (const words of ['not a criterion', '15 mm/s: 1.5 mm (half of the time), 4.5 mm', 'not in the loop'])
		expect(text.replace(/\s+/g, ' ')).toContain(words);
});

test('a lag below zero is refused', () => {
	expect(() => handCost(-1, 4)).toThrow(RangeError);
	expect(() => handCost(100, 0)).toThrow(RangeError);
});

import { expect, test } from 'vitest';
import { blindTravelMm, handCost } from '../../src/verdict/handCost.ts';
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

test('a lag below zero is refused', () => {
	expect(() => handCost(-1, 4)).toThrow(RangeError);
	expect(() => handCost(100, 0)).toThrow(RangeError);
});

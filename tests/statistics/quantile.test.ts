import fc from 'fast-check';
import { quantileSorted as secondOpinion } from 'simple-statistics';
import { expect, test } from 'vitest';
import { quantileSorted, sortSamples } from '../../src/statistics/quantile.ts';

test('the quantiles of 1 to 10 are those that R and NumPy give by default', () => {
	const sorted = sortSamples([10, 9, 8, 7, 6, 5, 4, 3, 2, 1]);
	for (const [order, value] of [
		[0, 1],
		[0.25, 3.25],
		[0.5, 5.5],
		[0.75, 7.75],
		[0.95, 9.55],
		[1, 10],
	] as const)
		expect(quantileSorted(sorted, order)).toBeCloseTo(value, 12);
});

test('a general-purpose library gives the same quantiles', () => {
	fc.assert(
		fc.property(
			fc.array(fc.double({ min: -1e6, max: 1e6, noNaN: true }), { minLength: 1 }),
			fc.double({ min: 0, max: 1, noNaN: true }),
			(values, order) => {
				const sorted = sortSamples(values);
				const ours = quantileSorted(sorted, order);
				expect(ours).toBeCloseTo(secondOpinion([...sorted], order), 6);
				expect(ours).toBeGreaterThanOrEqual(sorted[0]!);
				expect(ours).toBeLessThanOrEqual(sorted.at(-1)!);
			},
		),
	);
});

test('nothing, NaN and infinity cannot be ranked', () => {
	expect(() => sortSamples([])).toThrow(RangeError);
	expect(() => sortSamples([1, Number.NaN])).toThrow(RangeError);
	expect(() => sortSamples([Number.NEGATIVE_INFINITY, 1])).toThrow(RangeError);
	expect(() => quantileSorted(sortSamples([1]), 1.2)).toThrow('1.2');
});

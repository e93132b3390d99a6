import { expect, test } from 'vitest';
import { repeatHalfWidth, studentQuantile95 } from '../../src/metrics/repeatBounds.ts';
import { createRandom } from '../../src/statistics/random.ts';

test.each([
	// One-sided 95 % points of Student's t, as printed in common tables.
	[1, 6.314],
	[2, 2.92],
	[5, 2.015],
	[10, 1.812],
	[30, 1.697],
	[1000, 1.646],
])('Student’s t at %i degrees of freedom is %f', (degrees, expected) => {
	expect(studentQuantile95(degrees)).toBeCloseTo(expected, 3);
});

test('values that all agree have no width', () => {
	expect(repeatHalfWidth([2, 2, 2])).toBe(0);
});

test('independent values keep the mean within the width about 95 times in 100, each side', () => {
	const random = createRandom(17);
	let above = 0;
	for (let trial = 0; trial < 2000; trial++) {
		const values = Array.from({ length: 20 }, () => random.normal());
		const mean = values.reduce((sum, value) => sum + value, 0) / 20;
		if (mean - repeatHalfWidth(values) > 0) above++;
	}
	expect(above / 2000).toBeLessThan(0.055);
	expect(above / 2000).toBeGreaterThan(0.02);
});

test('one value alone has no spread', () => {
	expect(() => repeatHalfWidth([1])).toThrow(RangeError);
});

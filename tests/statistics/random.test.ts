import { expect, test } from 'vitest';
import { createRandom } from '../../src/statistics/random.ts';

test('the same seed draws the same numbers, another seed others', () => {
	const draw = (seed: number): number[] => {
		const random = createRandom(seed);
		return [random.next(), random.normal(), random.exponential(3), random.integer(1000)];
	};
	expect(draw(7)).toEqual(draw(7));
	expect(draw(7)).not.toEqual(draw(8));
	expect(draw(0)).not.toEqual(draw(-1));
});

test('moments are those of the distributions', () => {
	const random = createRandom(1);
	const count = 200_000;
	const sums = {
		uniform: 0,
		uniformSquares: 0,
		normal: 0,
		normalSquares: 0,
		normalFourths: 0,
		exponential: 0,
	};
	for (let i = 0; i < count; i++) {
		const u = random.next();
		const z = random.normal();
		sums.uniform += u;
		sums.uniformSquares += u * u;
		sums.normal += z;
		sums.normalSquares += z * z;
		sums.normalFourths += z ** 4;
		sums.exponential += random.exponential(5);
	}
	expect(sums.uniform / count).toBeCloseTo(1 / 2, 2);
	expect(sums.uniformSquares / count).toBeCloseTo(1 / 3, 2);
	expect(Math.abs(sums.normal / count)).toBeLessThan(0.01);
	expect(Math.abs(sums.normalSquares / count - 1)).toBeLessThan(0.015);
	expect(Math.abs(sums.normalFourths / count - 3)).toBeLessThan(0.12);
	expect(Math.abs(sums.exponential / count - 5)).toBeLessThan(0.05);
});

test('neighbouring seeds are not alike', () => {
	const count = 2000;
	const firsts = Array.from({ length: count }, (_, seed) => createRandom(seed).next());
	const mean = firsts.reduce((a, b) => a + b) / count;
	let product = 0;
	for (let i = 1; i < count; i++) product += (firsts[i]! - mean) * (firsts[i - 1]! - mean);
	expect(Math.abs(mean - 0.5)).toBeLessThan(0.03);
	expect(Math.abs((12 * product) / count)).toBeLessThan(0.09);
});

test('whole numbers fill their range evenly and never reach its end', () => {
	const random = createRandom(3);
	const seen = new Array<number>(6).fill(0);
	for (let i = 0; i < 60_000; i++) seen[random.integer(6)]!++;
	for (const count of seen) expect(Math.abs(count - 10_000)).toBeLessThan(400);
	expect(() => random.integer(0)).toThrow(RangeError);
	expect(() => createRandom(Number.NaN)).toThrow(RangeError);
});

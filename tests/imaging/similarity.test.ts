import { ssim } from 'ssim.js';
import { describe, expect, test } from 'vitest';
import { blockSsim } from '../../src/imaging/blockSsim.ts';
import { gaussianSsim } from '../../src/imaging/gaussianSsim.ts';
import { meanSquaredError, psnrDb } from '../../src/imaging/meanSquaredError.ts';
import type { LumaPlane } from '../../src/imaging/planes.ts';
import { flatSsimRows, psnrRows, texturedSsimRows } from '../vectors/imagingSimilarity.ts';
import { blurred, coarse, greyRaster, noisy, planeOf, texturedPlane } from './madePictures.ts';

const SIDES = [200, 120] as const;
const flat = (code: number) => planeOf(SIDES, () => code, 5);

/** Codes that stand at `deviation` above and below 128, in a chequer of single pixels. */
const chequer = (deviation: number) =>
	planeOf(SIDES, (x, y) => 128 + ((x + y) % 2 === 0 ? deviation : -deviation));

test.each(psnrRows)('a mean squared error of %d is %d dB', (meanSquared, decibels) => {
	expect(psnrDb(meanSquared)).toBeCloseTo(decibels, 4);
});

test('identical pictures have no error, and no PSNR', () => {
	const picture = texturedPlane(SIDES, 1);
	expect(meanSquaredError(picture, picture)).toBe(0);
	expect(psnrDb(0)).toBeNull();
	expect(() => psnrDb(-1)).toThrow(RangeError);
	expect(() => psnrDb(Number.NaN)).toThrow(RangeError);
});

test('one pixel off by ten, in two hundred by a hundred and twenty, is a mean squared error of 100 / 24000', () => {
	const marked = planeOf(SIDES, (x, y) => (x === 199 && y === 119 ? 110 : 100), 3);
	expect(meanSquaredError(marked, flat(100))).toBeCloseTo(100 / 24000, 15);
});

test('black against white is the greatest error there is, 0 dB', () => {
	expect(meanSquaredError(flat(0), flat(255))).toBe(65025);
	expect(psnrDb(65025)).toBe(0);
});

describe.each([
	['block', blockSsim],
	['Gaussian', gaussianSsim],
] as const)('%s similarity', (_name, similarity) => {
	test.each(flatSsimRows)('of flat %d and flat %d is as worked by hand', (first, second, expected) => {
		expect(Math.abs(similarity(flat(first), flat(second)) - expected)).toBeLessThan(1e-9);
	});

	test('is 1 for a picture and itself, the same either way round, and falls with more noise', () => {
		const picture = texturedPlane(SIDES, 2);
		const worn = [2, 6, 18, 54].map((amplitude) => noisy(picture, amplitude, 3));
		const scores = worn.map((plane) => similarity(picture, plane));
		expect(similarity(picture, picture)).toBeCloseTo(1, 12);
		expect(similarity(worn[0]!, picture)).toBeCloseTo(scores[0]!, 12);
		expect([1, ...scores]).toEqual([1, ...scores].toSorted((a, b) => b - a));
	});

	test('looks at no padding', () => {
		const picture = texturedPlane(SIDES, 4);
		const padded = planeOf(SIDES, (x, y) => picture.data[y * picture.stride + x]!, 17);
		const other = noisy(picture, 9, 5);
		expect(similarity(padded, other)).toBe(similarity(picture, other));
	});

	test('refuses pictures of two sizes, and those smaller than its window', () => {
		const small = planeOf([5, 40], () => 1);
		expect(() => similarity(small, small)).toThrow(RangeError);
		expect(() => similarity(flat(1), small)).toThrow(RangeError);
	});
});

// A chequer of single pixels has exactly these deviations in every cell of 2 x 2; under the Gaussian window all but, hence 1e-4.
test.each(texturedSsimRows)('equal means, deviations $deviations: similarity is as worked by hand', (row) => {
	const sign = Math.sign(row.covariance);
	const [first, second] = [chequer(row.deviations[0]), chequer(sign * row.deviations[1])];
	expect(Math.abs(blockSsim(first, second) - row.similarity)).toBeLessThan(1e-9);
	expect(Math.abs(gaussianSsim(first, second) - row.similarity)).toBeLessThan(1e-4);
});

const pictures = [11, 12, 13].map((seed) => texturedPlane(SIDES, seed));
const worn: readonly (readonly [string, (plane: LumaPlane) => LumaPlane])[] = [
	['light noise', (plane) => noisy(plane, 4, 21)],
	['strong noise', (plane) => noisy(plane, 30, 22)],
	['blur', blurred],
	['coarse codes', (plane) => coarse(plane, 12)],
];

// Second opinion: ssim.js, its 'original' variant (a port of the authors' script), no downsampling. Agreement reached: 3e-14.
test.each(worn)('Gaussian similarity agrees with ssim.js under %s', (_name, wear) => {
	for (const picture of pictures) {
		const other = wear(picture);
		const theirs = ssim(imageOf(picture), imageOf(other), { ssim: 'original', downsample: false });
		expect(Math.abs(gaussianSsim(picture, other) - theirs.mssim)).toBeLessThan(1e-12);
	}
});

// A window of three cells spreads as far as the Gaussian does, so both hold as much of the picture's own variation against the wear.
test.each([...worn, ['slight noise', (plane: LumaPlane) => noisy(plane, 1.5, 31)] as const])(
	'block similarity is within 0.003 of Gaussian similarity under %s',
	(_name, wear) => {
		for (const picture of pictures) {
			const other = wear(picture);
			expect(Math.abs(blockSsim(picture, other) - gaussianSsim(picture, other))).toBeLessThan(0.003);
		}
	},
);

// Two ways: whole-number sums of cells against the formula written out window by window.
test('block similarity is the mean of the formula over windows of 6 px weighted 1 1 2 2 1 1, one every 2 px', () => {
	const picture = texturedPlane([27, 19], 41);
	const other = noisy(picture, 20, 42);
	const scores: number[] = [];
	for (let top = 0; top + 6 <= 18; top += 2)
		for (let left = 0; left + 6 <= 26; left += 2)
			scores.push(writtenOut(codes(picture, left, top), codes(other, left, top)));
	expect(blockSsim(picture, other)).toBeCloseTo(mean(scores), 12);
});

function writtenOut(first: readonly number[], second: readonly number[]): number {
	const weights = [1, 1, 2, 2, 1, 1];
	const weighed = (values: readonly number[]): number =>
		values.reduce((sum, value, at) => sum + weights[at % 6]! * weights[Math.floor(at / 6)]! * value, 0) / 64;
	const [meanA, meanB] = [weighed(first), weighed(second)];
	const varianceA = weighed(first.map((code) => (code - meanA) ** 2));
	const varianceB = weighed(second.map((code) => (code - meanB) ** 2));
	const covariance = weighed(first.map((code, at) => (code - meanA) * (second[at]! - meanB)));
	const likeness = (2 * meanA * meanB + 6.5025) * (2 * covariance + 58.5225);
	return likeness / ((meanA ** 2 + meanB ** 2 + 6.5025) * (varianceA + varianceB + 58.5225));
}

function codes({ data, stride }: LumaPlane, left: number, top: number): number[] {
	return Array.from({ length: 36 }, (_, at) => data[(top + Math.floor(at / 6)) * stride + left + (at % 6)]!);
}

function mean(values: readonly number[]): number {
	return values.reduce((sum, value) => sum + value, 0) / values.length;
}

function imageOf(plane: LumaPlane): { data: Uint8ClampedArray; width: number; height: number } {
	const { rgba, widthPx, heightPx } = greyRaster(plane);
	return { data: rgba, width: widthPx, height: heightPx };
}

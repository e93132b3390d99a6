import { converter } from 'culori';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { bradfordMatrix } from '../../src/colour/bradford.ts';
import { chromaticityOf, D65, ICC_D50, xyzOf } from '../../src/colour/chromaticity.ts';
import { deltaE00 } from '../../src/colour/deltaE00.ts';
import { xyzToLab } from '../../src/colour/lab.ts';
import { lab50ToSrgb } from '../../src/colour/lab50ToSrgb.ts';
import { lab65ToSrgb } from '../../src/colour/lab65ToSrgb.ts';
import { invert, transform, type Vector3 } from '../../src/colour/matrix3.ts';
import { relativeLuminance } from '../../src/colour/relativeLuminance.ts';
import type { Rgb } from '../../src/colour/rgb.ts';
import { srgbToLab65 } from '../../src/colour/srgbToLab65.ts';
import { srgbToXyz65 } from '../../src/colour/srgbToXyz65.ts';
import { decodeSrgb, encodeSrgb } from '../../src/colour/srgbTransfer.ts';
import { classic24 } from '../vectors/colour24Patch.ts';
import {
	bradfordIcc50To65,
	bradfordPublished,
	lab65OfSrgb,
	labOfXyz,
	srgbDecoded,
	srgbEncoded,
	xyz65OfPrimaries,
} from '../vectors/colourSpaces.ts';

const code = fc.double({ min: 0, max: 255, noNaN: true });
const rgbs: fc.Arbitrary<Rgb> = fc.tuple(code, code, code);

function expectNear(seen: readonly number[], expected: readonly number[], tolerance: number): void {
	expect(seen).toHaveLength(expected.length);
	for (const [at, value] of seen.entries()) {
		expect(Math.abs(value - expected[at]!), `${seen} against ${expected}`).toBeLessThanOrEqual(tolerance);
	}
}

test.each(srgbDecoded)('sRGB code %d gives the light of IEC 61966-2-1', (srgb, linear) => {
	expectNear([decodeSrgb(srgb)], [linear], 5.1e-8 + (srgb === 127.5 ? 4.5e-7 : 0));
});

test.each(srgbEncoded)('light %d gives the sRGB code of IEC 61966-2-1', (linear, encoded, tolerance) => {
	expectNear([encodeSrgb(linear) / 255], [encoded], tolerance);
});

test('sRGB decoding and encoding undo each other, and light out of range is clipped', () => {
	fc.assert(fc.property(code, (srgb) => expectNear([encodeSrgb(decodeSrgb(srgb))], [srgb], 1e-4)));
	expect([encodeSrgb(-0.1), encodeSrgb(1.1)]).toEqual([0, 255]);
});

test('a code outside 0 to 255, or none at all, is refused', () => {
	for (const wrong of [-0.001, 255.001, Number.NaN]) expect(() => decodeSrgb(wrong)).toThrow(RangeError);
	expect(() => encodeSrgb(Number.NaN)).toThrow(RangeError);
});

test.each(xyz65OfPrimaries)('sRGB %j has the XYZ its chromaticity and D65 make', (rgb, xyz) => {
	expectNear(srgbToXyz65(rgb), xyz, 6e-7);
});

test.each(lab65OfSrgb)('sRGB %j has the Lab of the derived matrix', (rgb, lab) => {
	expectNear(srgbToLab65(rgb), lab, 0.02);
});

test.each(labOfXyz)('XYZ %j under white %j has the published Lab', (xyz, white, lab) => {
	expectNear(xyzToLab(xyz, xyzOf(white)), lab, 1e-8);
});

test('greys have no chroma, and black and white the ends of L*', () => {
	for (let grey = 0; grey <= 255; grey += 1) {
		const [, a, b] = srgbToLab65([grey, grey, grey]);
		expectNear([a, b], [0, 0], 1e-10);
	}
	expectNear(srgbToLab65([0, 0, 0]), [0, 0, 0], 1e-10);
	expectNear(srgbToLab65([255, 255, 255]), [100, 0, 0], 1e-10);
});

test('sRGB to Lab and back gives the same codes', () => {
	fc.assert(
		fc.property(rgbs, (rgb) => {
			expectNear(lab65ToSrgb(srgbToLab65(rgb)), rgb, 1e-4);
		}),
	);
});

// Second opinion: culori's lab65, whose matrix and white are given to 7 or more digits of their own.
test('Lab agrees with culori on 1000 random colours', () => {
	const toLab = converter('lab65');
	fc.assert(
		fc.property(rgbs, ([red, green, blue]) => {
			const theirs = toLab({ mode: 'rgb', r: red / 255, g: green / 255, b: blue / 255 });
			expectNear(srgbToLab65([red, green, blue]), [theirs.l, theirs.a, theirs.b], 0.001);
		}),
		{ numRuns: 1000, seed: 65 },
	);
});

test('Bradford adaptation has the published matrix', () => {
	const { from, to, matrix } = bradfordPublished;
	expectNear(bradfordMatrix(from, to).flat(), matrix.flat(), 1e-6);
});

test('Bradford adaptation from the ICC white to D65 has the computed matrix, and takes white to white', () => {
	const matrix = bradfordMatrix(xyzOf(ICC_D50), xyzOf(D65));
	expectNear(matrix.flat(), bradfordIcc50To65.flat(), 1e-6);
	expectNear(transform(matrix, xyzOf(ICC_D50)), xyzOf(D65), 1e-12);
});

test.each(classic24)('$name of the 24-patch target has the computed sRGB codes in both editions', (patch) => {
	for (const { lab50, srgb } of [patch.before2014, patch.after2014]) expectNear(lab50ToSrgb(lab50), srgb, 1);
	const difference = deltaE00(patch.before2014.lab50, patch.after2014.lab50);
	expectNear([difference], [patch.differenceOfEditions], 0.00501);
});

test('luminance is 0 for black, 1 for white, and green gives more of it than red and blue together', () => {
	expect(relativeLuminance([0, 0, 0])).toBe(0);
	expect(relativeLuminance([255, 255, 255])).toBeCloseTo(1, 12);
	expect(relativeLuminance([0, 255, 0])).toBeGreaterThan(relativeLuminance([255, 0, 255]));
});

test('black has no chromaticity', () => {
	expect(() => chromaticityOf([0, 0, 0])).toThrow(RangeError);
});

test('a matrix and its inverse undo each other, and a flat one has none', () => {
	const vector: Vector3 = [1, -2, 3];
	const matrix = bradfordMatrix(xyzOf(ICC_D50), xyzOf(D65));
	expectNear(transform(invert(matrix), transform(matrix, vector)), vector, 1e-12);
	const flat = [
		[1, 2, 3],
		[2, 4, 6],
		[0, 0, 1],
	] as const;
	expect(() => invert(flat)).toThrow(RangeError);
});

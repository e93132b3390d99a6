import fc from 'fast-check';
import { expect, test } from 'vitest';
import { deltaE00 } from '../../src/colour/deltaE00.ts';
import type { Rgb } from '../../src/colour/rgb.ts';
import { srgbToLab65 } from '../../src/colour/srgbToLab65.ts';
import { BT709_LIMITED, rgbToYCbCr, type YCbCrEncoding, yCbCrToRgb } from '../../src/colour/yCbCr.ts';
import { backwardFactors, yCbCrRows } from '../vectors/colourYCbCr.ts';

const LIMITED_601: YCbCrEncoding = { matrix: '601', range: 'limited' };
const FULL_709: YCbCrEncoding = { matrix: '709', range: 'full' };
const encodings: readonly YCbCrEncoding[] = [
	LIMITED_601,
	BT709_LIMITED,
	{ matrix: '601', range: 'full' },
	FULL_709,
];
const byte = fc.integer({ min: 0, max: 255 });
const rgbs: fc.Arbitrary<Rgb> = fc.tuple(byte, byte, byte);

type Triple = readonly [number, number, number];

/** As a codec stores it: whole codes that fit a byte. */
function stored([first, second, third]: Triple): Triple {
	const whole = (value: number) => Math.min(255, Math.max(0, Math.round(value)));
	return [whole(first), whole(second), whole(third)];
}

/** What a viewer sees whose decoder takes `read` for what was written as `written`. */
function misread(rgb: Rgb, written: YCbCrEncoding, read: YCbCrEncoding): Rgb {
	return stored(yCbCrToRgb(stored(rgbToYCbCr(rgb, written)), read));
}

test.each(yCbCrRows)(
	'$name has the codes of BT.601 and BT.709, limited range',
	({ rgb, limited601, limited709 }) => {
		expect(stored(rgbToYCbCr(rgb, LIMITED_601))).toEqual(limited601);
		expect(stored(rgbToYCbCr(rgb, BT709_LIMITED))).toEqual(limited709);
	},
);

test.each(yCbCrRows)('$name misread by the other matrix or range is as far off as computed', (row) => {
	const cases = [
		[row.stored601Read709, LIMITED_601, BT709_LIMITED],
		[row.stored709Read601, BT709_LIMITED, LIMITED_601],
		[row.limitedReadFull, BT709_LIMITED, FULL_709],
	] as const;
	for (const [expected, written, read] of cases) {
		const seen = misread(row.rgb, written, read);
		if (expected.rgb !== null) expect(seen).toEqual(expected.rgb);
		const difference = deltaE00(srgbToLab65(row.rgb), srgbToLab65(seen));
		expect(Math.abs(difference - expected.deltaE00)).toBeLessThan(0.02);
	}
});

test.each(backwardFactors)(
	'the way back has the published factors, $encoding.matrix $encoding.range',
	(row) => {
		const base = yCbCrToRgb([126, 128, 128], row.encoding);
		const moved = (ycc: Triple) => yCbCrToRgb(ycc, row.encoding).map((value, at) => value - base[at]!);
		const [redOfY] = moved([127, 128, 128]);
		const [, greenOfCb, blueOfCb] = moved([126, 129, 128]);
		const [redOfCr, greenOfCr] = moved([126, 128, 129]);
		expect(redOfY).toBeCloseTo(row.luma, 7);
		expect(redOfCr).toBeCloseTo(row.redOfCr, 7);
		expect(greenOfCb).toBeCloseTo(row.greenOfCb, 7);
		expect(greenOfCr).toBeCloseTo(row.greenOfCr, 7);
		expect(blueOfCb).toBeCloseTo(row.blueOfCb, 7);
	},
);

test('a wrong matrix leaves every grey as it was; a wrong range moves black and white', () => {
	for (let grey = 0; grey <= 255; grey += 1) {
		const rgb: Rgb = [grey, grey, grey];
		const right = misread(rgb, BT709_LIMITED, BT709_LIMITED);
		expect(misread(rgb, BT709_LIMITED, LIMITED_601)).toEqual(right);
	}
	expect(misread([0, 0, 0], BT709_LIMITED, FULL_709)).toEqual([16, 16, 16]);
	expect(misread([255, 255, 255], BT709_LIMITED, FULL_709)).toEqual([235, 235, 235]);
});

test('full-range red and blue come to half a code more than a byte holds', () => {
	for (const matrix of ['601', '709'] as const) {
		expect(rgbToYCbCr([255, 0, 0], { matrix, range: 'full' })[2]).toBeCloseTo(255.5, 12);
		expect(rgbToYCbCr([0, 0, 255], { matrix, range: 'full' })[1]).toBeCloseTo(255.5, 12);
	}
});

test('there and back is the same colour, and within two codes when stored as bytes', () => {
	fc.assert(
		fc.property(rgbs, fc.constantFrom(...encodings), (rgb, encoding) => {
			const exact = yCbCrToRgb(rgbToYCbCr(rgb, encoding), encoding);
			const throughBytes = misread(rgb, encoding, encoding);
			for (const [at, value] of rgb.entries()) {
				expect(exact[at]).toBeCloseTo(value, 9);
				expect(Math.abs(throughBytes[at]! - value)).toBeLessThanOrEqual(2);
			}
		}),
	);
});

test('codes beyond the range are clipped as a display clips them', () => {
	expect(yCbCrToRgb([255, 128, 128], BT709_LIMITED)).toEqual([255, 255, 255]);
	expect(yCbCrToRgb([0, 128, 128], BT709_LIMITED)).toEqual([0, 0, 0]);
});

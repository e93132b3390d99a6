import { describe, expect, test } from 'vitest';
import { findColourFault } from '../../src/colour/colourFault.ts';
import { fitExposure } from '../../src/colour/exposureFit.ts';
import { hueShift } from '../../src/colour/hueShift.ts';
import type { Rgb } from '../../src/colour/rgb.ts';
import { decodeSrgb, encodeSrgb } from '../../src/colour/srgbTransfer.ts';
import { toneEnds } from '../../src/colour/toneEnds.ts';
import { rgbToYCbCr, type YCbCrEncoding, yCbCrToRgb } from '../../src/colour/yCbCr.ts';
import { cardPatches } from '../../src/pattern/patches.ts';
import { createRandom } from '../../src/statistics/random.ts';

const patches = cardPatches({ layout: 'link', size: '1280x720', seed: 1, difficulty: 'easy' });
const drawn = patches.map(({ rgb }) => rgb);
const each = (change: (rgb: Rgb) => Rgb): Rgb[] => drawn.map(change);
/** What a codec leaves of a mean: a code of noise on every channel. */
function worn(colours: readonly Rgb[], seed: number): Rgb[] {
	const random = createRandom(seed);
	const code = (value: number): number => Math.min(255, Math.max(0, value + random.normal()));
	return colours.map(([r, g, b]) => [code(r), code(g), code(b)]);
}

const encoding = (matrix: '601' | '709', range: 'limited' | 'full'): YCbCrEncoding => ({ matrix, range });
const misread = (stored: YCbCrEncoding, read: YCbCrEncoding) =>
	each((rgb) => yCbCrToRgb(rgbToYCbCr(rgb, stored), read));
const gained = (gains: Rgb) =>
	each((rgb) => [0, 1, 2].map((c) => encodeSrgb(decodeSrgb(rgb[c]!) * gains[c]!)) as unknown as Rgb);

const faults: readonly (readonly [string, Rgb[]])[] = [
	[
		'wrong colour matrix: stored by BT.601, read by BT.709',
		misread(encoding('601', 'limited'), encoding('709', 'limited')),
	],
	[
		'wrong colour matrix: stored by BT.709, read by BT.601',
		misread(encoding('709', 'limited'), encoding('601', 'limited')),
	],
	['wrong range: limited codes read as full', misread(encoding('709', 'limited'), encoding('709', 'full'))],
	['wrong range: full codes read as limited', misread(encoding('709', 'full'), encoding('709', 'limited'))],
	[
		'wrong colour matrix: stored by BT.601, read by BT.709; wrong range: limited codes read as full',
		misread(encoding('601', 'limited'), encoding('709', 'full')),
	],
	['red and blue swapped', each(([r, g, b]) => [b, g, r])],
	['red and green swapped', each(([r, g, b]) => [g, r, b])],
	[
		'the two colour differences (Cb and Cr) swapped',
		each((rgb) => {
			const [y, cb, cr] = rgbToYCbCr(rgb, encoding('709', 'full'));
			return yCbCrToRgb([y, cr, cb], encoding('709', 'full'));
		}),
	],
	['colour cast: red 1.20 and blue 0.80 of green in linear light', gained([0.96, 0.8, 0.64])],
	[
		'tone curve (gamma) off by a power of 1.20',
		each((rgb) => rgb.map((code) => 255 * (code / 255) ** 1.2) as unknown as Rgb),
	],
	[
		'too little colour: 0.70 of the colour drawn',
		each((rgb) => {
			const [y, cb, cr] = rgbToYCbCr(rgb, encoding('709', 'full'));
			return yCbCrToRgb([y, 128 + 0.7 * (cb - 128), 128 + 0.7 * (cr - 128)], encoding('709', 'full'));
		}),
	],
];

describe.each(faults)('%s', (words, seen) => {
	test('is named, exactly and under noise of a code', () => {
		expect(findColourFault(drawn, seen)).toMatchObject({ kind: 'named', words });
		const start = words.slice(0, 12);
		for (let seed = 1; seed <= 10; seed++) {
			const finding = findColourFault(drawn, worn(seen, seed));
			expect(finding.kind === 'named' && finding.words.startsWith(start)).toBe(true);
		}
	});
});

test('clean pictures are silent, with noise of a code as well', () => {
	expect(findColourFault(drawn, drawn)).toEqual({ kind: 'clean', meanDeltaE00: 0 });
	for (let seed = 1; seed <= 50; seed++) expect(findColourFault(drawn, worn(drawn, seed)).kind).toBe('clean');
});

test('a change of no known signature is called unexplained, an even loss of light no fault of colour', () => {
	const random = createRandom(4);
	const wild = each(() => [random.integer(256), random.integer(256), random.integer(256)]);
	expect(findColourFault(drawn, wild).kind).toBe('unexplained');
	for (const gain of [0.3, 0.5, 0.8, 0.9]) {
		expect(findColourFault(drawn, gained([gain, gain, gain])).kind).toBe('light');
		// A cast too slight to be named does not make it a wrong matrix.
		for (const [r, g, b] of [
			[0.99, 1, 1.01],
			[1.01, 0.99, 1],
		] as const)
			for (let seed = 1; seed <= 5; seed++) {
				const finding = findColourFault(drawn, worn(gained([gain * r, gain * g, gain * b]), seed));
				expect(finding.kind).toBe('light');
			}
	}
});

test('a wrong matrix under dimmed light and a bent tone curve is not called a wrong range as well', () => {
	// The slightest misfit that the two faults together would take up: less by 0.1 of what the matrix and a tint leave.
	const dimmed = gained([0.71, 0.71, 0.71]).map(
		(rgb) => rgb.map((code) => 255 * (code / 255) ** 0.907) as unknown as Rgb,
	);
	const seen = dimmed.map((rgb) =>
		yCbCrToRgb(rgbToYCbCr(rgb, encoding('601', 'full')), encoding('709', 'full')),
	);
	const finding = findColourFault(drawn, seen);
	expect(finding).toMatchObject({ kind: 'named', fault: 'matrix' });
	expect(finding.kind === 'named' && finding.words).not.toMatch(/range/);
});

test('pictures of two exposures taken together are no fault of colour either', () => {
	const [bright, dim] = [gained([0.9, 0.8, 0.6]), gained([0.4, 0.36, 0.27])];
	const both = bright.map((rgb, i): Rgb => {
		const middle = (c: 0 | 1 | 2): number => (rgb[c] + dim[i]![c]) / 2;
		return [middle(0), middle(1), middle(2)];
	});
	expect(findColourFault(bright, both).kind).toBe('light');
	expect(findColourFault(bright, dim).kind).toBe('light');
});

test('the best exposure and white point undo a dimmed and tinted picture', () => {
	const fit = fitExposure(drawn, gained([0.9, 0.8, 0.6]))!;
	expect(fit.gains[0]).toBeCloseTo(0.9, 6);
	expect(fit.gains[2]).toBeCloseTo(0.6, 6);
	expect(fit.exposure).toBeCloseTo(Math.cbrt(0.9 * 0.8 * 0.6), 6);
	for (const [i, rgb] of fit.bothUndone.entries())
		for (const c of [0, 1, 2] as const) expect(Math.abs(rgb[c] - drawn[i]![c])).toBeLessThan(0.01);
	expect(
		fitExposure(
			drawn,
			each(() => [255, 255, 255]),
		),
	).toBeNull();
});

test('reds turned towards yellow have a hue shift above 0, paler ones a chroma ratio under 1', () => {
	const reds = patches.filter(({ role }) => role === 'tissue').map(({ rgb }) => rgb);
	const orange = hueShift(
		reds,
		reds.map(([r, g, b]) => [r, Math.min(255, g + 12), b]),
	)!;
	const pale = hueShift(
		reds,
		reds.map((rgb) => rgb.map((code) => 0.7 * code + 60) as unknown as Rgb),
	)!;
	expect(orange.meanDeg).toBeGreaterThan(3);
	expect(pale.chromaRatio).toBeLessThan(0.8);
	expect(hueShift(reds, reds)).toMatchObject({ meanDeg: 0, worstDeg: 0, chromaRatio: 1 });
	expect(hueShift([[90, 90, 90]], [[90, 90, 90]])).toBeNull();
});

test('burnt-out and drowned patches and greys that run together are told by their places', () => {
	const greys = [0, 1, 2, 3, 4, 5, 6, 7];
	expect(toneEnds(drawn, drawn, greys)).toEqual({ burntOut: [], drowned: [], runTogether: [] });
	const bright = toneEnds(
		drawn,
		each((rgb) => rgb.map((code) => Math.min(255, 1.3 * code)) as unknown as Rgb),
		greys,
	);
	expect(bright.burntOut).toContain(7);
	expect(bright.runTogether).toEqual([6]);
	const dark = toneEnds(
		drawn,
		each((rgb) => rgb.map((code) => Math.max(0, code - 60)) as unknown as Rgb),
		greys,
	);
	expect(dark.drowned).toContain(0);
	expect(dark.runTogether).toEqual([0]);
});

test('what was drawn at an end of the range is not cut off there, and what was drawn near it is', () => {
	const near: Rgb[] = [
		[252, 252, 252],
		[244, 244, 244],
		[3, 3, 3],
		[12, 12, 12],
	];
	const ends: Rgb[] = [
		[255, 255, 255],
		[255, 255, 255],
		[0, 0, 0],
		[0, 0, 0],
	];
	expect(toneEnds(near, ends, [])).toMatchObject({ burntOut: [1], drowned: [3] });
});

test('a slight cast is named, and so is one patch in ten that is far off, where the rest is right', () => {
	const slight = findColourFault(drawn, gained([1.1, 1, 1]));
	expect(slight).toMatchObject({ kind: 'named', fault: 'cast' });
	const few = drawn.map((rgb, i): Rgb => (i % 10 === 3 ? [rgb[0], rgb[1], Math.max(0, rgb[2] - 30)] : rgb));
	const finding = findColourFault(drawn, few);
	expect(finding.meanDeltaE00).toBeLessThan(1);
	expect(finding.kind).not.toBe('clean');
});

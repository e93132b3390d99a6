/**
 * What each known fault makes of a colour, as functions from drawn to seen. Exact faults have nothing to fit; a cast, a tone
 * curve and a loss of colour have one number (a cast two) that is fitted first. A misreading may come with a cast on top of it.
 *
 * Source: the conversions of yCbCr.ts applied by the wrong definition (computed; rows in standards.md 4.4).
 */
import { fitExposure } from './exposureFit.ts';
import type { Rgb } from './rgb.ts';
import { decodeSrgb, encodeSrgb } from './srgbTransfer.ts';
import { rgbToYCbCr, type YCbCr, type YCbCrEncoding, yCbCrToRgb } from './yCbCr.ts';

export type FaultKind = 'matrix' | 'range' | 'matrixAndRange' | 'channels' | 'cast' | 'gamma' | 'saturation';

export type FaultModel = {
	readonly kind: FaultKind;
	/** A name a person can act on. */
	readonly words: string;
	readonly apply: (rgb: Rgb) => Rgb;
	/** Numbers that were fitted. */
	readonly freedom: 0 | 1 | 2;
};

const encodings: readonly YCbCrEncoding[] = (['601', '709'] as const).flatMap((matrix) =>
	(['limited', 'full'] as const).map((range) => ({ matrix, range })),
);

const misreadings: readonly FaultModel[] = encodings
	.flatMap((stored) => encodings.filter((read) => read !== stored).map((read) => misread(stored, read)))
	.filter(({ words }, i, all) => all.findIndex((other) => other.words === words) === i);

/** Faults with nothing to fit. */
export const exactFaults: readonly FaultModel[] = [...misreadings, ...channelFaults()];

function misread(stored: YCbCrEncoding, read: YCbCrEncoding): FaultModel {
	const matrix =
		stored.matrix === read.matrix
			? ''
			: `wrong colour matrix: stored by BT.${stored.matrix}, read by BT.${read.matrix}`;
	const range = stored.range === read.range ? '' : `wrong range: ${stored.range} codes read as ${read.range}`;
	return {
		kind: matrix === '' ? 'range' : range === '' ? 'matrix' : 'matrixAndRange',
		words: [matrix, range].filter((part) => part !== '').join('; '),
		apply: (rgb) => yCbCrToRgb(storable(rgbToYCbCr(rgb, stored)), read),
		freedom: 0,
	};
}

function storable([y, cb, cr]: YCbCr): YCbCr {
	const byte = (code: number): number => Math.min(255, Math.max(0, code));
	return [byte(y), byte(cb), byte(cr)];
}

function channelFaults(): FaultModel[] {
	const fault = (words: string, apply: (rgb: Rgb) => Rgb): FaultModel => ({
		kind: 'channels',
		words,
		apply,
		freedom: 0,
	});
	const encoding: YCbCrEncoding = { matrix: '709', range: 'full' };
	return [
		fault('red and blue swapped', ([r, g, b]) => [b, g, r]),
		fault('red and green swapped', ([r, g, b]) => [g, r, b]),
		fault('green and blue swapped', ([r, g, b]) => [r, b, g]),
		fault('the two colour differences (Cb and Cr) swapped', (rgb) => {
			const [y, cb, cr] = rgbToYCbCr(rgb, encoding);
			return yCbCrToRgb([y, cr, cb], encoding);
		}),
		fault('no colour at all: the colour differences are missing', (rgb) => {
			const [y] = rgbToYCbCr(rgb, encoding);
			return [y, y, y];
		}),
	];
}

/** Faults whose size is fitted to these colours; only those that are large enough to be one. */
export function fittedFaults(expected: readonly Rgb[], seen: readonly Rgb[]): FaultModel[] {
	return [
		castOf(expected, seen),
		gammaOf(expected, seen),
		saturationOf(expected, seen),
		...misreadings.map((fault) => withCast(fault, { expected, seen })),
	].filter((model) => model !== null);
}

/** A misreading and a tint of the light at once, however slight the tint: neither alone would explain what is seen. */
function withCast(
	fault: FaultModel,
	{ expected, seen }: { readonly expected: readonly Rgb[]; readonly seen: readonly Rgb[] },
): FaultModel | null {
	const gains = fitExposure(expected.map(fault.apply), seen)?.gains;
	if (gains === undefined) return null;
	const tint = castBy(gains);
	return {
		kind: fault.kind,
		words: `${fault.words}; with a ${tint.words}`,
		apply: (rgb) => tint.apply(fault.apply(rgb)),
		freedom: 2,
	};
}

/**
 * Other light, alike in every channel or with a tint too slight to be a cast: what another exposure makes of a picture, and no fault of its
 * colours. None where too much is clipped.
 */
export function otherLight(
	expected: readonly Rgb[],
	seen: readonly Rgb[],
): readonly Pick<FaultModel, 'apply' | 'freedom'>[] {
	const fit = fitExposure(expected, seen);
	if (fit === null) return [];
	const { exposure, gains } = fit;
	const even = { apply: castBy([exposure, exposure, exposure]).apply, freedom: 1 } as const;
	return isCast(gains) ? [even] : [even, { apply: castBy(gains).apply, freedom: 2 }];
}

/** Gains that differ by less than this share are no cast. */
const LEAST_CAST = 0.05;

function castOf(expected: readonly Rgb[], seen: readonly Rgb[]): FaultModel | null {
	const gains = fitExposure(expected, seen)?.gains;
	if (gains === undefined) return null;
	return isCast(gains) ? castBy(gains) : null;
}

function isCast(gains: readonly [number, number, number]): boolean {
	return Math.max(...gains) / Math.min(...gains) >= 1 + LEAST_CAST;
}

function castBy([red, green, blue]: readonly [number, number, number]): FaultModel {
	const channel = (code: number, gain: number): number => encodeSrgb(decodeSrgb(code) * gain);
	return {
		kind: 'cast',
		words: `colour cast: red ${(red / green).toFixed(2)} and blue ${(blue / green).toFixed(2)} of green in linear light`,
		apply: ([r, g, b]) => [channel(r, red), channel(g, green), channel(b, blue)],
		freedom: 2,
	};
}

const LEAST_GAMMA = 0.04;

/** One exponent for all channels: least squares of logs, over codes that are not clipped. */
function gammaOf(expected: readonly Rgb[], seen: readonly Rgb[]): FaultModel | null {
	let product = 0;
	let squares = 0;
	for (const [i, rgb] of expected.entries())
		for (const [channel, from] of rgb.entries()) {
			const to = seen[i]![channel]!;
			if (Math.min(from, to) < 4 || Math.max(from, to) > 252) continue;
			// Weighted by the code, for a log makes much of what is dark.
			const x = Math.log(from / 255);
			product += from * x * Math.log(to / 255);
			squares += from * x * x;
		}
	const exponent = squares === 0 ? 1 : product / squares;
	if (!(exponent > 0) || Math.abs(exponent - 1) < LEAST_GAMMA) return null;
	const channel = (code: number): number => 255 * (code / 255) ** exponent;
	return {
		kind: 'gamma',
		words: `tone curve (gamma) off by a power of ${exponent.toFixed(2)}`,
		apply: ([r, g, b]) => [channel(r), channel(g), channel(b)],
		freedom: 1,
	};
}

const LEAST_SATURATION = 0.06;

/** One factor on both colour differences. */
function saturationOf(expected: readonly Rgb[], seen: readonly Rgb[]): FaultModel | null {
	const encoding: YCbCrEncoding = { matrix: '709', range: 'full' };
	let product = 0;
	let squares = 0;
	for (const [i, rgb] of expected.entries()) {
		const [, cb, cr] = rgbToYCbCr(rgb, encoding);
		const [, seenCb, seenCr] = rgbToYCbCr(seen[i]!, encoding);
		product += (cb - 128) * (seenCb - 128) + (cr - 128) * (seenCr - 128);
		squares += (cb - 128) ** 2 + (cr - 128) ** 2;
	}
	const factor = squares === 0 ? 1 : product / squares;
	if (!(factor > 0) || Math.abs(factor - 1) < LEAST_SATURATION) return null;
	return {
		kind: 'saturation',
		words: `${factor < 1 ? 'too little' : 'too much'} colour: ${factor.toFixed(2)} of the colour drawn`,
		apply: (rgb) => {
			const [y, cb, cr] = rgbToYCbCr(rgb, encoding);
			return yCbCrToRgb([y, 128 + factor * (cb - 128), 128 + factor * (cr - 128)], encoding);
		},
		freedom: 1,
	};
}

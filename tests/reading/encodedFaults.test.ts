import { expect, test } from 'vitest';
import { findColourFault } from '../../src/colour/colourFault.ts';
import type { Rgb } from '../../src/colour/rgb.ts';
import { decodeSrgb, encodeSrgb } from '../../src/colour/srgbTransfer.ts';
import { rgbToYCbCr, type YCbCrEncoding, yCbCrToRgb } from '../../src/colour/yCbCr.ts';
import type { Planes } from '../../src/imaging/planes.ts';
import { createRaster, type Raster } from '../../src/imaging/raster.ts';
import { rasterToPlanes } from '../../src/imaging/rasterToPlanes.ts';
import { loadCodecLibrary } from '../../src/media/node/codecLibrary.ts';
import { openH264Decoder } from '../../src/media/node/h264Decoder.ts';
import { openH264Encoder } from '../../src/media/node/h264Encoder.ts';
import type { CardSpec } from '../../src/pattern/card.ts';
import { createCardPainter } from '../../src/pattern/painter.ts';
import { cardPatches } from '../../src/pattern/patches.ts';
import { readChromaBleed } from '../../src/reading/chromaBleed.ts';
import { readPatchColours } from '../../src/reading/patchColours.ts';

const SPEC: CardSpec = { layout: 'link', size: '1280x720', seed: 1, difficulty: 'easy' };
const drawn = cardPatches(SPEC).map(({ rgb }) => rgb);
const card: Raster = { ...createRaster(1280, 720), rgba: createCardPainter(SPEC).paint(0).rgba.slice() };
const hasCodec = await loadCodecLibrary('encoder').then(
	() => true,
	() => false,
);

/** Every definition that video is stored by, written and read alike: what is wrong is done to the picture before. */
const definitions: readonly YCbCrEncoding[] = (['601', '709'] as const).flatMap((matrix) =>
	(['limited', 'full'] as const).map((range) => ({ matrix, range })),
);

/** The same as drawn, the second of two pictures through x264 in 4:2:0 and back. */
async function throughCodec(planes: Planes, bitrateKbps = 4000): Promise<Planes> {
	const sides = { widthPx: 1280, heightPx: 720 };
	const encoder = await openH264Encoder({ ...sides, rateHz: 30, bitrateKbps, keyEveryFrames: 30 });
	const decoder = await openH264Decoder();
	let last: Planes | null = null;
	for (let frame = 0; frame < 2; frame++) {
		const decoded = decoder.decode(encoder.encode(planes).bytes, frame);
		if (decoded === null) continue;
		const { y, u, v } = decoded.planes;
		last = { ...decoded.planes, y: Uint8Array.from(y), u: Uint8Array.from(u), v: Uint8Array.from(v) };
	}
	encoder.close();
	decoder.close();
	if (last === null) throw new Error('the codec gave no picture');
	return last;
}

function changed(by: (rgb: Rgb) => Rgb): Raster {
	const raster: Raster = { ...card, rgba: card.rgba.slice() };
	for (let at = 0; at < raster.rgba.length; at += 4)
		raster.rgba.set(by([card.rgba[at]!, card.rgba[at + 1]!, card.rgba[at + 2]!]), at);
	return raster;
}

const light = (code: number, gain: number): number => encodeSrgb(decodeSrgb(code) * gain);
const faults: readonly (readonly [name: string, by: (rgb: Rgb) => Rgb, fault: object])[] = [
	['nothing wrong', (rgb) => rgb, { kind: 'clean' }],
	[
		'less light alone',
		(rgb) => [light(rgb[0], 0.6), light(rgb[1], 0.6), light(rgb[2], 0.6)],
		{ kind: 'light' },
	],
	['a warm cast', ([r, g, b]) => [r, light(g, 0.9), light(b, 0.75)], { kind: 'named', fault: 'cast' }],
	['a green cast', ([r, g, b]) => [light(r, 0.85), g, light(b, 0.9)], { kind: 'named', fault: 'cast' }],
	[
		'gamma of 1.2',
		([r, g, b]) => [255 * (r / 255) ** 1.2, 255 * (g / 255) ** 1.2, 255 * (b / 255) ** 1.2],
		{ kind: 'named', fault: 'gamma' },
	],
	['red and blue swapped', ([r, g, b]) => [b, g, r], { kind: 'named', words: 'red and blue swapped' }],
	[
		'Cb and Cr swapped',
		(rgb) => {
			const [y, cb, cr] = rgbToYCbCr(rgb, { matrix: '709', range: 'full' });
			return yCbCrToRgb([y, cr, cb], { matrix: '709', range: 'full' });
		},
		{ kind: 'named', fault: 'channels' },
	],
	[
		'half of the colour',
		(rgb) => {
			const [y, cb, cr] = rgbToYCbCr(rgb, { matrix: '709', range: 'full' });
			return yCbCrToRgb([y, 128 + (cb - 128) / 2, 128 + (cr - 128) / 2], { matrix: '709', range: 'full' });
		},
		{ kind: 'named', fault: 'saturation' },
	],
];

test.skipIf(!hasCodec).each(faults)(
	'%s is told as that, and as nothing else, by BT.601 and BT.709, limited and full, through a real encoder',
	async (_name, by, fault) => {
		const raster = changed(by);
		for (const encoding of definitions) {
			const sent = await throughCodec(rasterToPlanes(raster, encoding));
			expect(findColourFault(drawn, readPatchColours(sent, SPEC, encoding).map(cut))).toMatchObject(fault);
			expect(readChromaBleed(sent, SPEC)).toBeLessThan(0.1);
		}
	},
);

/** Chroma moved to the right by so many of its own pixels, as a wrong stride or a filter of too many taps does. */
function shifted(planes: Planes, byPx: number): Planes {
	const moved = { ...planes, u: planes.u.slice(), v: planes.v.slice() };
	for (const plane of [moved.u, moved.v])
		for (let row = 0; row < 360; row++)
			plane.copyWithin(
				row * planes.uvStride + byPx,
				row * planes.uvStride,
				(row + 1) * planes.uvStride - byPx,
			);
	return moved;
}

/** A mean over so many chroma pixels along each row. */
function smeared(planes: Planes, overPx: number): Planes {
	const mean = (plane: Uint8Array): Uint8Array =>
		plane.map((_, at) => {
			let sum = 0;
			for (let away = -overPx; away <= overPx; away++)
				sum += plane[Math.min(plane.length - 1, Math.max(0, at + away))]!;
			return sum / (2 * overPx + 1);
		});
	return { ...planes, u: mean(planes.u), v: mean(planes.v) };
}

test.skipIf(!hasCodec)(
	'colour that bleeds over edges is read in every definition after a real encoder, and 4:2:0 alone is not bleeding',
	async () => {
		for (const encoding of definitions) {
			const planes = rasterToPlanes(card, encoding);
			expect(readChromaBleed(await throughCodec(shifted(planes, 5)), SPEC)).toBeGreaterThan(0.1);
			expect(readChromaBleed(await throughCodec(smeared(planes, 8)), SPEC)).toBeGreaterThan(0.1);
			for (const bitrate of [8000, 1500])
				expect(readChromaBleed(await throughCodec(planes, bitrate), SPEC)).toBeLessThan(0.05);
		}
	},
);

function cut([r, g, b]: Rgb): Rgb {
	const code = (value: number): number => Math.min(255, Math.max(0, value));
	return [code(r), code(g), code(b)];
}

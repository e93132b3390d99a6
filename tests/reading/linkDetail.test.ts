import { expect, test } from 'vitest';
import { findColourFault } from '../../src/colour/colourFault.ts';
import { decodeSrgb, encodeSrgb } from '../../src/colour/srgbTransfer.ts';
import type { YCbCrEncoding } from '../../src/colour/yCbCr.ts';
import { createPlanes, type Planes } from '../../src/imaging/planes.ts';
import { planesToRaster } from '../../src/imaging/planesToRaster.ts';
import { createRaster, type Raster } from '../../src/imaging/raster.ts';
import { rasterToPlanes } from '../../src/imaging/rasterToPlanes.ts';
import { loadCodecLibrary } from '../../src/media/node/codecLibrary.ts';
import { openH264Decoder } from '../../src/media/node/h264Decoder.ts';
import { openH264Encoder } from '../../src/media/node/h264Encoder.ts';
import { viewFigures } from '../../src/metrics/view.ts';
import type { CardSpec } from '../../src/pattern/card.ts';
import { stillEdges } from '../../src/pattern/detail.ts';
import { cardGeometry } from '../../src/pattern/geometry.ts';
import { createCardPainter } from '../../src/pattern/painter.ts';
import { cardPatches } from '../../src/pattern/patches.ts';
import { tryColourReading } from '../../src/reading/colourControl.ts';
import { createLinkDetailReader } from '../../src/reading/linkDetail.ts';
import { readPatchColours } from '../../src/reading/patchColours.ts';

const SPEC: CardSpec = { layout: 'link', size: '1280x720', seed: 1, difficulty: 'hard' };
const BT709: YCbCrEncoding = { matrix: '709', range: 'limited' };
const hasCodec = await loadCodecLibrary('encoder').then(
	() => true,
	() => false,
);
const drawnColours = cardPatches(SPEC).map(({ rgb }) => rgb);
const painter = createCardPainter(SPEC);
const card: Raster = { ...createRaster(1280, 720), rgba: painter.paint(0).rgba.slice() };

function copied({ y, u, v }: Planes): Planes {
	const planes = createPlanes(1280, 720);
	planes.y.set(y);
	planes.u.set(u);
	planes.v.set(v);
	return planes;
}

/** The last of a few pictures through x264 and back. */
async function throughCodec(planes: Planes, bitrateKbps: number): Promise<Planes> {
	const encoder = await openH264Encoder({
		widthPx: 1280,
		heightPx: 720,
		rateHz: 30,
		bitrateKbps,
		keyEveryFrames: 30,
	});
	const decoder = await openH264Decoder();
	let last: Planes | null = null;
	for (let frame = 0; frame < 8; frame++) {
		const decoded = decoder.decode(encoder.encode(planes).bytes, frame);
		if (decoded !== null && frame === 7) {
			last = createPlanes(1280, 720);
			for (let row = 0; row < 720; row++)
				last.y.set(
					decoded.planes.y.subarray(row * decoded.planes.yStride, row * decoded.planes.yStride + 1280),
					row * 1280,
				);
			for (let row = 0; row < 360; row++) {
				const from = row * decoded.planes.uvStride;
				last.u.set(decoded.planes.u.subarray(from, from + 640), row * 640);
				last.v.set(decoded.planes.v.subarray(from, from + 640), row * 640);
			}
		}
	}
	encoder.close();
	decoder.close();
	if (last === null) throw new Error('the codec gave no picture');
	return last;
}

test('the colour reading adds less than 1 to the card itself', () => {
	const control = tryColourReading(SPEC);
	expect(control.medianDeltaE00).toBeLessThan(0.5);
	expect(control.maxDeltaE00).toBeLessThan(1);
});

test('the card as drawn keeps all of its detail, and has no noise, no blocks and no bleeding', () => {
	const drawn = painter.paintPlanes(0);
	const detail = createLinkDetailReader(SPEC)(drawn, drawn, 0);
	expect(detail.edges.map(({ place, axis }) => [place, axis])).toEqual([
		['lower left', 'across'],
		['left of the middle', 'across'],
		['right of the middle', 'down'],
		['lower right', 'down'],
	]);
	for (const { mtf50CyPx, referenceMtf50CyPx } of detail.edges) {
		expect(mtf50CyPx).toBe(referenceMtf50CyPx);
		// One slope, one pair of greys: the same detail at every place.
		expect(Math.abs(mtf50CyPx / detail.edges[0]!.mtf50CyPx - 1)).toBeLessThan(0.03);
	}
	for (const { width, lumaRatio, chromaRatio, seen, seenByColour } of detail.lines) {
		expect(lumaRatio).toBeCloseTo(1, 1);
		expect(seen).toBe(true);
		// Colour is stored at half the size: a line of one pixel has none of its own.
		expect(seenByColour).toBe(width > 1);
		if (width === 1) expect(chromaRatio).toBeLessThan(0.02);
		// A line of three that begins on an even pixel is stored as 1, 1/2, 0: three quarters of its wave (computed).
		else expect(chromaRatio).toBeGreaterThan(0.74);
	}
	expect(detail.noise.map(({ fixedPatternRatio }) => fixedPatternRatio)).toEqual(Array(8).fill(0));
	expect([detail.blockinessRatio, detail.chromaBleedRatio]).toEqual([1, 0]);
});

test('an edge that lies where one should stand is not read as that', () => {
	const foreign = copied(painter.paintPlanes(0));
	const [left, , , right] = stillEdges(cardGeometry(SPEC)).map(({ rect }) => rect);
	for (let row = 0; row < left!.heightPx; row++) {
		const from = (right!.yPx + row) * 1280 + right!.xPx;
		foreign.y.copyWithin((left!.yPx + row) * 1280 + left!.xPx, from, from + right!.widthPx);
	}
	const { edges } = createLinkDetailReader(SPEC)(foreign, painter.paintPlanes(0), 0);
	expect(edges.map(({ place }) => place)).toEqual([
		'left of the middle',
		'right of the middle',
		'lower right',
	]);
});

test('a picture that softens towards its corners is as sharp as drawn in the middle, and less at the edge', () => {
	const soft = copied(painter.paintPlanes(0));
	const { y } = painter.paintPlanes(0);
	for (let row = 480; row < 720; row++)
		for (const column of [...Array(300).keys()].flatMap((i) => [8 + i, 1271 - i])) {
			let sum = 0;
			for (let dy = -2; dy <= 2; dy++)
				for (let dx = -2; dx <= 2; dx++)
					sum += y[Math.min(719, row + dy) * 1280 + Math.min(1279, column + dx)]!;
			soft.y[row * 1280 + column] = Math.round(sum / 25);
		}
	const look = createLinkDetailReader(SPEC)(soft, painter.paintPlanes(0), 0);
	const seen = viewFigures([{ segment: 0, frameNumber: 0, atMs: 0, ...look }]).centreAndEdge;
	if (seen === undefined || !('nearMtf50CyPx' in seen)) throw new Error('no centre and edge');
	expect(seen.nearMtf50CyPx).toBeCloseTo(look.edges[1]!.referenceMtf50CyPx!, 2);
	expect(seen.nearRatio).toBeLessThan(0.3);
	expect(seen.farRatio).toBeGreaterThan(0.7);
	// A mean over five pixels leaves half of the contrast at 0.12 cycles a pixel (computed), the drawn edge at over 0.4.
	expect(seen.keptRatio).toBeLessThan(0.4);
});

test('lines whose colour was taken away keep their light, and are no longer told by their redness', () => {
	const grey = copied(painter.paintPlanes(0));
	for (const plane of [grey.u, grey.v]) plane.fill(128);
	for (const line of createLinkDetailReader(SPEC)(grey, painter.paintPlanes(0), 0).lines) {
		expect(line.seen).toBe(true);
		expect(line.seenByColour).toBe(false);
		expect(line.chromaRatio).toBeLessThan(0.01);
	}
});

test('chroma shifted by ten pixels is read as bleeding', () => {
	const shifted = copied(painter.paintPlanes(0));
	for (const plane of [shifted.u, shifted.v])
		for (let row = 0; row < 360; row++) plane.copyWithin(row * 640 + 5, row * 640, row * 640 + 635);
	const detail = createLinkDetailReader(SPEC)(shifted, painter.paintPlanes(0), 0);
	expect(detail.chromaBleedRatio).toBeGreaterThan(0.3);
});

test.skipIf(!hasCodec)(
	'detail falls and blocks rise as the bitrate falls, through a real encoder',
	async () => {
		const drawn = copied(painter.paintPlanes(0));
		const read = createLinkDetailReader(SPEC);
		const details = [];
		for (const bitrate of [8000, 1200, 300]) details.push(read(await throughCodec(drawn, bitrate), drawn, 0));
		const mtf = details.map(({ edges }) => edges[0]?.mtf50CyPx ?? 0);
		const blocks = details.map(({ blockinessRatio }) => blockinessRatio!);
		expect(mtf).toEqual(mtf.toSorted((a, b) => b - a));
		expect(blocks[2]).toBeGreaterThan(blocks[0]!);
	},
);

/** Stored by one definition, sent through a real encoder, read by BT.709 limited range as every viewer here does. */
test.skipIf(!hasCodec).each([
	['601', 'limited', 'wrong colour matrix: stored by BT.601, read by BT.709'],
	['709', 'full', 'wrong range: full codes read as limited'],
	[
		'601',
		'full',
		'wrong colour matrix: stored by BT.601, read by BT.709; wrong range: full codes read as limited',
	],
] as const)('a card stored by BT.%s %s and sent in 4:2:0 is named for it', async (matrix, range, words) => {
	const stored = rasterToPlanes(card, { matrix, range });
	for (const bitrate of [8000, 1500]) {
		const seen = readPatchColours(await throughCodec(stored, bitrate), SPEC).map(cut);
		expect(findColourFault(drawnColours, seen)).toMatchObject({ kind: 'named', words });
	}
});

test.skipIf(!hasCodec)(
	'limited codes shown as full, and red and blue swapped, are named after a real encoder too',
	async () => {
		const sent = await throughCodec(copied(painter.paintPlanes(0)), 3000);
		const shown = rasterToPlanes(planesToRaster(sent, { matrix: '709', range: 'full' }), BT709);
		const swapped = planesToRaster(sent, BT709);
		for (let at = 0; at < swapped.rgba.length; at += 4) {
			const red = swapped.rgba[at]!;
			swapped.rgba[at] = swapped.rgba[at + 2]!;
			swapped.rgba[at + 2] = red;
		}
		const nameOf = (planes: Planes) => findColourFault(drawnColours, readPatchColours(planes, SPEC).map(cut));
		expect(nameOf(shown)).toMatchObject({ words: 'wrong range: limited codes read as full' });
		expect(nameOf(rasterToPlanes(swapped, BT709))).toMatchObject({ words: 'red and blue swapped' });
	},
);

test.skipIf(!hasCodec)(
	'clean pictures through a real encoder are silent; starved ones, whose colours do run, are given no name',
	async () => {
		for (const bitrate of [8000, 3000, 1000, 300]) {
			const seen = readPatchColours(await throughCodec(copied(painter.paintPlanes(0)), bitrate), SPEC).map(
				cut,
			);
			const { kind } = findColourFault(drawnColours, seen);
			if (bitrate >= 3000) expect(kind).toBe('clean');
			else expect(kind).not.toBe('named');
		}
	},
);

/** Light of red and blue beside green, as an app or a converter may tint it on the way to the encoder. */
test.skipIf(!hasCodec).each([
	[1.03, 0.97],
	[0.97, 1.04],
	[1.08, 0.94],
])('a wrong matrix is named through a tint of %d and %d as well, after a real encoder', async (red, blue) => {
	const tinted: Raster = { ...card, rgba: card.rgba.slice() };
	for (let at = 0; at < tinted.rgba.length; at += 4)
		for (const [channel, gain] of [
			[0, red],
			[2, blue],
		] as const)
			tinted.rgba[at + channel] = encodeSrgb(decodeSrgb(card.rgba[at + channel]!) * gain);
	const nameOf = async (matrix: '601' | '709') => {
		const sent = await throughCodec(rasterToPlanes(tinted, { matrix, range: 'limited' }), 3000);
		return findColourFault(drawnColours, readPatchColours(sent, SPEC).map(cut));
	};
	expect(await nameOf('601')).toMatchObject({
		fault: 'matrix',
		words: expect.stringMatching(
			/^wrong colour matrix: stored by BT.601, read by BT.709; with a colour cast/,
		),
	});
	expect(await nameOf('709')).not.toMatchObject({ fault: 'matrix' });
});

test.skipIf(!hasCodec)('a change of no known kind stays without a name after a real encoder', async () => {
	const strange: Raster = { ...card, rgba: card.rgba.slice() };
	const paler = (code: number): number => 255 * (code / 255) ** 0.8;
	for (let at = 0; at < strange.rgba.length; at += 4) {
		const [r, g, b] = strange.rgba.subarray(at, at + 3) as unknown as [number, number, number];
		strange.rgba.set([255 - paler(255 - r), paler(g), 0.6 * b + 0.4 * r], at);
	}
	const seen = readPatchColours(await throughCodec(rasterToPlanes(strange, BT709), 3000), SPEC).map(cut);
	expect(findColourFault(drawnColours, seen).kind).toBe('unexplained');
});

function cut([r, g, b]: readonly [number, number, number]): [number, number, number] {
	const code = (value: number): number => Math.min(255, Math.max(0, value));
	return [code(r), code(g), code(b)];
}

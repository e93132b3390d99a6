import { expect, test } from 'vitest';
import { lumaOf, type Planes } from '../../src/imaging/planes.ts';
import { planesToRaster } from '../../src/imaging/planesToRaster.ts';
import type { Raster } from '../../src/imaging/raster.ts';
import { rasterToPlanes } from '../../src/imaging/rasterToPlanes.ts';
import { loadCodecLibrary } from '../../src/media/node/codecLibrary.ts';
import { openH264Decoder } from '../../src/media/node/h264Decoder.ts';
import { openH264Encoder } from '../../src/media/node/h264Encoder.ts';
import { detailPatches, detailShapes, PATCH_FIELD } from '../../src/pattern/detailCard.ts';
import { boundsOf } from '../../src/pattern/detailRaster.ts';
import { findDetailCard } from '../../src/reading/findDetailCard.ts';
import { readPaperBleed } from '../../src/reading/paperBleed.ts';
import { cardPicture, type View } from './madeCardPicture.ts';

const BT709 = { matrix: '709', range: 'limited' } as const;
const SQUARE: View = { widthPx: 720, heightPx: 560, pxPerMm: 7.5, noiseCodes: 1, gain: [0.72, 0.68, 0.6] };
const hasCodec = await loadCodecLibrary('encoder').then(
	() => true,
	() => false,
);

function bleedOf(raster: Raster): number | null {
	const found = findDetailCard(lumaOf(rasterToPlanes(raster, BT709)));
	if (found.kind === 'notMeasured') throw new Error(found.explanation);
	return readPaperBleed(raster, found.pose);
}

/** A mean over `2 reach + 1` places along each row, edges repeated. */
function smeared(plane: Uint8Array, stride: number, reach: number): Uint8Array {
	return plane.map((_, at) => {
		const row = at - (at % stride);
		let sum = 0;
		for (let away = -reach; away <= reach; away++)
			sum += plane[row + Math.min(stride - 1, Math.max(0, (at % stride) + away))]!;
		return sum / (2 * reach + 1);
	});
}

function through(raster: Raster, by: (planes: Planes) => Planes): Raster {
	return planesToRaster(by(rasterToPlanes(raster, BT709)), BT709);
}

const runsOver = (planes: Planes): Planes => ({
	...planes,
	u: smeared(planes.u, planes.uvStride, 8),
	v: smeared(planes.v, planes.uvStride, 8),
});

const views: readonly (readonly [string, View])[] = [
	['square on', SQUARE],
	['turned in a barrel', { ...SQUARE, widthPx: 800, heightPx: 760, turnDeg: 24, bend: -0.1 }],
	['tilted and mirrored', { ...SQUARE, widthPx: 800, heightPx: 620, tilt: 0.15, mirrored: true }],
];

test.each(views)(
	'colour stored at half the size does not run over edges; smeared colour does (%s)',
	(_, view) => {
		const raster = cardPicture(view);
		expect(bleedOf(through(raster, (planes) => planes))).toBeLessThan(0.02);
		expect(bleedOf(through(raster, runsOver))).toBeGreaterThan(0.1);
	},
);

test('a picture out of focus, light and colour alike, is no bleeding', () => {
	const blurred = through(cardPicture(SQUARE), (planes) => ({
		...runsOver(planes),
		y: smeared(planes.y, planes.yStride, 16),
	}));
	// The same pose: rings smeared so far are found no more.
	const found = findDetailCard(lumaOf(rasterToPlanes(cardPicture(SQUARE), BT709)));
	if (found.kind === 'notMeasured') throw new Error(found.explanation);
	expect(readPaperBleed(blurred, found.pose)).toBeLessThan(0.05);
});

test('beside burnt-out paper nothing is told, nor of a card too small', () => {
	expect(bleedOf(cardPicture({ ...SQUARE, gain: [1.1, 1.1, 1.1] }))).toBeNull();
	expect(bleedOf(cardPicture({ ...SQUARE, widthPx: 460, heightPx: 350, pxPerMm: 4.7 }))).toBeNull();
});

test.skipIf(!hasCodec)(
	'through a real encoder smeared colour is still told, and clean colour still silent',
	async () => {
		const throughCodec = async (raster: Raster): Promise<Raster> => {
			const { widthPx, heightPx } = raster;
			const encoder = await openH264Encoder({
				widthPx,
				heightPx,
				rateHz: 30,
				bitrateKbps: 2000,
				keyEveryFrames: 30,
			});
			const decoder = await openH264Decoder();
			const planes = rasterToPlanes(raster, BT709);
			let last = raster;
			for (let frame = 0; frame < 3; frame++) {
				const decoded = decoder.decode(encoder.encode(planes).bytes, frame);
				if (decoded !== null) last = planesToRaster(decoded.planes, BT709);
			}
			encoder.close();
			decoder.close();
			return last;
		};
		const clean = cardPicture(SQUARE);
		expect(bleedOf(await throughCodec(clean))).toBeLessThan(0.02);
		expect(bleedOf(await throughCodec(through(clean, runsOver)))).toBeGreaterThan(0.1);
	},
);

test('the paper beside the patches is bare as far as it is looked at, at the fewest pixels to a millimetre', () => {
	const patchBoxes = new Set(detailPatches.map(({ box }) => `${box.x} ${box.y}`));
	const reachMm = 24 / 5;
	const { x: left, y: top, width, height } = PATCH_FIELD;
	// Half of a patch along the rim on either side is never looked at.
	const spare = { x: width / 32, y: height / 16 };
	const [, ...shapes] = detailShapes();
	for (const shape of shapes) {
		const bounds = boundsOf(shape);
		if (patchBoxes.has(`${bounds.left} ${bounds.top}`)) continue;
		const overlaps = (x0: number, x1: number, y0: number, y1: number): boolean =>
			bounds.right > x0 && bounds.left < x1 && bounds.bottom > y0 && bounds.top < y1;
		const beside = overlaps(left - reachMm, left + width + reachMm, top + spare.y, top + height - spare.y);
		const above = overlaps(left + spare.x, left + width - spare.x, top - reachMm, top + height + reachMm);
		expect([beside, above]).toEqual([false, false]);
	}
});

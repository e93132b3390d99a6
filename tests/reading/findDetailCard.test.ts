import { describe, expect, test } from 'vitest';
import { decodeSrgb, encodeSrgb } from '../../src/colour/srgbTransfer.ts';
import { lumaOf } from '../../src/imaging/planes.ts';
import { createRaster, type Raster } from '../../src/imaging/raster.ts';
import { rasterToPlanes } from '../../src/imaging/rasterToPlanes.ts';
import { barePlaces, detailPatches, detailShapes, RING_CENTRES } from '../../src/pattern/detailCard.ts';
import { type CardPose, fitCardPose } from '../../src/reading/cardPose.ts';
import { readDetail, readPatchParts, referenceEdges } from '../../src/reading/detailCardReading.ts';
import { findDetailCard } from '../../src/reading/findDetailCard.ts';
import { cardPicture, cardPlaceOf, type View } from './madeCardPicture.ts';

const lumaIn = (raster: Raster) => lumaOf(rasterToPlanes(raster, { matrix: '709', range: 'full' }));
const USUAL = { widthPx: 760, heightPx: 580, pxPerMm: 6.5 };

function found(raster: Raster): CardPose {
	const card = findDetailCard(lumaIn(raster));
	if (card.kind === 'notMeasured') throw new Error(card.explanation);
	return card.pose;
}

const views: readonly (readonly [string, View])[] = [
	['square on', USUAL],
	['turned by 33 degrees', { ...USUAL, turnDeg: 33 }],
	['upside down and tilted', { ...USUAL, turnDeg: 180, tilt: 0.2 }],
	['in a barrel, on its side', { ...USUAL, turnDeg: 95, bend: -0.2 }],
	['in a pincushion', { ...USUAL, turnDeg: -12, bend: 0.12, pxPerMm: 5.6 }],
	[
		'in a round field, barrel and tilt',
		{ ...USUAL, turnDeg: -50, bend: -0.25, tilt: 0.15, round: true, pxPerMm: 5.2 },
	],
	['mirrored', { ...USUAL, turnDeg: 20, mirrored: true }],
];

describe.each(views)('the card %s', (_, view) => {
	const raster = cardPicture(view);
	const pose = found(raster);

	test('is found to 0.15 mm everywhere, its corners too, and says how it lies', () => {
		const truth = cardPlaceOf(view);
		for (const x of [1, 20, 40, 60, 79])
			for (const y of [1, 15, 30, 45, 59]) {
				const at = pose.toPicture({ x, y });
				const back = truth(at.x, at.y);
				expect(Math.hypot(back.x - x, back.y - y)).toBeLessThan(0.15);
			}
		expect(pose.mirrored).toBe(view.mirrored ?? false);
		expect(Math.abs(pose.bendRatio - (view.bend ?? 0))).toBeLessThan(0.04);
	});

	test('gives every patch within 0.3 code', () => {
		const parts = readPatchParts(raster, pose, 2);
		for (const [i, { rgb }] of detailPatches.entries())
			for (const c of [0, 1, 2] as const)
				expect(Math.abs(parts.reduce((sum, part) => sum + part[i]![c] / 4, 0) - rgb[c])).toBeLessThan(0.3);
	});
});

const SHARP: View = { widthPx: 840, heightPx: 740, pxPerMm: 7.8 };

/** A Gaussian of 1.4 px on the codes' light is what every view gets, so the edges must read the same at every turn. */
test('edges read the same within 3 % at every turn, tilt and bend', () => {
	const middles = [
		{ ...SHARP },
		{ ...SHARP, turnDeg: 33 },
		{ ...SHARP, turnDeg: 95, tilt: 0.1 },
		{ ...SHARP, turnDeg: -20, bend: -0.15 },
	].map((view) => {
		const raster = softened(cardPicture(view));
		const edges = readDetail([raster], found(raster), null).edges.map(({ mtf50CyPx }) => mtf50CyPx);
		expect(edges.length).toBeGreaterThanOrEqual(5);
		return edges.toSorted((a, b) => a - b)[edges.length >> 1]!;
	});
	for (const middle of middles) expect(Math.abs(middle / middles[0]! - 1)).toBeLessThan(0.03);
});

/** Two passes of 1 4 6 4 1 both ways, in linear light. */
function softened({ widthPx, heightPx, rgba }: Raster): Raster {
	let light = Float32Array.from(rgba, (code) => LIGHT[code]!);
	for (const step of [4, 4 * widthPx, 4, 4 * widthPx]) {
		const next = light.slice();
		for (let at = 2 * step; at < light.length - 2 * step; at++)
			next[at] =
				(light[at - 2 * step]! +
					light[at + 2 * step]! +
					4 * (light[at - step]! + light[at + step]!) +
					6 * light[at]!) /
				16;
		light = next;
	}
	const codes = Uint8ClampedArray.from(light, (value, at) =>
		at % 4 === 3 ? 255 : CODES[Math.round(65_535 * value)]!,
	);
	return { widthPx, heightPx, rgba: codes };
}
const CODES = Float32Array.from({ length: 65_536 }, (_, i) => encodeSrgb(i / 65_535));
const LIGHT = Float32Array.from({ length: 256 }, (_, code) => decodeSrgb(code));

test('the finest lines are lost when the picture gets smaller, the wide ones stay', () => {
	const near = cardPicture({ ...USUAL, widthPx: 980, heightPx: 740, pxPerMm: 12 });
	const far = cardPicture({ ...USUAL, pxPerMm: 5 });
	const seen = (raster: Raster) => {
		const { lines } = readDetail([raster], found(raster), null);
		return lines
			.filter((line) => line.seen && line.seenByColour && line.axis === 'across')
			.map(({ width }) => width);
	};
	expect(seen(near)).toContain(0.15);
	expect(seen(far)).toContain(0.4);
	expect(seen(far)).not.toContain(0.1);
});

test('noise of known size is read on the greys, and the same picture twice says frozen', () => {
	const [first, second] = [3, 3].map((noiseCodes) => cardPicture({ ...USUAL, noiseCodes }));
	const pose = found(first!);
	expect(readDetail([first!, second!], pose, null).noise.every(({ frozen }) => frozen)).toBe(true);
	const alone = readDetail([first!], pose, null).noise.find(({ patch }) => patch === 'neutral 152')!;
	// At a code of 152 the sRGB curve gains 1.45 % of its light a code, and three channels of own noise leave 0.75 (computed).
	expect(alone.signalToNoiseRatio! * 0.0325).toBeGreaterThan(0.8);
	expect(alone.signalToNoiseRatio! * 0.0325).toBeLessThan(1.25);
});

test('a reference from twice the distance is set against the same detail on the card', () => {
	const near = softened(cardPicture({ ...USUAL, widthPx: 980, heightPx: 740, pxPerMm: 12 }));
	const far = softened(cardPicture({ ...USUAL, pxPerMm: 6.5 }));
	const detail = readDetail([far], found(far), referenceEdges(near, found(near)));
	const ratios = detail.edges.map((edge) => edge.mtf50CyPx / edge.referenceMtf50CyPx!);
	const middle = ratios.toSorted((a, b) => a - b)[ratios.length >> 1]!;
	// The same blur in pixels is 12 / 6.5 times as wide on the card.
	expect(Math.abs(middle / (6.5 / 12) - 1)).toBeLessThan(0.08);
});

function reasonOf(raster: Raster): string {
	const card = findDetailCard(lumaIn(raster));
	return card.kind === 'notMeasured' ? card.reason : 'found';
}

test('a picture that holds no card, half a card, no light or too much says which', () => {
	const grey = createRaster(640, 480);
	grey.rgba.fill(120);
	const burnt = createRaster(640, 480);
	burnt.rgba.fill(255);
	expect(reasonOf(grey)).toBe('noCard');
	expect(reasonOf(burnt)).toBe('blownOut');
	expect(reasonOf(createRaster(640, 480))).toBe('black');
	expect(reasonOf(cardPicture({ ...USUAL, off: 0.5 }))).toBe('partOfCard');
});

/** Half of the picture's right side moved down, as a sheet that is bent or torn shows it. */
function torn(raster: Raster, downPx: number): Raster {
	const { widthPx, heightPx, rgba } = raster;
	const moved = rgba.slice();
	for (let row = downPx; row < heightPx; row++)
		for (let column = Math.round(0.65 * widthPx); column < widthPx; column++) {
			const to = 4 * (row * widthPx + column);
			const from = to - 4 * widthPx * downPx;
			for (let c = 0; c < 3; c++) moved[to + c] = rgba[from + c]!;
		}
	return { ...raster, rgba: moved };
}

/** Paper over the two dots. */
function undotted(view: View): Raster {
	const raster = cardPicture(view);
	const pose = found(raster);
	for (const centre of RING_CENTRES.slice(0, 2)) {
		const at = pose.toPicture(centre);
		const reachPx = Math.round(0.8 * view.pxPerMm);
		for (let dy = -reachPx; dy <= reachPx; dy++)
			for (let dx = -reachPx; dx <= reachPx; dx++) {
				const pixel = 4 * ((Math.round(at.y) + dy) * raster.widthPx + Math.round(at.x) + dx);
				raster.rgba.fill(235, pixel, pixel + 3);
			}
	}
	return raster;
}

test('nearly black, mostly burnt out, a sheet not flat and another card with rings are told apart', () => {
	const dark = createRaster(640, 480);
	dark.rgba.fill(10);
	expect(reasonOf(dark)).toBe('black');
	const burnt = createRaster(640, 480);
	burnt.rgba.fill(120);
	burnt.rgba.fill(255, 0, 4 * 640 * 380);
	expect(reasonOf(burnt)).toBe('blownOut');
	expect(reasonOf(torn(cardPicture(USUAL), 40))).toBe('notFlat');
	expect(reasonOf(undotted(USUAL))).toBe('otherCard');
});

test('nothing on the card lies on anything else: bare places are bare, patches do not touch rings', () => {
	const [, ...shapes] = detailShapes();
	const pointsOf = shapes.flatMap((shape) => (shape.kind === 'polygon' ? [shape.corners] : []));
	for (const { x, y } of barePlaces) {
		for (const corners of pointsOf) {
			const xs = corners.map((corner) => corner.x);
			const ys = corners.map((corner) => corner.y);
			const inside =
				x > Math.min(...xs) - 1 &&
				x < Math.max(...xs) + 1 &&
				y > Math.min(...ys) - 1 &&
				y < Math.max(...ys) + 1;
			expect(inside).toBe(false);
		}
		for (const ring of RING_CENTRES) expect(Math.hypot(x - ring.x, y - ring.y)).toBeGreaterThan(4);
	}
});

test('four corners give a homography to the last digit; three are refused', () => {
	const sides = { widthPx: 100, heightPx: 80 };
	const pairs = [
		[0, 0, 10, 10],
		[6, 0, 88, 14],
		[6, 4, 80, 70],
		[0, 4, 12, 64],
	].map(([x, y, px, py]) => ({ mm: { x: x!, y: y! }, picture: { x: px!, y: py! } }));
	const pose = fitCardPose(pairs, sides);
	expect(pose.missPx).toBeLessThan(1e-9);
	expect(() => fitCardPose(pairs.slice(0, 3), sides)).toThrow(RangeError);
});

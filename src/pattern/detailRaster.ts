/** The printed card as pixels, every shape's edge smoothed by its share of a pixel in linear light: what a good printer and a good lens would give. */
import type { Rgb } from '../colour/rgb.ts';
import { decodeSrgb, encodeSrgb } from '../colour/srgbTransfer.ts';
import { createRaster, type Raster } from '../imaging/raster.ts';
import { CARD_HEIGHT_MM, CARD_WIDTH_MM, detailShapes, type Point, type Shape } from './detailCard.ts';

/** Places a pixel's coverage is taken at, each way. */
const POINTS = 6;

/** RangeError for fewer than 2 or more than 60 pixels a millimetre. */
export function drawDetailCard(pxPerMm: number): Raster {
	if (!(pxPerMm >= 2 && pxPerMm <= 60))
		throw new RangeError(`the card is drawn with 2 to 60 px/mm, got ${pxPerMm}`);
	const widthPx = Math.round(CARD_WIDTH_MM * pxPerMm);
	const heightPx = Math.round(CARD_HEIGHT_MM * pxPerMm);
	const light = new Float32Array(widthPx * heightPx * 3).fill(1);
	for (const shape of detailShapes()) fillShape(light, shape, { widthPx, heightPx, pxPerMm });
	const raster = createRaster(widthPx, heightPx);
	for (let at = 0; at < widthPx * heightPx; at++)
		for (let channel = 0; channel < 3; channel++)
			raster.rgba[4 * at + channel] = encodeSrgb(light[3 * at + channel]!);
	return raster;
}

type Sheet = { readonly widthPx: number; readonly heightPx: number; readonly pxPerMm: number };

function fillShape(light: Float32Array, shape: Shape, { widthPx, heightPx, pxPerMm }: Sheet): void {
	const ink = linear(shape.rgb);
	const { left, top, right, bottom } = boundsOf(shape);
	const toRow = Math.min(heightPx - 1, Math.ceil(bottom * pxPerMm));
	const toColumn = Math.min(widthPx - 1, Math.ceil(right * pxPerMm));
	for (let row = Math.max(0, Math.floor(top * pxPerMm) - 1); row <= toRow; row++)
		for (let column = Math.max(0, Math.floor(left * pxPerMm) - 1); column <= toColumn; column++) {
			const covered = coverage(shape, { x: column / pxPerMm, y: row / pxPerMm }, 1 / pxPerMm);
			if (covered === 0) continue;
			const at = 3 * (row * widthPx + column);
			for (let channel = 0; channel < 3; channel++)
				light[at + channel]! += covered * (ink[channel]! - light[at + channel]!);
		}
}

function linear([red, green, blue]: Rgb): readonly number[] {
	return [decodeSrgb(red), decodeSrgb(green), decodeSrgb(blue)];
}

function coverage(shape: Shape, corner: Point, size: number): number {
	// Every shape is convex: a pixel whose corners it holds is held whole, and most are.
	const { x, y } = corner;
	const far = { x: x + size, y: y + size };
	if (
		holds(shape, corner) &&
		holds(shape, far) &&
		holds(shape, { x, y: far.y }) &&
		holds(shape, { x: far.x, y })
	)
		return 1;
	let inside = 0;
	for (let i = 0; i < POINTS * POINTS; i++) {
		const across = x + (((i % POINTS) + 0.5) / POINTS) * size;
		const down = y + ((Math.floor(i / POINTS) + 0.5) / POINTS) * size;
		if (holds(shape, { x: across, y: down })) inside++;
	}
	return inside / (POINTS * POINTS);
}

function holds(shape: Shape, { x, y }: Point): boolean {
	if (shape.kind === 'disc') return Math.hypot(x - shape.centre.x, y - shape.centre.y) <= shape.radius;
	return shape.corners.every((from, i) => {
		const to = shape.corners[(i + 1) % shape.corners.length]!;
		return (to.x - from.x) * (y - from.y) - (to.y - from.y) * (x - from.x) >= 0;
	});
}

/** Of what a shape covers, in the card's mm. */
export function boundsOf(shape: Shape) {
	const xs =
		shape.kind === 'disc'
			? [-1, 1].map((s) => shape.centre.x + s * shape.radius)
			: shape.corners.map(({ x }) => x);
	const ys =
		shape.kind === 'disc'
			? [-1, 1].map((s) => shape.centre.y + s * shape.radius)
			: shape.corners.map(({ y }) => y);
	return { left: Math.min(...xs), right: Math.max(...xs), top: Math.min(...ys), bottom: Math.max(...ys) };
}

/**
 * Our own finder of markers' frames: dark regions at three window sizes, those whose border has four straight or evenly curved sides,
 * with corners from lines fitted to the edge at sub-pixel places (quadSides.ts). Says where a frame may be; reading its cells says whether.
 */
import type { LumaPlane } from '../imaging/planes.ts';
import { darkOutlines, lumaSums, type Outline } from './darkRegions.ts';
import type { MarkerQuad, Point } from './opticalTypes.ts';
import { distance, fitSide, meet } from './quadSides.ts';

/** Windows for large, middle and small markers, as parts of the picture's shorter side. */
const WINDOW_PARTS = [1 / 6, 1 / 16, 1 / 40];
const MARGIN = 7;
/** Frame side below which a marker's modules are under 2.5 pixels and cannot be read. */
const LEAST_SIDE_PX = 24;
/** A border may stray from its four curves by this share of a side (and by a pixel and a half). */
const MOST_STRAY = 0.045;
/** Sides and the sine of corners of a quad that can be read. */
const LEAST_SIDE_RATIO = 0.2;
const LEAST_CORNER_SINE = 0.25;
/** Quads whose middles lie within this share of a side are one. */
const SAME_MIDDLE = 0.2;

/** Markers' frames anywhere in the picture, larger first. Anything dark with four sides may come; reading the cells decides. */
export function findMarkers(luma: LumaPlane): MarkerQuad[] {
	return [...markersByWindow(luma)].sort((a, b) => sideOf(b) - sideOf(a));
}

/** The same one by one, as each window finds them: whoever has found what was looked for need not search on. */
export function* markersByWindow(luma: LumaPlane): Generator<MarkerQuad> {
	const shorter = Math.min(luma.widthPx, luma.heightPx);
	const sums = lumaSums(luma);
	const quads: MarkerQuad[] = [];
	for (const part of WINDOW_PARTS) {
		const reachPx = Math.max(4, Math.round((shorter * part) / 2));
		for (const outline of darkOutlines(luma, { reachPx, margin: MARGIN, leastPx: LEAST_SIDE_PX, sums })) {
			const quad = toQuad(luma, outline);
			if (quad === null || quads.some((known) => isSame(known, quad))) continue;
			quads.push(quad);
			yield quad;
		}
	}
}

/** Mean length of the sides. */
export function sideOf({ corners }: MarkerQuad): number {
	return corners.reduce((sum, corner, i) => sum + distance(corner, corners[(i + 1) & 3]!) / 4, 0);
}

export function middleOf({ corners }: MarkerQuad): Point {
	return {
		xPx: corners.reduce((sum, { xPx }) => sum + xPx / 4, 0),
		yPx: corners.reduce((sum, { yPx }) => sum + yPx / 4, 0),
	};
}

function isSame(a: MarkerQuad, b: MarkerQuad): boolean {
	const side = Math.min(sideOf(a), sideOf(b));
	return (
		distance(middleOf(a), middleOf(b)) < SAME_MIDDLE * side &&
		sideOf(a) < 1.25 * sideOf(b) &&
		sideOf(b) < 1.25 * sideOf(a)
	);
}

function toQuad(luma: LumaPlane, { points }: Outline): MarkerQuad | null {
	const places = roughCorners(points);
	if (places === null) return null;
	const rough = places.map((place) => ({ xPx: points[2 * place]!, yPx: points[2 * place + 1]! }));
	if (!isReadable(rough) || strays(points, places, rough)) return null;
	const sides = rough.map((corner, i) => fitSide(luma, corner, rough[(i + 1) & 3]!));
	const corners: Point[] = [];
	for (let i = 0; i < 4; i++) {
		const before = sides[(i + 3) & 3];
		const after = sides[i];
		if (before === undefined || after === undefined || before === null || after === null) return null;
		const corner = meet(before, after);
		if (corner === null || distance(corner, rough[i]!) > 0.2 * distance(rough[i]!, rough[(i + 1) & 3]!))
			return null;
		corners.push(corner);
	}
	if (!isReadable(corners)) return null;
	const bulges = sides.map((side) => (side === null ? { xPx: 0, yPx: 0 } : side.bulge));
	return { corners: four(corners), bulges: four(bulges) };
}

function four(points: readonly Point[]): [Point, Point, Point, Point] {
	return [points[0]!, points[1]!, points[2]!, points[3]!];
}

/** Places on the border of its four corners, in order: the farthest from the middle, its opposite, and the farthest on either side. */
function roughCorners(points: Int32Array): number[] | null {
	const count = points.length / 2;
	if (count < 4 * LEAST_SIDE_PX * 0.7) return null;
	let [middleX, middleY] = [0, 0];
	for (let i = 0; i < count; i++) {
		middleX += points[2 * i]! / count;
		middleY += points[2 * i + 1]! / count;
	}
	const first = farthest(points, (x, y) => (x - middleX) ** 2 + (y - middleY) ** 2);
	const [x0, y0] = [points[2 * first]!, points[2 * first + 1]!];
	const third = farthest(points, (x, y) => (x - x0) ** 2 + (y - y0) ** 2);
	const [dx, dy] = [points[2 * third]! - x0, points[2 * third + 1]! - y0];
	const second = farthest(points, (x, y) => dx * (y - y0) - dy * (x - x0));
	const fourth = farthest(points, (x, y) => -(dx * (y - y0) - dy * (x - x0)));
	const places = [...new Set([first, second, third, fourth])].sort((a, b) => a - b);
	return places.length === 4 ? places : null;
}

function farthest(points: Int32Array, measure: (x: number, y: number) => number): number {
	let best = 0;
	let greatest = Number.NEGATIVE_INFINITY;
	for (let i = 0; i < points.length / 2; i++) {
		const value = measure(points[2 * i]!, points[2 * i + 1]!);
		if (value > greatest) {
			greatest = value;
			best = i;
		}
	}
	return best;
}

function isReadable(corners: readonly Point[]): boolean {
	const sides = corners.map((corner, i) => distance(corner, corners[(i + 1) & 3]!));
	if (Math.min(...sides) < Math.max(LEAST_SIDE_PX * 0.6, LEAST_SIDE_RATIO * Math.max(...sides))) return false;
	return corners.every((corner, i) => {
		const next = corners[(i + 1) & 3]!;
		const last = corners[(i + 3) & 3]!;
		const cross =
			(next.xPx - corner.xPx) * (last.yPx - corner.yPx) - (next.yPx - corner.yPx) * (last.xPx - corner.xPx);
		// Clockwise with y down: the same sign at every corner.
		return cross / (distance(corner, next) * distance(corner, last)) > LEAST_CORNER_SINE;
	});
}

/** Whether the border leaves the parabola over each side by more than a frame's edge does. */
function strays(points: Int32Array, places: readonly number[], corners: readonly Point[]): boolean {
	const count = points.length / 2;
	for (let side = 0; side < 4; side++) {
		const from = places[side]!;
		const until = side === 3 ? places[0]! + count : places[side + 1]!;
		const [a, b] = [corners[side]!, corners[(side + 1) & 3]!];
		const length = distance(a, b);
		const offsets: [along: number, off: number][] = [];
		for (let place = from; place < until; place++) {
			const at = 2 * (place % count);
			const [x, y] = [points[at]! - a.xPx, points[at + 1]! - a.yPx];
			const [ux, uy] = [(b.xPx - a.xPx) / length, (b.yPx - a.yPx) / length];
			offsets.push([(x * ux + y * uy) / length, x * -uy + y * ux]);
		}
		const height = parabolaHeight(offsets);
		if (Math.abs(height) > 0.15 * length) return true;
		const squares = offsets.reduce(
			(sum, [along, off]) => sum + (off - height * 4 * along * (1 - along)) ** 2,
			0,
		);
		if (Math.sqrt(squares / offsets.length) > MOST_STRAY * length + 1) return true;
	}
	return false;
}

function parabolaHeight(offsets: readonly (readonly [along: number, off: number])[]): number {
	let [sum, weights] = [0, 0];
	for (const [along, off] of offsets) {
		const shape = 4 * along * (1 - along);
		sum += shape * off;
		weights += shape * shape;
	}
	return weights > 0 ? sum / weights : 0;
}

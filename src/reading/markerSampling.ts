/**
 * A marker's cells read at a known place in a picture: where each point of the marker lies (perspective by homography, barrel by the
 * sides' bulges), which pixels to take there, and the soft vector from them.
 *
 * Luma is turned back into light first (exponent 2.2, near every camera's curve), because screens, crystals and exposures mix light:
 * only then is a blend of two pictures half way between their vectors. Each pair is divided by white less black as they are
 * on the four sides at its place, so that a shade or a cast over the marker does not matter.
 */
import type { LumaPlane } from '../imaging/planes.ts';
import { PAIRS } from '../pattern/markerCode.ts';
import {
	CELLS_ACROSS,
	CELLS_FROM,
	type Cell,
	cornerPlaces,
	labelPlaces,
	MODULES,
	pairPlaces,
	RIM_MODULES,
} from '../pattern/markerFace.ts';
import type { MarkerPose, Point } from './opticalTypes.ts';

const TONE_EXPONENT = 2.2;
const light = Float64Array.from({ length: 256 }, (_, code) => (code / 255) ** TONE_EXPONENT);
const FRAME_MODULES = MODULES - 2 * RIM_MODULES;
/** Points of a cell, in modules from its middle. */
const SPREAD = [-0.22, 0, 0.22];

/** Maps a place on the marker, in modules from its rim's corner, into the picture. */
export type MarkerMap = (column: number, row: number) => Point;

export function markerMap({ quad, firstCorner, mirrored }: MarkerPose): MarkerMap {
	const order = [0, 1, 2, 3].map((i) => (firstCorner + (mirrored ? 4 - i : i)) & 3);
	const corners = order.map((i) => quad.corners[i]!);
	// Side i goes from corner i to the next in the marker's own order.
	const bulges = order.map((i) => quad.bulges[mirrored ? (i + 3) & 3 : i]!);
	const project = homography(corners);
	return (column, row) => {
		const s = (column - RIM_MODULES) / FRAME_MODULES;
		const t = (row - RIM_MODULES) / FRAME_MODULES;
		const { xPx, yPx } = project(s, t);
		const across = 4 * s * (1 - s);
		const down = 4 * t * (1 - t);
		const weights = [across * (1 - t), down * s, across * t, down * (1 - s)];
		let [x, y] = [xPx, yPx];
		for (let side = 0; side < 4; side++) {
			x += weights[side]! * bulges[side]!.xPx;
			y += weights[side]! * bulges[side]!.yPx;
		}
		return { xPx: x, yPx: y };
	};
}

/** Unit square to a quad: (0,0) (1,0) (1,1) (0,1). */
function homography(corners: readonly Point[]): (s: number, t: number) => Point {
	const [p0, p1, p2, p3] = [corners[0]!, corners[1]!, corners[2]!, corners[3]!];
	const dx1 = p1.xPx - p2.xPx;
	const dx2 = p3.xPx - p2.xPx;
	const dx3 = p0.xPx - p1.xPx + p2.xPx - p3.xPx;
	const dy1 = p1.yPx - p2.yPx;
	const dy2 = p3.yPx - p2.yPx;
	const dy3 = p0.yPx - p1.yPx + p2.yPx - p3.yPx;
	const cross = dx1 * dy2 - dx2 * dy1;
	const g = (dx3 * dy2 - dx2 * dy3) / cross;
	const h = (dx1 * dy3 - dx3 * dy1) / cross;
	const [a, b] = [p1.xPx - p0.xPx + g * p1.xPx, p3.xPx - p0.xPx + h * p3.xPx];
	const [d, e] = [p1.yPx - p0.yPx + g * p1.yPx, p3.yPx - p0.yPx + h * p3.yPx];
	return (s, t) => {
		const w = g * s + h * t + 1;
		return { xPx: (a * s + b * t + p0.xPx) / w, yPx: (d * s + e * t + p0.yPx) / w };
	};
}

/** Pixels and weights of many places at once: TAPS each. */
type Taps = { readonly pixels: Int32Array; readonly weights: Float32Array; readonly perPlace: number };

export type MarkerSampler = {
	/** The soft vector into `into` from `at` on. False: too little contrast to read. */
	readVector(luma: LumaPlane, into: Float32Array, at: number): boolean;
	/** The still cells against half way between black and white: 1 light, 0 dark. */
	readLabel(luma: LumaPlane): Uint8Array;
};

export type FaceSeen = {
	/** Share of the rim's places that are light and of the frame's that are dark. */
	readonly ringRatio: number;
	/** The corner that is light, or -1. */
	readonly lightCorner: number;
	/** White less black, in codes. */
	readonly contrast: number;
};

const SIDES = 4;
const PLACES_PER_SIDE = 9;
/** Share of full light that white and black must differ by. */
const LEAST_CONTRAST = 0.012;

/** A sampler for pictures of one size; null when the marker does not lie wholly inside. */
export function createMarkerSampler(
	pose: MarkerPose,
	{ stride, widthPx, heightPx }: PlaneSize,
): MarkerSampler | null {
	const map = markerMap(pose);
	const size = { stride, widthPx, heightPx };
	const first = cellTaps(
		map,
		pairPlaces.map(([cell]) => cell),
		size,
	);
	const second = cellTaps(
		map,
		pairPlaces.map(([, cell]) => cell),
		size,
	);
	const label = cellTaps(map, labelPlaces, size);
	const rings = ringTaps(map, size);
	if (first === null || second === null || label === null || rings === null) return null;
	const { white, black } = rings;

	const references = (luma: LumaPlane) => ({ whites: sidesOf(luma, white), blacks: sidesOf(luma, black) });
	return {
		readVector(luma, into, at) {
			const { whites, blacks } = references(luma);
			const spans = whites.map((value, side) => value - blacks[side]!);
			if (mean(spans) < LEAST_CONTRAST) return false;
			const least = 0.25 * mean(spans);
			for (let pair = 0; pair < PAIRS; pair++) {
				const span = Math.max(least, atPlace(spans, pairPlaces[pair]![0]));
				into[at + pair] = (take(luma, first, pair) - take(luma, second, pair)) / span;
			}
			return true;
		},
		readLabel(luma) {
			const { whites, blacks } = references(luma);
			return Uint8Array.from(labelPlaces, (cell, place) =>
				take(luma, label, place) > (atPlace(whites, cell) + atPlace(blacks, cell)) / 2 ? 1 : 0,
			);
		},
	};
}

/** What a marker's rim, frame and corners look like in this pose, without its cells; null when it does not lie wholly inside. */
export function checkFace(pose: MarkerPose, luma: LumaPlane): FaceSeen | null {
	const map = markerMap(pose);
	const corner = cellTaps(map, cornerPlaces, luma);
	const rings = ringTaps(map, luma);
	if (corner === null || rings === null) return null;
	const { white, black } = rings;
	return faceOf(luma, { white, black, corner, whites: sidesOf(luma, white), blacks: sidesOf(luma, black) });
}

type PlaneSize = Pick<LumaPlane, 'stride' | 'widthPx' | 'heightPx'>;

function cellTaps(map: MarkerMap, places: readonly Cell[], size: PlaneSize): Taps | null {
	return tapsOf(
		places.flatMap((cell) => cellPoints(map, cell)),
		9,
		size,
	);
}

function ringTaps(map: MarkerMap, size: PlaneSize): { readonly white: Taps; readonly black: Taps } | null {
	const white = tapsOf(ringPoints(map, RIM_MODULES / 2), 1, size);
	const black = tapsOf(ringPoints(map, RIM_MODULES + 0.5), 1, size);
	return white === null || black === null ? null : { white, black };
}

type Face = {
	readonly white: Taps;
	readonly black: Taps;
	readonly corner: Taps;
	readonly whites: readonly number[];
	readonly blacks: readonly number[];
};

function faceOf(luma: LumaPlane, { white, black, corner, whites, blacks }: Face): FaceSeen {
	const middle = (mean(whites) + mean(blacks)) / 2;
	const count = SIDES * PLACES_PER_SIDE;
	let right = 0;
	for (let place = 0; place < count; place++) {
		if (take(luma, white, place) > middle) right++;
		if (take(luma, black, place) < middle) right++;
	}
	const lights = cornerPlaces.flatMap((_, place) => (take(luma, corner, place) > middle ? [place] : []));
	const contrast = 255 * (codeOf(mean(whites)) - codeOf(mean(blacks)));
	return { ringRatio: right / (2 * count), lightCorner: lights.length === 1 ? lights[0]! : -1, contrast };
}

function codeOf(linear: number): number {
	return Math.max(0, linear) ** (1 / TONE_EXPONENT);
}

function cellPoints(map: MarkerMap, { column, row }: Cell): Point[] {
	return SPREAD.flatMap((down) => SPREAD.map((across) => map(column + 0.5 + across, row + 0.5 + down)));
}

/** Places along a square `inset` modules inside the marker's edge: top, right, bottom, left. */
function ringPoints(map: MarkerMap, inset: number): Point[] {
	const far = MODULES - inset;
	const places = Array.from(
		{ length: PLACES_PER_SIDE },
		(_, i) => 2 + (i * (MODULES - 4)) / (PLACES_PER_SIDE - 1),
	);
	return [
		...places.map((place) => map(place, inset)),
		...places.map((place) => map(far, place)),
		...places.map((place) => map(place, far)),
		...places.map((place) => map(inset, place)),
	];
}

function tapsOf(
	points: readonly Point[],
	pointsPerPlace: number,
	{ stride, widthPx, heightPx }: PlaneSize,
): Taps | null {
	const pixels = new Int32Array(points.length * 4);
	const weights = new Float32Array(points.length * 4);
	for (const [i, { xPx, yPx }] of points.entries()) {
		const left = Math.floor(xPx);
		const top = Math.floor(yPx);
		if (!(left >= 0 && top >= 0 && left + 1 < widthPx && top + 1 < heightPx)) return null;
		const [fx, fy] = [xPx - left, yPx - top];
		const at = top * stride + left;
		pixels.set([at, at + 1, at + stride, at + stride + 1], 4 * i);
		weights.set([(1 - fx) * (1 - fy), fx * (1 - fy), (1 - fx) * fy, fx * fy], 4 * i);
	}
	for (let i = 0; i < weights.length; i++) weights[i]! /= pointsPerPlace;
	return { pixels, weights, perPlace: 4 * pointsPerPlace };
}

function take({ data }: LumaPlane, { pixels, weights, perPlace }: Taps, place: number): number {
	let sum = 0;
	for (let i = place * perPlace; i < (place + 1) * perPlace; i++)
		sum += weights[i]! * light[data[pixels[i]!]!]!;
	return sum;
}

function sidesOf(luma: LumaPlane, taps: Taps): number[] {
	return [0, 1, 2, 3].map((side) => {
		let sum = 0;
		for (let i = 0; i < PLACES_PER_SIDE; i++) sum += take(luma, taps, side * PLACES_PER_SIDE + i);
		return sum / PLACES_PER_SIDE;
	});
}

/** Between the four sides' values, at a cell. */
function atPlace([top, right, bottom, left]: readonly number[], { column, row }: Cell): number {
	const s = (column + 0.5 - CELLS_FROM) / CELLS_ACROSS;
	const t = (row + 0.5 - CELLS_FROM) / CELLS_ACROSS;
	return (top! * (1 - t) + bottom! * t + left! * (1 - s) + right! * s) / 2;
}

function mean(values: readonly number[]): number {
	return values.reduce((sum, value) => sum + value, 0) / values.length;
}

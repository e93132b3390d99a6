/**
 * The printed card of colour and detail, for the scope's own lamp: everything on it as shapes in millimetres, and where a
 * reader finds what. 80 mm by 60 mm of matt paper.
 *
 * Nine rings on a grid of three by three; those at the upper left and upper middle hold a dot, which tells turned from
 * mirrored. Between them colour patches (the link card's own set), groups of red lines on pink, upright and
 * lying, and two squares of different slant: one beside the middle, one towards a corner, for detail in the centre and at the edge of a view. The bare paper between serves for the light. Our own layout.
 */
import type { Rgb } from '../colour/rgb.ts';
import { type PatchRole, palette } from './patches.ts';

export const CARD_WIDTH_MM = 80;
export const CARD_HEIGHT_MM = 60;

export type Point = { readonly x: number; readonly y: number };
export type Shape =
	| { readonly kind: 'disc'; readonly centre: Point; readonly radius: number; readonly rgb: Rgb }
	/** Corners in order, convex. */
	| { readonly kind: 'polygon'; readonly corners: readonly Point[]; readonly rgb: Rgb };
export type Box = { readonly x: number; readonly y: number; readonly width: number; readonly height: number };

const PAPER: Rgb = [255, 255, 255];
const INK: Rgb = [26, 26, 26];

/** Row by row; dotted are the first two. */
export const RING_CENTRES: readonly Point[] = [5, 30, 55].flatMap((y) => [5, 40, 75].map((x) => ({ x, y })));
export const RING_RADIUS_MM = 3;
export const RING_HOLE_MM = 1.5;
const DOT_MM = 0.65;
const DOTTED_RINGS = 2;

export type DetailPatch = {
	readonly name: string;
	readonly role: PatchRole;
	readonly rgb: Rgb;
	readonly box: Box;
	/** What is averaged. */
	readonly inner: Box;
};

const PATCH_COLUMNS = 8;
export const PATCH_FIELD: Box = { x: 9, y: 9, width: 27, height: 18 };
/** Share of a patch left out at each side. */
const PATCH_MARGIN = 0.25;

export const detailPatches: readonly DetailPatch[] = palette.map(([name, role, rgb], i) => {
	const width = PATCH_FIELD.width / PATCH_COLUMNS;
	const height = PATCH_FIELD.height / Math.ceil(palette.length / PATCH_COLUMNS);
	const x = PATCH_FIELD.x + (i % PATCH_COLUMNS) * width;
	const y = PATCH_FIELD.y + Math.floor(i / PATCH_COLUMNS) * height;
	const box = { x, y, width, height };
	return { name, role, rgb, box, inner: shrunk(box, PATCH_MARGIN) };
});

function shrunk({ x, y, width, height }: Box, margin: number): Box {
	return {
		x: x + margin * width,
		y: y + margin * height,
		width: (1 - 2 * margin) * width,
		height: (1 - 2 * margin) * height,
	};
}

const SQUARE_SIDE_MM = 11;
const SQUARE_INK: Rgb = [120, 120, 120];
const squares = [
	{ name: 'outer', centre: { x: 64.5, y: 14.5 }, slantDeg: 6 },
	{ name: 'inner', centre: { x: 50, y: 39 }, slantDeg: 12 },
] as const;

export type DetailEdge = {
	readonly place: string;
	/** Middle of the edge: a reader looks round it, so far each way that no other edge comes in. */
	readonly middle: Point;
	/** Another point on it. */
	readonly along: Point;
	readonly reachMm: number;
};

const SIDES = ['right', 'lower', 'left', 'upper'] as const;

export const detailEdges: readonly DetailEdge[] = squares.flatMap(({ name, centre, slantDeg }) =>
	SIDES.map((side, i) => ({
		place: `${name} square, ${side} side`,
		middle: turned({ x: SQUARE_SIDE_MM / 2, y: 0 }, { about: centre, deg: slantDeg + 90 * i }),
		along: turned({ x: SQUARE_SIDE_MM / 2, y: 2 }, { about: centre, deg: slantDeg + 90 * i }),
		reachMm: 2.4,
	})),
);

function turned({ x, y }: Point, { about, deg }: { about: Point; deg: number }): Point {
	const cosine = Math.cos((deg * Math.PI) / 180);
	const sine = Math.sin((deg * Math.PI) / 180);
	return { x: about.x + cosine * x - sine * y, y: about.y + sine * x + cosine * y };
}

export const LINE_GROUND: Rgb = [214, 148, 140];
export const LINE_INK: Rgb = [160, 52, 58];
const LINE_WIDTHS_MM = [0.8, 0.6, 0.4, 0.3, 0.2, 0.15, 0.1] as const;
const LINE_PERIODS = 4;
const LINE_FIELD: Box = { x: 9, y: 33, width: 27, height: 18 };

export type DetailLines = {
	readonly widthMm: number;
	/** `across`: the lines stand, and the box is crossed from left to right. */
	readonly axis: 'across' | 'down';
	/** Whole periods, a line first. */
	readonly box: Box;
};

export const detailLines: readonly DetailLines[] = [...standingLines(), ...lyingLines()];

function standingLines(): DetailLines[] {
	let x = LINE_FIELD.x + 0.5;
	return LINE_WIDTHS_MM.map((widthMm) => {
		const width = 2 * widthMm * LINE_PERIODS;
		const box = { x, y: LINE_FIELD.y + 0.8, width, height: 8.5 };
		x += width + 0.95;
		return { widthMm, axis: 'across' as const, box };
	});
}

function lyingLines(): DetailLines[] {
	return LINE_WIDTHS_MM.map((widthMm, i) => ({
		widthMm,
		axis: 'down' as const,
		box: {
			x: LINE_FIELD.x + 0.6 + i * 3.7,
			y: LINE_FIELD.y + 11,
			width: 3,
			height: 2 * widthMm * LINE_PERIODS,
		},
	}));
}

/** Bare paper, clear of everything by a millimetre: middles of places where the light is read. */
export const barePlaces: readonly Point[] = [
	...[4, 30, 56].flatMap((y) => [14, 22, 30, 50, 58, 66].map((x) => ({ x, y }))),
	...[14, 22, 38, 46].flatMap((y) => [3.5, 40, 76.5].map((x) => ({ x, y }))),
];
export const BARE_REACH_MM = 0.6;

/** Everything in drawing order. */
export function detailShapes(): Shape[] {
	return [
		box({ x: 0, y: 0, width: CARD_WIDTH_MM, height: CARD_HEIGHT_MM }, PAPER),
		...RING_CENTRES.flatMap(ringShapes),
		...detailPatches.map((patch) => box(patch.box, patch.rgb)),
		...squares.map(
			({ centre, slantDeg }): Shape => ({
				kind: 'polygon',
				corners: [45, 135, 225, 315].map((deg) =>
					turned({ x: SQUARE_SIDE_MM / Math.SQRT2, y: 0 }, { about: centre, deg: deg + slantDeg }),
				),
				rgb: SQUARE_INK,
			}),
		),
		box(LINE_FIELD, LINE_GROUND),
		...detailLines.flatMap(lineShapes),
	];
}

function ringShapes(centre: Point, i: number): Shape[] {
	const disc = (radius: number, rgb: Rgb): Shape => ({ kind: 'disc', centre, radius, rgb });
	const ring = [disc(RING_RADIUS_MM, INK), disc(RING_HOLE_MM, PAPER)];
	return i < DOTTED_RINGS ? [...ring, disc(DOT_MM, INK)] : ring;
}

function lineShapes({ widthMm, axis, box: whole }: DetailLines): Shape[] {
	return Array.from({ length: LINE_PERIODS }, (_, i) =>
		box(
			axis === 'across'
				? { ...whole, x: whole.x + 2 * widthMm * i, width: widthMm }
				: { ...whole, y: whole.y + 2 * widthMm * i, height: widthMm },
			LINE_INK,
		),
	);
}

function box({ x, y, width, height }: Box, rgb: Rgb): Shape {
	const corners = [
		{ x, y },
		{ x: x + width, y },
		{ x: x + width, y: y + height },
		{ x, y: y + height },
	];
	return { kind: 'polygon', corners, rgb };
}

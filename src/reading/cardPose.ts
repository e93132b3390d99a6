/**
 * From millimetres on a flat card to pixels of a picture: a homography, then radial bending of the lens about the picture's
 * middle: r' = r (1 + k1 r^2 + k2 r^4), r in half diagonals. Fitted to marks by least squares (Gauss and Newton, damped).
 *
 * Source: the pinhole and radial model of camera calibration, common practice; no tangential term, and the lens's middle is taken
 * to be the picture's.
 */

import type { Point } from '../pattern/detailCard.ts';
import { solveLinear } from '../statistics/linearSystem.ts';

export type CardPose = {
	/** Pixel of a point of the card; pixel middles at whole numbers. */
	toPicture(mm: Point): Point;
	/** The point of the card's plane that is seen at a pixel; null where the lens shows none. */
	toCard(picture: Point): Point | null;
	/** Pixels to a millimetre at a point, mean of both directions. */
	pxPerMmAt(mm: Point): number;
	/** Root mean square by which the marks are missed. */
	readonly missPx: number;
	/** k1 at the picture's corner: below 0 is a barrel. */
	readonly bendRatio: number;
	/** How far the card is turned: direction of its upper edge in its middle, clockwise from level. */
	readonly turnedDeg: number;
	readonly mirrored: boolean;
};

export type MarkPair = { readonly mm: Point; readonly picture: Point };
type Sides = { readonly widthPx: number; readonly heightPx: number };

/** Eight of the homography (the ninth is 1), k1, k2. */
const HOMOGRAPHY = 8;
const K2 = 9;
const TURNS = 60;
/**
 * Marks of a flat card hardly tell k2: it is held towards 0 as if it were known to 0.1 beside marks good to a ten-thousandth of half a
 * diagonal (this project's choice), so that noise is not bent into the corners.
 */
const HOLD_K2 = 1e-6;
/** With this many marks or fewer there is nothing left over to fit the lens by. */
const LEAST_FOR_BEND = 6;

/** RangeError for fewer than four marks. Marks in one line have no pose: RangeError from the equations. */
export function fitCardPose(pairs: readonly MarkPair[], sides: Sides): CardPose {
	if (pairs.length < 4) throw new RangeError(`a pose needs four marks, got ${pairs.length}`);
	const frame = frameOf(pairs, sides);
	const scaled = pairs.map(({ mm, picture }) => ({ mm: frame.fromMm(mm), seen: frame.fromPx(picture) }));
	const start = [...linearHomography(scaled), 0, 0];
	const fitted = pairs.length >= LEAST_FOR_BEND ? refine(start, scaled) : start;
	const toPicture = (mm: Point): Point => frame.toPx(project(fitted, frame.fromMm(mm)));
	const squares = pairs.reduce((sum, { mm, picture }) => {
		const at = toPicture(mm);
		return sum + (at.x - picture.x) ** 2 + (at.y - picture.y) ** 2;
	}, 0);
	return {
		toPicture,
		toCard: (picture) => sought(toPicture, picture, frame.centreMm),
		pxPerMmAt: (mm) => Math.sqrt(Math.abs(areaAt(toPicture, mm))),
		missPx: Math.sqrt(squares / pairs.length),
		bendRatio: fitted[HOMOGRAPHY]!,
		...directions(toPicture, frame.centreMm),
	};
}

type Scaled = { readonly mm: Point; readonly seen: Point };

function frameOf(pairs: readonly MarkPair[], { widthPx, heightPx }: Sides) {
	const xs = pairs.map(({ mm }) => mm.x);
	const ys = pairs.map(({ mm }) => mm.y);
	const centreMm = { x: (Math.min(...xs) + Math.max(...xs)) / 2, y: (Math.min(...ys) + Math.max(...ys)) / 2 };
	const sizeMm = Math.max(Math.max(...xs) - Math.min(...xs), Math.max(...ys) - Math.min(...ys)) / 2;
	const middle = { x: (widthPx - 1) / 2, y: (heightPx - 1) / 2 };
	const half = Math.hypot(widthPx, heightPx) / 2;
	return {
		centreMm,
		fromMm: ({ x, y }: Point): Point => ({ x: (x - centreMm.x) / sizeMm, y: (y - centreMm.y) / sizeMm }),
		fromPx: ({ x, y }: Point): Point => ({ x: (x - middle.x) / half, y: (y - middle.y) / half }),
		toPx: ({ x, y }: Point): Point => ({ x: x * half + middle.x, y: y * half + middle.y }),
	};
}

function linearHomography(pairs: readonly Scaled[]): number[] {
	const normal = Array.from({ length: HOMOGRAPHY }, () => new Array<number>(HOMOGRAPHY).fill(0));
	const right = new Array<number>(HOMOGRAPHY).fill(0);
	for (const { mm, seen } of pairs)
		for (const [row, value] of [
			[[mm.x, mm.y, 1, 0, 0, 0, -mm.x * seen.x, -mm.y * seen.x], seen.x],
			[[0, 0, 0, mm.x, mm.y, 1, -mm.x * seen.y, -mm.y * seen.y], seen.y],
		] as const)
			addEquation({ normal, right }, row, value);
	return solveLinear(normal, right);
}

type Normal = { readonly normal: number[][]; readonly right: number[] };

function addEquation({ normal, right }: Normal, row: readonly number[], value: number): void {
	for (let i = 0; i < row.length; i++) {
		right[i]! += row[i]! * value;
		for (let j = 0; j < row.length; j++) normal[i]![j]! += row[i]! * row[j]!;
	}
}

function project(fitted: readonly number[], { x, y }: Point): Point {
	const [a, b, c, d, e, f, g, h, k1, k2] = fitted as readonly [
		number,
		number,
		number,
		number,
		number,
		number,
		number,
		number,
		number,
		number,
	];
	const w = g * x + h * y + 1;
	const u = (a * x + b * y + c) / w;
	const v = (d * x + e * y + f) / w;
	const squared = u * u + v * v;
	const stretch = 1 + k1 * squared + k2 * squared * squared;
	return { x: u * stretch, y: v * stretch };
}

/** Damped least squares over all ten numbers; a step that makes it worse is halved away by more damping. */
function refine(start: readonly number[], pairs: readonly Scaled[]): number[] {
	let best = [...start];
	let bestMiss = missOf(best, pairs);
	let damping = 1e-4;
	for (let turn = 0; turn < TURNS; turn++) {
		const { normal, right } = linearised(best, pairs);
		normal[K2]![K2]! += HOLD_K2;
		right[K2]! -= HOLD_K2 * best[K2]!;
		for (let i = 0; i < best.length; i++) normal[i]![i]! += damping * (normal[i]![i]! + 1e-9);
		const step = solveLinear(normal, right);
		const tried = best.map((value, i) => value + step[i]!);
		const miss = missOf(tried, pairs);
		if (miss < bestMiss) {
			const gained = bestMiss - miss;
			best = tried;
			bestMiss = miss;
			damping = Math.max(1e-12, damping / 5);
			if (gained < 1e-16) break;
		} else damping *= 8;
		if (damping > 1e6) break;
	}
	return best;
}

function missOf(fitted: readonly number[], pairs: readonly Scaled[]): number {
	return pairs.reduce(
		(sum, { mm, seen }) => {
			const at = project(fitted, mm);
			return sum + (at.x - seen.x) ** 2 + (at.y - seen.y) ** 2;
		},
		HOLD_K2 * fitted[K2]! ** 2,
	);
}

function linearised(fitted: readonly number[], pairs: readonly Scaled[]): Normal {
	const size = fitted.length;
	const normal = Array.from({ length: size }, () => new Array<number>(size).fill(0));
	const right = new Array<number>(size).fill(0);
	const tiny = 1e-6;
	for (const { mm, seen } of pairs) {
		const at = project(fitted, mm);
		const slopes = fitted.map((value, i) => {
			const moved = project(
				fitted.map((other, j) => (j === i ? value + tiny : other)),
				mm,
			);
			return { x: (moved.x - at.x) / tiny, y: (moved.y - at.y) / tiny };
		});
		addEquation(
			{ normal, right },
			slopes.map(({ x }) => x),
			seen.x - at.x,
		);
		addEquation(
			{ normal, right },
			slopes.map(({ y }) => y),
			seen.y - at.y,
		);
	}
	return { normal, right };
}

const SEEK_TURNS = 30;
const FOUND_PX = 1e-6;

/** Newton's way back, from the middle of the card. */
function sought(toPicture: (mm: Point) => Point, { x, y }: Point, from: Point): Point | null {
	let at = from;
	for (let turn = 0; turn < SEEK_TURNS; turn++) {
		const here = toPicture(at);
		const [missX, missY] = [x - here.x, y - here.y];
		if (Math.hypot(missX, missY) < FOUND_PX) return at;
		const right = toPicture({ x: at.x + STEP_MM, y: at.y });
		const lower = toPicture({ x: at.x, y: at.y + STEP_MM });
		const [a, c] = [(right.x - here.x) / STEP_MM, (right.y - here.y) / STEP_MM];
		const [b, d] = [(lower.x - here.x) / STEP_MM, (lower.y - here.y) / STEP_MM];
		const whole = a * d - b * c;
		if (!(Math.abs(whole) > 1e-9)) return null;
		at = { x: at.x + (d * missX - b * missY) / whole, y: at.y + (a * missY - c * missX) / whole };
	}
	return null;
}

const STEP_MM = 0.05;

function areaAt(toPicture: (mm: Point) => Point, { x, y }: Point): number {
	const left = toPicture({ x: x - STEP_MM, y });
	const right = toPicture({ x: x + STEP_MM, y });
	const upper = toPicture({ x, y: y - STEP_MM });
	const lower = toPicture({ x, y: y + STEP_MM });
	const area = (right.x - left.x) * (lower.y - upper.y) - (right.y - left.y) * (lower.x - upper.x);
	return area / (4 * STEP_MM * STEP_MM);
}

function directions(toPicture: (mm: Point) => Point, centre: Point) {
	const from = toPicture({ x: centre.x - 1, y: centre.y });
	const to = toPicture({ x: centre.x + 1, y: centre.y });
	return {
		turnedDeg: (Math.atan2(to.y - from.y, to.x - from.x) * 180) / Math.PI,
		mirrored: areaAt(toPicture, centre) < 0,
	};
}

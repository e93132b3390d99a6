/**
 * Where a slanted edge runs through a plane: one place a row, then a parabola through them, so that a lens's bend does not
 * count as blur. The place of a row is that of its centroid of the derivative, written as an area between the two plateaus,
 * which is the same and needs no difference of noisy neighbours; each pass looks only near the line of the pass before.
 *
 * Source: ISO 12233's outline (per-row centroid, fit), as in annotated public code; the area form is the centroid
 * integrated by parts (computed). Rows are taken as they are: a pixel is a column wide.
 */
import { fitPolynomial, type Polynomial } from '../statistics/polynomialFit.ts';
import type { RealPlane } from './realPlane.ts';

export type EdgeLine = {
	/** Column (pixel middles at whole numbers) of the edge in a row. */
	readonly columnAt: Polynomial;
	/** Levels far to the left and far to the right of the edge. */
	readonly left: number;
	readonly right: number;
};

/** Share of the width at either side that is taken as plateau in the first pass. */
const MARGIN = 0.08;
/** Half the width looked at around the line: pass after pass, as shares of the plane's width, never under 5 px. */
const REACHES = [0.35, 0.2, 0.12] as const;
const LEAST_REACH_PX = 5;
const LEAST_ROWS = 6;

/** Null when there is no step between left and right, or the edge leaves the plane. */
export function findEdgeLine(plane: RealPlane): EdgeLine | null {
	let levels = outerLevels(plane);
	if (Math.abs(levels.right - levels.left) < 1e-6) return null;
	let places = rowPlaces(plane, levels, () => [0, plane.widthPx - 1]);
	let line = fitRows(places, 1);
	if (line === null) return null;
	for (const reach of REACHES) {
		const reachPx = Math.max(LEAST_REACH_PX, reach * plane.widthPx);
		levels = levelsBeside(plane, line, reachPx) ?? levels;
		const step = levels.right - levels.left;
		if (Math.abs(step) < 1e-6) return null;
		const around: Polynomial = line;
		places = rowPlaces(plane, levels, (row) => {
			const middle = Math.round(around.at(row));
			return [Math.max(0, middle - reachPx), Math.min(plane.widthPx - 1, middle + reachPx)];
		});
		line = fitRows(places, 2);
		if (line === null) return null;
	}
	const ends = [line.at(0), line.at((plane.heightPx - 1) / 2), line.at(plane.heightPx - 1)];
	if (!ends.every((x) => x > LEAST_REACH_PX && x < plane.widthPx - 1 - LEAST_REACH_PX)) return null;
	return { columnAt: line, ...levels };
}

type Levels = { readonly left: number; readonly right: number };

function outerLevels({ widthPx, heightPx, data }: RealPlane): Levels {
	const marginPx = Math.max(2, Math.round(widthPx * MARGIN));
	let left = 0;
	let right = 0;
	for (let row = 0; row < heightPx; row++)
		for (let step = 0; step < marginPx; step++) {
			left += data[row * widthPx + step]!;
			right += data[(row + 1) * widthPx - 1 - step]!;
		}
	return { left: left / (marginPx * heightPx), right: right / (marginPx * heightPx) };
}

/** Means of what lies beyond `reachPx` at either side, and within three times that; null where too little does. */
function levelsBeside({ widthPx, heightPx, data }: RealPlane, line: Polynomial, reachPx: number) {
	const sums = [0, 0];
	const counts = [0, 0];
	for (let row = 0; row < heightPx; row++) {
		const middle = line.at(row);
		for (let column = 0; column < widthPx; column++) {
			const away = column - middle;
			if (Math.abs(away) < reachPx || Math.abs(away) > 3 * reachPx) continue;
			const side = away > 0 ? 1 : 0;
			sums[side]! += data[row * widthPx + column]!;
			counts[side]!++;
		}
	}
	if (counts[0]! < heightPx || counts[1]! < heightPx) return null;
	return { left: sums[0]! / counts[0]!, right: sums[1]! / counts[1]! };
}

type Place = { readonly row: number; readonly column: number };

function rowPlaces(
	{ widthPx, heightPx, data }: RealPlane,
	{ left, right }: Levels,
	spanOf: (row: number) => readonly [number, number],
): Place[] {
	const places: Place[] = [];
	for (let row = 0; row < heightPx; row++) {
		const [from, to] = spanOf(row).map(Math.round) as [number, number];
		if (!(to > from)) continue;
		let area = 0;
		for (let column = from; column <= to; column++) area += data[row * widthPx + column]! - left;
		places.push({ row, column: to + 0.5 - area / (right - left) });
	}
	return places;
}

/** Null where the line of the pass before has left the plane in nearly every row: what is there is no edge. */
function fitRows(places: readonly Place[], degree: number): Polynomial | null {
	if (places.length < LEAST_ROWS) return null;
	return fitPolynomial(
		places.map(({ row }) => row),
		places.map(({ column }) => column),
		degree,
	);
}

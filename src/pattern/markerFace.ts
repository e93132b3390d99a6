/**
 * How the square marker looks: 12 x 12 modules. A white rim, a black frame inside it, and in the frame 8 x 8 cells: three black
 * corners and one white (they tell which way up), 21 pairs of neighbours of which always one is light and one dark (they tell
 * the tick by their difference, whatever the light), 18 still cells (the label).
 *
 * The finder looks for the frame's outer edge, a dark square of 10 modules on a white rim. Averaged over many ticks the pairs
 * turn grey, and frame, corners and label stand out. Pairs that carry the same bit twice lie far apart, so that a bright spot
 * of the lamp seldom takes both.
 */
import { LABEL_CELLS, labelCells, type MarkerLabel, PAIRS, tickVector } from './markerCode.ts';

/** Modules along a side, rim included. */
export const MODULES = 12;
/** Modules outside the frame's outer edge, on each side. */
export const RIM_MODULES = 1;
/** First module of the cells. */
export const CELLS_FROM = 2;
export const CELLS_ACROSS = 8;

/** A cell's place in modules from the marker's upper left corner. */
export type Cell = { readonly column: number; readonly row: number };

/** The first cell of each pair and its complement to the right of it. */
export const pairPlaces: readonly (readonly [Cell, Cell])[] = placePairs();
export const labelPlaces: readonly Cell[] = placeLabel();
/** Upper left (white), upper right, lower right, lower left. */
export const cornerPlaces: readonly Cell[] = [cell(0, 0), cell(7, 0), cell(7, 7), cell(0, 7)];

/** The marker of a tick, row by row: 1 light, 0 dark; 144 modules. */
export function markerModules(tick: number, label: MarkerLabel): Uint8Array {
	const modules = new Uint8Array(MODULES * MODULES);
	const set = ({ column, row }: Cell, light: number): void => {
		modules[row * MODULES + column] = light;
	};
	for (let i = 0; i < MODULES; i++)
		for (const rim of [0, MODULES - 1]) {
			set({ column: i, row: rim }, 1);
			set({ column: rim, row: i }, 1);
		}
	set(cornerPlaces[0]!, 1);
	for (const [place, value] of labelCells(label).entries()) set(labelPlaces[place]!, value);
	for (const [pair, sign] of tickVector(tick).entries()) {
		const [first, second] = pairPlaces[pair]!;
		set(first, sign > 0 ? 1 : 0);
		set(second, sign > 0 ? 0 : 1);
	}
	return modules;
}

function cell(column: number, row: number): Cell {
	return { column: CELLS_FROM + column, row: CELLS_FROM + row };
}

/** Three pairs in the first row between the corners, three in each of the six rows below. */
function placePairs(): (readonly [Cell, Cell])[] {
	const places: (readonly [Cell, Cell])[] = [];
	for (const column of [1, 3, 5]) places.push([cell(column, 0), cell(column + 1, 0)]);
	for (let row = 1; row <= 6; row++)
		for (const column of [0, 2, 4]) places.push([cell(column, row), cell(column + 1, row)]);
	// Steps of 8 through 21 places: a bit, its double and its checks come to lie rows apart.
	return Array.from({ length: PAIRS }, (_, pair) => places[(pair * 8) % PAIRS]!);
}

/** The two right columns of the six middle rows, then the last row between the corners. */
function placeLabel(): Cell[] {
	const places: Cell[] = [];
	for (let row = 1; row <= 6; row++) places.push(cell(6, row), cell(7, row));
	for (let column = 1; column <= 6; column++) places.push(cell(column, 7));
	return places.slice(0, LABEL_CELLS);
}

/**
 * Blockiness: mean step of luma across the lines of a codec's grid over the mean step elsewhere; 1 = no grid to be seen.
 * The grid is looked for in both sizes (8 and 16 px) and in every place, since a picture may have been cropped since.
 * It depends on the content: compare only pictures of one target.
 *
 * Source: common practice, from memory. Steps over 24 codes are left out: those are the picture's own edges.
 */
import type { LumaPlane } from './planes.ts';

export type Blockiness = {
	/** The greater of the two directions. */
	readonly ratio: number;
	readonly gridPx: 8 | 16;
	/** Where the first line of the grid lies. */
	readonly offsetXPx: number;
	readonly offsetYPx: number;
};

const OWN_EDGE_CODES = 24;
const GRIDS = [8, 16] as const;
/** Keeps a flat picture at 1: steps under this are rounding. */
const ROUNDING_CODES = 0.1;

/** RangeError for a plane under 48 px either way: a grid needs a few lines to show. */
export function measureBlockiness(luma: LumaPlane): Blockiness {
	if (luma.widthPx < 48 || luma.heightPx < 48)
		throw new RangeError(`blockiness needs 48 px each way, got ${luma.widthPx} x ${luma.heightPx}`);
	const { columns, rows } = stepsByLine(luma);
	const [fine, coarse] = GRIDS.map((gridPx) => {
		const across = strongestGrid(columns, gridPx);
		const down = strongestGrid(rows, gridPx);
		return {
			ratio: Math.max(across.ratio, down.ratio),
			gridPx,
			offsetXPx: across.offset,
			offsetYPx: down.offset,
		};
	}) as [Blockiness, Blockiness];
	// Every other line of a fine grid is a coarse one too: it must stand out by itself to be called coarse.
	return coarse.ratio > fine.ratio * 1.15 ? coarse : fine;
}

type LineSums = { readonly sum: Float64Array; readonly count: Float64Array };

/** For each column (row) the sum of steps to the one before it. */
function stepsByLine({ data, stride, widthPx, heightPx }: LumaPlane): { columns: LineSums; rows: LineSums } {
	const columns = { sum: new Float64Array(widthPx), count: new Float64Array(widthPx) };
	const rows = { sum: new Float64Array(heightPx), count: new Float64Array(heightPx) };
	for (let row = 1; row < heightPx; row++) {
		let rowSum = 0;
		let rowCount = 0;
		for (let column = 1; column < widthPx; column++) {
			const at = row * stride + column;
			const here = data[at]!;
			const across = Math.abs(here - data[at - 1]!);
			if (across <= OWN_EDGE_CODES) {
				columns.sum[column]! += across;
				columns.count[column]!++;
			}
			const down = Math.abs(here - data[at - stride]!);
			if (down <= OWN_EDGE_CODES) {
				rowSum += down;
				rowCount++;
			}
		}
		rows.sum[row] = rowSum;
		rows.count[row] = rowCount;
	}
	return { columns, rows };
}

function strongestGrid({ sum, count }: LineSums, gridPx: number): { ratio: number; offset: number } {
	let best = { ratio: 1, offset: 0 };
	for (let offset = 0; offset < gridPx; offset++) {
		const on = { sum: 0, count: 0 };
		const off = { sum: 0, count: 0 };
		for (let line = 1; line < sum.length; line++) {
			const into = line % gridPx === offset ? on : off;
			into.sum += sum[line]!;
			into.count += count[line]!;
		}
		if (on.count === 0 || off.count === 0) continue;
		const ratio = (on.sum / on.count + ROUNDING_CODES) / (off.sum / off.count + ROUNDING_CODES);
		if (ratio > best.ratio) best = { ratio, offset };
	}
	return best;
}

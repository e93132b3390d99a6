/**
 * The profile across a slanted edge, four places a pixel: every pixel goes to the places beside its distance from the edge.
 *
 * Source: ISO 12233's outline (oversampled edge spread). Pixels are shared between two neighbouring places by nearness;
 * what that smooths away is given back in the response (edgeResponse.ts).
 */
import type { EdgeLine } from './edgeLine.ts';
import type { RealPlane } from './realPlane.ts';

export const PLACES_A_PIXEL = 4;
/** A place with less weight than this is filled from its neighbours. */
const LEAST_WEIGHT = 0.25;

export type EdgeProfile = {
	/** From the dark to the light plateau as 0 to 1, whichever way the edge faces; the edge stands at `middle`. */
	readonly values: Float64Array;
	readonly middle: number;
};

/** Null where the edge leaves less than `reachPx` on one side. */
export function profileAcross(plane: RealPlane, line: EdgeLine, reachPx: number): EdgeProfile | null {
	const { widthPx, heightPx, data } = plane;
	const middle = Math.floor(reachPx * PLACES_A_PIXEL);
	const sums = new Float64Array(2 * middle + 1);
	const weights = new Float64Array(2 * middle + 1);
	for (let row = 0; row < heightPx; row++) {
		const edge = line.columnAt.at(row);
		const cosine = 1 / Math.hypot(1, line.columnAt.slopeAt(row));
		const from = Math.max(0, Math.ceil(edge - reachPx / cosine));
		const to = Math.min(widthPx - 1, Math.floor(edge + reachPx / cosine));
		for (let column = from; column <= to; column++) {
			const place = middle + (column - edge) * cosine * PLACES_A_PIXEL;
			const lower = Math.floor(place);
			const share = place - lower;
			const value = data[row * widthPx + column]!;
			if (lower >= 0 && lower < sums.length) {
				sums[lower]! += value * (1 - share);
				weights[lower]! += 1 - share;
			}
			if (lower + 1 >= 0 && lower + 1 < sums.length) {
				sums[lower + 1]! += value * share;
				weights[lower + 1]! += share;
			}
		}
	}
	return filled(sums, weights, { middle, line });
}

function filled(
	sums: Float64Array,
	weights: Float64Array,
	{ middle, line }: { middle: number; line: EdgeLine },
): EdgeProfile | null {
	const rising = line.right > line.left;
	const [dark, light] = rising ? [line.left, line.right] : [line.right, line.left];
	const values = new Float64Array(sums.length);
	for (let at = 0; at < sums.length; at++) {
		let near = at;
		// The same place of the other parity of pixels is a pixel away: the nearest filled place stands in.
		for (let step = 1; weights[near]! < LEAST_WEIGHT; step++) {
			if (step > PLACES_A_PIXEL) return null;
			if ((weights[at - step] ?? 0) >= LEAST_WEIGHT) near = at - step;
			else if ((weights[at + step] ?? 0) >= LEAST_WEIGHT) near = at + step;
		}
		const to = rising ? at : sums.length - 1 - at;
		values[to] = (sums[near]! / weights[near]! - dark) / (light - dark);
	}
	return { values, middle };
}

/**
 * Spatial and temporal perceptual information of luma: how busy a picture is, and how much it moves. For choosing and
 * describing material. A temporal information of 0 does not prove a freeze: a picture that only brightens evenly has none.
 *
 * Source: ITU-T P.910 (SI: standard deviation over space of the Sobel magnitude, TI: of the difference of pictures; greatest over time
 * is the caller's), as published in the documentation of open implementations. The outermost pixels are left out of SI.
 */
import { checkSameSize, type LumaPlane } from './planes.ts';

/** RangeError for a plane under 3 px either way. */
export function spatialInformation({ data, stride, widthPx, heightPx }: LumaPlane): number {
	if (widthPx < 3 || heightPx < 3)
		throw new RangeError(`spatial information needs 3 px each way, got ${widthPx} x ${heightPx}`);
	let sum = 0;
	let squares = 0;
	for (let row = 1; row < heightPx - 1; row++) {
		let above = (row - 1) * stride + 1;
		for (let column = 1; column < widthPx - 1; column++, above++) {
			const here = above + stride;
			const below = here + stride;
			const left = data[above - 1]! + 2 * data[here - 1]! + data[below - 1]!;
			const right = data[above + 1]! + 2 * data[here + 1]! + data[below + 1]!;
			const upper = data[above - 1]! + 2 * data[above]! + data[above + 1]!;
			const lower = data[below - 1]! + 2 * data[below]! + data[below + 1]!;
			const square = (right - left) ** 2 + (lower - upper) ** 2;
			sum += Math.sqrt(square);
			squares += square;
		}
	}
	return deviation(sum, squares, (widthPx - 2) * (heightPx - 2));
}

/** RangeError when sizes differ. */
export function temporalInformation(before: LumaPlane, after: LumaPlane): number {
	checkSameSize(before, after);
	let sum = 0;
	let squares = 0;
	for (let row = 0; row < after.heightPx; row++)
		for (let column = 0; column < after.widthPx; column++) {
			const step = after.data[row * after.stride + column]! - before.data[row * before.stride + column]!;
			sum += step;
			squares += step * step;
		}
	return deviation(sum, squares, after.widthPx * after.heightPx);
}

function deviation(sum: number, squares: number, count: number): number {
	return Math.sqrt(Math.max(0, squares / count - (sum / count) ** 2));
}

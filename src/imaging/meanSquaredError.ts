/**
 * Mean squared difference of two luma planes of one size, in codes squared, and PSNR from it. Luma only, every pixel alike.
 * Says nothing unless the pictures are paired in time and aligned in space first.
 */
import { checkSameSize, type LumaPlane } from './planes.ts';

const PEAK = 255;

/** 0 when identical. RangeError when sizes differ. */
export function meanSquaredError(a: LumaPlane, b: LumaPlane): number {
	checkSameSize(a, b);
	let sum = 0;
	for (let rowPx = 0; rowPx < a.heightPx; rowPx += 1) sum += rowSquaredError(a, b, rowPx);
	return sum / (a.widthPx * a.heightPx);
}

/** Whole numbers, summed a row at a time so that the engine may keep them as integers. */
function rowSquaredError(a: LumaPlane, b: LumaPlane, rowPx: number): number {
	const aData = a.data;
	const bData = b.data;
	const aEnd = rowPx * a.stride + a.widthPx;
	let bAt = rowPx * b.stride;
	let sum = 0;
	for (let aAt = rowPx * a.stride; aAt < aEnd; aAt += 1) {
		const step = aData[aAt]! - bData[bAt]!;
		sum += step * step;
		bAt += 1;
	}
	return sum;
}

/**
 * Peak signal-to-noise ratio in dB against 255. Null when nothing differs: infinity is not a number to average.
 * RangeError for an error below zero.
 */
export function psnrDb(meanSquared: number): number | null {
	if (!(meanSquared >= 0))
		throw new RangeError(`a mean squared error must be at least 0, got ${meanSquared}`);
	return meanSquared === 0 ? null : 10 * Math.log10((PEAK * PEAK) / meanSquared);
}

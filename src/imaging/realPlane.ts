/**
 * A plane of real numbers: relative linear light 0..1, or codes. What sharpness, noise and shading are measured in, for a
 * mean, a blur or a noise is only what optics and sensors make of it when the transfer curve is undone first.
 */
import { decodeSrgb } from '../colour/srgbTransfer.ts';
import type { YCbCrEncoding } from '../colour/yCbCr.ts';
import { codeRange } from '../colour/yCbCr.ts';
import type { LumaPlane } from './planes.ts';
import type { Raster } from './raster.ts';
import type { Rect } from './rect.ts';

export type RealPlane = {
	readonly widthPx: number;
	readonly heightPx: number;
	/** Row by row, without padding. */
	readonly data: Float64Array;
};

/** A part that could not be measured, told as a value: why, and in words. */
export type Unmeasured = {
	readonly kind: 'notMeasured';
	readonly reason: string;
	readonly explanation: string;
};

export function createRealPlane(widthPx: number, heightPx: number): RealPlane {
	return { widthPx, heightPx, data: new Float64Array(widthPx * heightPx) };
}

/** A rectangle of a luma plane as linear light, each code taken as a grey's; RangeError where it leaves the plane. */
export function lightOfLuma(luma: LumaPlane, rect: Rect, range: YCbCrEncoding['range']): RealPlane {
	const { lumaOffset, lumaSpan } = codeRange(range);
	const table = lightTable((code) => ((code - lumaOffset) * 255) / lumaSpan);
	return cut(luma, rect, (column, row) => table[luma.data[row * luma.stride + column]!]!);
}

/** Relative luminance of a rectangle of a raster; RangeError where it leaves the raster. */
export function lightOfRaster(raster: Raster, rect: Rect): RealPlane {
	const table = lightTable((code) => code);
	const { rgba, widthPx } = raster;
	return cut(raster, rect, (column, row) => {
		const at = 4 * (row * widthPx + column);
		return 0.2126 * table[rgba[at]!]! + 0.7152 * table[rgba[at + 1]!]! + 0.0722 * table[rgba[at + 2]!]!;
	});
}

/** The plane turned over its diagonal: rows become columns. */
export function transposed({ widthPx, heightPx, data }: RealPlane): RealPlane {
	const turned = createRealPlane(heightPx, widthPx);
	for (let row = 0; row < heightPx; row++)
		for (let column = 0; column < widthPx; column++)
			turned.data[column * heightPx + row] = data[row * widthPx + column]!;
	return turned;
}

export function meanOf({ data }: RealPlane): number {
	let sum = 0;
	for (const value of data) sum += value;
	return sum / data.length;
}

function lightTable(toCode: (code: number) => number): Float64Array {
	return Float64Array.from({ length: 256 }, (_, code) =>
		decodeSrgb(Math.min(255, Math.max(0, toCode(code)))),
	);
}

type Sides = { readonly widthPx: number; readonly heightPx: number };

function cut(whole: Sides, rect: Rect, valueAt: (column: number, row: number) => number): RealPlane {
	const inside =
		rect.xPx >= 0 &&
		rect.yPx >= 0 &&
		rect.xPx + rect.widthPx <= whole.widthPx &&
		rect.yPx + rect.heightPx <= whole.heightPx;
	if (!inside)
		throw new RangeError(
			`the rectangle must lie inside ${whole.widthPx} x ${whole.heightPx}, got ${JSON.stringify(rect)}`,
		);
	const plane = createRealPlane(rect.widthPx, rect.heightPx);
	for (let row = 0; row < rect.heightPx; row++)
		for (let column = 0; column < rect.widthPx; column++)
			plane.data[row * rect.widthPx + column] = valueAt(rect.xPx + column, rect.yPx + row);
	return plane;
}

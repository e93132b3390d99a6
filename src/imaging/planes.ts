/**
 * A picture as I420 planes: luma at full size, both chromas at half the width and half the height (4:2:0). What codecs
 * take and give. Rows may be padded; nothing here copies a plane to take the padding out.
 */
import { checkSides } from './raster.ts';

export type Planes = {
	readonly widthPx: number;
	readonly heightPx: number;
	readonly y: Uint8Array;
	readonly u: Uint8Array;
	readonly v: Uint8Array;
	/** Bytes from one row to the next. */
	readonly yStride: number;
	readonly uvStride: number;
};

/** One plane of brightness codes. */
export type LumaPlane = {
	readonly data: Uint8Array;
	readonly stride: number;
	readonly widthPx: number;
	readonly heightPx: number;
};

/** Unpadded, all zero, in one buffer, Y then U then V. Odd sides round the chroma up. */
export function createPlanes(widthPx: number, heightPx: number): Planes {
	checkSides(widthPx, heightPx);
	const uvStride = (widthPx + 1) >> 1;
	const lumaSize = widthPx * heightPx;
	const chromaSize = uvStride * ((heightPx + 1) >> 1);
	const bytes = new Uint8Array(lumaSize + 2 * chromaSize);
	return {
		widthPx,
		heightPx,
		y: bytes.subarray(0, lumaSize),
		u: bytes.subarray(lumaSize, lumaSize + chromaSize),
		v: bytes.subarray(lumaSize + chromaSize),
		yStride: widthPx,
		uvStride,
	};
}

/** The luma as it stands, not a copy. */
export function lumaOf(planes: Planes): LumaPlane {
	return { data: planes.y, stride: planes.yStride, widthPx: planes.widthPx, heightPx: planes.heightPx };
}

type Sides = { readonly widthPx: number; readonly heightPx: number };

/** RangeError when the two differ in width or height; strides may differ. */
export function checkSameSize(a: Sides, b: Sides): void {
	if (a.widthPx !== b.widthPx || a.heightPx !== b.heightPx) {
		throw new RangeError(
			`pictures to compare must be of one size, got ${a.widthPx} x ${a.heightPx} and ${b.widthPx} x ${b.heightPx}`,
		);
	}
}

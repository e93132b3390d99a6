/**
 * I420 planes as one run of bytes without padding, Y then U then V: what the encoder takes, and how a kept frame travels
 * on the control socket.
 */
import type { Planes } from '../../imaging/planes.ts';

/** Bytes of one packed picture; odd sides round the chroma up. */
export function packedByteCount(widthPx: number, heightPx: number): number {
	return widthPx * heightPx + 2 * ((widthPx + 1) >> 1) * ((heightPx + 1) >> 1);
}

/** Copies the planes into `into`; throws `RangeError` when it is not of their size. */
export function packPlanes(planes: Planes, into: Uint8Array): void {
	const { widthPx, heightPx } = planes;
	if (into.length !== packedByteCount(widthPx, heightPx))
		throw new RangeError(`${into.length} bytes do not hold a picture of ${widthPx}x${heightPx}`);
	const chromaWidthPx = (widthPx + 1) >> 1;
	const chromaHeightPx = (heightPx + 1) >> 1;
	const lumaSize = widthPx * heightPx;
	const chromaSize = chromaWidthPx * chromaHeightPx;
	copyRows(planes.y, planes.yStride, into.subarray(0, lumaSize), widthPx);
	copyRows(planes.u, planes.uvStride, into.subarray(lumaSize, lumaSize + chromaSize), chromaWidthPx);
	copyRows(planes.v, planes.uvStride, into.subarray(lumaSize + chromaSize), chromaWidthPx);
}

/** Views into the bytes, no copy; null when the length does not fit the size. */
export function unpackPlanes(bytes: Uint8Array, widthPx: number, heightPx: number): Planes | null {
	if (bytes.length !== packedByteCount(widthPx, heightPx)) return null;
	const lumaSize = widthPx * heightPx;
	const uvStride = (widthPx + 1) >> 1;
	const chromaSize = uvStride * ((heightPx + 1) >> 1);
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

function copyRows(from: Uint8Array, stride: number, into: Uint8Array, widthPx: number): void {
	if (stride === widthPx) {
		into.set(from.subarray(0, into.length));
		return;
	}
	for (let row = 0; row * widthPx < into.length; row++)
		into.set(from.subarray(row * stride, row * stride + widthPx), row * widthPx);
}

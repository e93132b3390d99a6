/**
 * Y, U and V of a decoded frame, as they left the decoder: colour is then converted by us and not by the browser.
 * The frames we send are 4:2:0, so a video decoder hands back I420 or NV12. A JPEG comes out in the browser's own RGB, from
 * which Y, U and V (BT.709 limited, as everywhere here) are made again. Anything else is refused, never guessed at.
 */
import { type LumaPlane, lumaOf, type Planes } from '../../imaging/planes.ts';
import { rasterToPlanes } from '../../imaging/rasterToPlanes.ts';
import type { Rect } from '../../imaging/rect.ts';

/** Luma of a rectangle of the frame (even edges), or null when the browser gives no planar pixels. */
export async function copyLuma(
	frame: VideoFrame,
	{ xPx, yPx, widthPx, heightPx }: Rect,
): Promise<LumaPlane | null> {
	if (isRgb(frame)) return lumaOf(planesFromRgb(frame, { xPx, yPx, widthPx, heightPx }));
	if (frame.format !== 'I420' && frame.format !== 'NV12') return null;
	const rect = { x: xPx, y: yPx, width: widthPx, height: heightPx };
	const bytes = new Uint8Array(frame.allocationSize({ rect }));
	const [luma] = await frame.copyTo(bytes, { rect });
	return luma === undefined
		? null
		: { widthPx, heightPx, data: bytes.subarray(luma.offset), stride: luma.stride };
}

/** All planes of the frame, or null when the browser gives no planar pixels. */
export async function copyPlanes(frame: VideoFrame): Promise<Planes | null> {
	const { format } = frame;
	if (isRgb(frame)) {
		const { codedWidth: widthPx, codedHeight: heightPx } = frame;
		return planesFromRgb(frame, { xPx: 0, yPx: 0, widthPx, heightPx });
	}
	if (format !== 'I420' && format !== 'NV12') return null;
	const data = new Uint8Array(frame.allocationSize());
	const layout = await frame.copyTo(data);
	const { width: widthPx, height: heightPx } = frame.visibleRect ?? { width: 0, height: 0 };
	const [luma, second, third] = layout;
	if (luma === undefined || second === undefined) return null;
	const y = data.subarray(luma.offset);
	if (format === 'I420' && third !== undefined) {
		const u = data.subarray(second.offset);
		return {
			widthPx,
			heightPx,
			y,
			u,
			v: data.subarray(third.offset),
			yStride: luma.stride,
			uvStride: second.stride,
		};
	}
	const chroma = unweave(data.subarray(second.offset), second.stride, { widthPx, heightPx });
	return { widthPx, heightPx, y, yStride: luma.stride, ...chroma };
}

/** Whether the browser has turned the frame into its own RGB already. */
export function isRgb({ format }: VideoFrame): boolean {
	return format === 'RGBA' || format === 'RGBX' || format === 'BGRA' || format === 'BGRX';
}

function planesFromRgb(frame: VideoFrame, { xPx, yPx, widthPx, heightPx }: Rect): Planes {
	const canvas = new OffscreenCanvas(widthPx, heightPx);
	const context = canvas.getContext('2d', { alpha: false, willReadFrequently: true });
	if (context === null) throw new TypeError('this browser gives no canvas off the screen');
	context.drawImage(frame, -xPx, -yPx);
	const { data: rgba } = context.getImageData(0, 0, widthPx, heightPx);
	return rasterToPlanes({ widthPx, heightPx, rgba }, { matrix: '709', range: 'limited' });
}

function unweave(
	uv: Uint8Array,
	stride: number,
	{ widthPx, heightPx }: { widthPx: number; heightPx: number },
): { u: Uint8Array; v: Uint8Array; uvStride: number } {
	const columns = (widthPx + 1) >> 1;
	const rows = (heightPx + 1) >> 1;
	const u = new Uint8Array(columns * rows);
	const v = new Uint8Array(columns * rows);
	for (let row = 0; row < rows; row++) {
		for (let column = 0; column < columns; column++) {
			u[row * columns + column] = uv[row * stride + 2 * column] ?? 128;
			v[row * columns + column] = uv[row * stride + 2 * column + 1] ?? 128;
		}
	}
	return { u, v, uvStride: columns };
}

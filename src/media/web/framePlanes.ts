/**
 * Y, U and V of a decoded picture, as they left the decoder: colour is then converted by us and not by the browser.
 * The pictures we send are 4:2:0, so a video decoder hands back I420 or NV12. A JPEG, a drawn picture and one that a browser keeps
 * to itself (without a format) come in the browser's own RGB, from which Y, U and V (BT.709 limited, as everywhere here) are
 * made again. Anything else is refused, never guessed at.
 */
import { type LumaPlane, lumaOf, type Planes } from '../../imaging/planes.ts';
import { rasterToPlanes } from '../../imaging/rasterToPlanes.ts';
import type { Rect } from '../../imaging/rect.ts';

/** A picture in hand: as decoded, or as the browser drew it where it gives a page no frames. Either must be closed. */
export type Picture = VideoFrame | ImageBitmap;

/** Another hold of the same picture, to be closed by itself. */
export function holdAgain(picture: Picture): Picture {
	return isFrame(picture) ? picture.clone() : drawnCopy(picture, picture);
}

export function sizeOfPicture(picture: Picture): { readonly widthPx: number; readonly heightPx: number } {
	return isFrame(picture)
		? { widthPx: picture.codedWidth, heightPx: picture.codedHeight }
		: { widthPx: picture.width, heightPx: picture.height };
}

/** Draws a source as it is now and keeps that. Throws `TypeError` without a canvas off the screen. */
export function drawnCopy(
	source: CanvasImageSource,
	{ width, height }: { readonly width: number; readonly height: number },
): ImageBitmap {
	const { canvas, context } = offScreen(width, height);
	context.drawImage(source, 0, 0, width, height);
	return canvas.transferToImageBitmap();
}

/** Luma of a rectangle of the frame (even edges), or null when the browser gives no planar pixels. */
export async function copyLuma(
	frame: Picture,
	{ xPx, yPx, widthPx, heightPx }: Rect,
): Promise<LumaPlane | null> {
	if (!isFrame(frame) || isRgb(frame)) return lumaOf(planesFromRgb(frame, { xPx, yPx, widthPx, heightPx }));
	if (frame.format !== 'I420' && frame.format !== 'NV12') return null;
	const rect = { x: xPx, y: yPx, width: widthPx, height: heightPx };
	const bytes = new Uint8Array(frame.allocationSize({ rect }));
	const [luma] = await frame.copyTo(bytes, { rect });
	return luma === undefined
		? null
		: { widthPx, heightPx, data: bytes.subarray(luma.offset), stride: luma.stride };
}

/** All planes of the frame, or null when the browser gives no planar pixels. */
export async function copyPlanes(frame: Picture): Promise<Planes | null> {
	if (!isFrame(frame) || isRgb(frame))
		return planesFromRgb(frame, { xPx: 0, yPx: 0, ...sizeOfPicture(frame) });
	const { format } = frame;
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

function isFrame(picture: Picture): picture is VideoFrame {
	return 'clone' in picture;
}

/** Whether the browser has turned the picture into its own RGB already, or will do no less. */
export function isRgb(picture: Picture): boolean {
	if (!isFrame(picture)) return true;
	const { format } = picture;
	return format === null || RGB_FORMATS.has(format);
}
const RGB_FORMATS: ReadonlySet<string> = new Set(['RGBA', 'RGBX', 'BGRA', 'BGRX']);

function planesFromRgb(picture: Picture, { xPx, yPx, widthPx, heightPx }: Rect): Planes {
	const { context } = offScreen(widthPx, heightPx);
	context.drawImage(picture, -xPx, -yPx);
	const { data: rgba } = context.getImageData(0, 0, widthPx, heightPx);
	return rasterToPlanes({ widthPx, heightPx, rgba }, { matrix: '709', range: 'limited' });
}

function offScreen(widthPx: number, heightPx: number) {
	const canvas = new OffscreenCanvas(widthPx, heightPx);
	const context = canvas.getContext('2d', { alpha: false, willReadFrequently: true });
	if (context === null) throw new TypeError('this browser gives no canvas off the screen');
	return { canvas, context };
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

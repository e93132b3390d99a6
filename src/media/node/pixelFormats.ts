/**
 * Decoded pictures in the layouts that video files have, as the 8-bit planes that everything else works on.
 *
 * Planar YUV of 4:2:0, 4:2:2 and 4:4:4 with 8 to 12 bits, grey, and the half-planar NV12. Eight-bit luma is a view of the decoder's
 * memory; deeper luma is rounded to 8 bits into a buffer that is used again. Chroma is thinned to 4:2:0 by leaving out rows and columns.
 */
import { createPlanes, type LumaPlane, type Planes } from '../../imaging/planes.ts';

export type PixelLayout = {
	readonly bitDepth: number;
	/** Luma samples a chroma sample, across and down; null: grey. `pairs`: both chromas in one plane (NV12). */
	readonly chroma: { readonly across: 1 | 2; readonly down: 1 | 2; readonly pairs: boolean } | null;
	/** The old J formats say full range by themselves. */
	readonly full: boolean;
	/** FFmpeg's name, for its command line. */
	readonly name: string;
};

const c420 = { across: 2, down: 2, pairs: false } as const;
const c422 = { across: 2, down: 1, pairs: false } as const;
const c444 = { across: 1, down: 1, pairs: false } as const;

/** By FFmpeg's own number of the format (version 8). */
const layouts: ReadonlyMap<number, PixelLayout> = new Map<number, PixelLayout>([
	[0, { bitDepth: 8, chroma: c420, full: false, name: 'yuv420p' }],
	[4, { bitDepth: 8, chroma: c422, full: false, name: 'yuv422p' }],
	[5, { bitDepth: 8, chroma: c444, full: false, name: 'yuv444p' }],
	[8, { bitDepth: 8, chroma: null, full: false, name: 'gray' }],
	[12, { bitDepth: 8, chroma: c420, full: true, name: 'yuvj420p' }],
	[13, { bitDepth: 8, chroma: c422, full: true, name: 'yuvj422p' }],
	[14, { bitDepth: 8, chroma: c444, full: true, name: 'yuvj444p' }],
	[23, { bitDepth: 8, chroma: { across: 2, down: 2, pairs: true }, full: false, name: 'nv12' }],
	[62, { bitDepth: 10, chroma: c420, full: false, name: 'yuv420p10le' }],
	[64, { bitDepth: 10, chroma: c422, full: false, name: 'yuv422p10le' }],
	[68, { bitDepth: 10, chroma: c444, full: false, name: 'yuv444p10le' }],
	[123, { bitDepth: 12, chroma: c420, full: false, name: 'yuv420p12le' }],
	[168, { bitDepth: 10, chroma: null, full: false, name: 'gray10le' }],
]);

export function pixelLayout(format: number): PixelLayout | null {
	return layouts.get(format) ?? null;
}

export function pixelLayoutNamed(name: string): PixelLayout | null {
	for (const layout of layouts.values()) if (layout.name === name) return layout;
	return null;
}

/** A decoded picture as the decoder holds it. */
export type CodedPicture = {
	readonly widthPx: number;
	readonly heightPx: number;
	readonly layout: PixelLayout;
	readonly data: readonly Uint8Array[];
	/** Bytes from one row to the next, of each plane. */
	readonly strides: readonly number[];
};

export type PlaneMaker = {
	luma(picture: CodedPicture): LumaPlane;
	planes(picture: CodedPicture): Planes | null;
};

/** Keeps the buffers that deeper or otherwise sampled pictures are converted into: one picture at a time. */
export function createPlaneMaker(): PlaneMaker {
	let deepLuma = new Uint8Array(0);
	let whole: Planes | null = null;
	const luma = ({ widthPx, heightPx, layout, data, strides }: CodedPicture): LumaPlane => {
		// Not the library's Buffer, whose `slice` gives no copy.
		const y = new Uint8Array(data[0]!.buffer, data[0]!.byteOffset, data[0]!.byteLength);
		if (layout.bitDepth === 8) return { data: y, stride: strides[0]!, widthPx, heightPx };
		if (deepLuma.length !== widthPx * heightPx) deepLuma = new Uint8Array(widthPx * heightPx);
		const to = { data: deepLuma, widthPx, heightPx };
		narrow({ data: y, stride: strides[0]!, step: 1, rows: 1, bitDepth: layout.bitDepth }, to);
		return { data: deepLuma, stride: widthPx, widthPx, heightPx };
	};
	return {
		luma,
		planes(picture) {
			const { widthPx, heightPx, layout, data, strides } = picture;
			const { chroma, bitDepth } = layout;
			if (chroma === null) return null;
			const light = luma(picture);
			const asIs = bitDepth === 8 && chroma.across === 2 && chroma.down === 2 && !chroma.pairs;
			if (asIs) {
				const [y, u, v] = [data[0]!, data[1]!, data[2]!];
				return { widthPx, heightPx, y, u, v, yStride: strides[0]!, uvStride: strides[1]! };
			}
			if (whole?.widthPx !== widthPx || whole.heightPx !== heightPx) whole = createPlanes(widthPx, heightPx);
			const half = { widthPx: whole.uvStride, heightPx: (heightPx + 1) >> 1 };
			const step = chroma.pairs ? 2 : 2 / chroma.across;
			const from = { step, rows: 2 / chroma.down, bitDepth };
			const [u, v] = chroma.pairs ? [data[1]!, data[1]!.subarray(1)] : [data[1]!, data[2]!];
			narrow({ ...from, data: u, stride: strides[1]! }, { ...half, data: whole.u });
			narrow({ ...from, data: v, stride: strides[chroma.pairs ? 1 : 2]! }, { ...half, data: whole.v });
			return { ...whole, y: light.data, yStride: light.stride };
		},
	};
}

type Wide = {
	readonly data: Uint8Array;
	/** Bytes. */
	readonly stride: number;
	/** Every `step`-th sample of every `rows`-th row is taken. */
	readonly step: number;
	readonly rows: number;
	readonly bitDepth: number;
};
type Narrow = { readonly data: Uint8Array; readonly widthPx: number; readonly heightPx: number };

function narrow({ data, stride, step, rows, bitDepth }: Wide, to: Narrow): void {
	const bytes = bitDepth > 8 ? 2 : 1;
	const shift = bitDepth - 8;
	const half = shift > 0 ? 1 << (shift - 1) : 0;
	for (let row = 0; row < to.heightPx; row++) {
		const at = row * rows * stride;
		const out = row * to.widthPx;
		for (let column = 0; column < to.widthPx; column++) {
			const i = at + column * step * bytes;
			const code = bytes === 2 ? data[i]! | (data[i + 1]! << 8) : data[i]!;
			to.data[out + column] = Math.min(255, (code + half) >> shift);
		}
	}
}

/**
 * sRGB codes to 8-bit Y'CbCr codes and back, for BT.601 and BT.709 luma weights, limited (16-235, 16-240) and full range.
 * Per colour; chroma subsampling is imaging's (rasterToPlanes.ts). Codes are real-valued and not rounded.
 *
 * Source: ITU-R BT.601 and BT.709 weights and code ranges, as published in the colour-science/colour library.
 */
import type { Rgb } from './rgb.ts';

export type YCbCr = readonly [y: number, cb: number, cr: number];
export type YCbCrEncoding = { readonly matrix: '601' | '709'; readonly range: 'limited' | 'full' };

/** What the bench declares for every stream of its own, and so what it decodes by. */
export const BT709_LIMITED: YCbCrEncoding = { matrix: '709', range: 'limited' };

export type LumaWeights = { readonly red: number; readonly green: number; readonly blue: number };

export function lumaWeights(matrix: YCbCrEncoding['matrix']): LumaWeights {
	return matrix === '601'
		? { red: 0.299, green: 0.587, blue: 0.114 }
		: { red: 0.2126, green: 0.7152, blue: 0.0722 };
}

/** Code of zero luma, and how many codes the luma and each chroma run over. */
export type CodeRange = {
	readonly lumaOffset: number;
	readonly lumaSpan: number;
	readonly chromaSpan: number;
};

export function codeRange(range: YCbCrEncoding['range']): CodeRange {
	return range === 'limited'
		? { lumaOffset: 16, lumaSpan: 219, chromaSpan: 224 }
		: { lumaOffset: 0, lumaSpan: 255, chromaSpan: 255 };
}

/** Not rounded, not clipped: full-range red has a Cr of 255.5, which a byte must clip to 255. */
export function rgbToYCbCr([red, green, blue]: Rgb, encoding: YCbCrEncoding): YCbCr {
	const weights = lumaWeights(encoding.matrix);
	const { lumaOffset, lumaSpan, chromaSpan } = codeRange(encoding.range);
	const luma = weights.red * red + weights.green * green + weights.blue * blue;
	return [
		lumaOffset + (luma * lumaSpan) / 255,
		128 + ((blue - luma) / (2 * (1 - weights.blue))) * (chromaSpan / 255),
		128 + ((red - luma) / (2 * (1 - weights.red))) * (chromaSpan / 255),
	];
}

/** Clipped to 0..255 as a display clips, not rounded. */
export function yCbCrToRgb([y, cb, cr]: YCbCr, encoding: YCbCrEncoding): Rgb {
	const weights = lumaWeights(encoding.matrix);
	const { lumaOffset, lumaSpan, chromaSpan } = codeRange(encoding.range);
	const luma = ((y - lumaOffset) * 255) / lumaSpan;
	const red = luma + ((cr - 128) * 2 * (1 - weights.red) * 255) / chromaSpan;
	const blue = luma + ((cb - 128) * 2 * (1 - weights.blue) * 255) / chromaSpan;
	const green = (luma - weights.red * red - weights.blue * blue) / weights.green;
	return [clip(red), clip(green), clip(blue)];
}

function clip(code: number): number {
	return Math.min(255, Math.max(0, code));
}

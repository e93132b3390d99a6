/**
 * The sRGB transfer: from a code to linear light and back, one channel at a time.
 * Leaves out the primaries (srgbToXyz65.ts).
 *
 * Source: IEC 61966-2-1, as published in the colour-science/colour library; the two pieces meet at 0.04045 and 0.0031308.
 */

const MAX_CODE = 255;

/** Linear light, 0..1, of an sRGB code 0..255 (real-valued). RangeError outside that range: clip first. */
export function decodeSrgb(code: number): number {
	if (!(code >= 0 && code <= MAX_CODE))
		throw new RangeError(`an sRGB code must lie in [0, 255], got ${code}`);
	const value = code / MAX_CODE;
	return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
}

/** sRGB code, 0..255 and not rounded, of linear light. Light outside 0..1 is clipped, as a display clips it. */
export function encodeSrgb(linear: number): number {
	if (Number.isNaN(linear)) throw new RangeError('linear light must be a number, got NaN');
	if (linear <= 0) return 0;
	if (linear >= 1) return MAX_CODE;
	return MAX_CODE * (linear <= 0.0031308 ? 12.92 * linear : 1.055 * linear ** (1 / 2.4) - 0.055);
}

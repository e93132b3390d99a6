/** Luminance of sRGB codes relative to white: the Y of XYZ (D65). Says nothing of a screen's cd/m2. */
import type { Rgb } from './rgb.ts';
import { srgbToXyz65 } from './srgbToXyz65.ts';

/** 0 (black) to 1 (white). */
export function relativeLuminance(rgb: Rgb): number {
	return srgbToXyz65(rgb)[1];
}

/** sRGB codes to CIE L*a*b* against D65, sRGB's own white: no adaptation takes part. Source: see lab.ts, srgbToXyz65.ts. */
import { D65, xyzOf } from './chromaticity.ts';
import { type Lab, xyzToLab } from './lab.ts';
import type { Rgb } from './rgb.ts';
import { srgbToXyz65 } from './srgbToXyz65.ts';

const WHITE = xyzOf(D65);

/** L* 0..100, a*, b* of sRGB codes 0..255 (real-valued). RangeError for a code outside. */
export function srgbToLab65(rgb: Rgb): Lab {
	return xyzToLab(srgbToXyz65(rgb), WHITE);
}

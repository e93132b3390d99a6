/** CIE L*a*b* against D65 to sRGB codes: the way back of srgbToLab65.ts. */
import { D65, xyzOf } from './chromaticity.ts';
import { type Lab, labToXyz } from './lab.ts';
import type { Rgb } from './rgb.ts';
import { xyz65ToSrgb } from './xyz65ToSrgb.ts';

const WHITE = xyzOf(D65);

/** Codes 0..255, not rounded; colours outside sRGB are clipped channel by channel. */
export function lab65ToSrgb(lab: Lab): Rgb {
	return xyz65ToSrgb(labToXyz(lab, WHITE));
}

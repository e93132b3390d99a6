/**
 * CIE L*a*b* against the ICC's D50, as printed targets are published, to sRGB codes: to XYZ, Bradford to D65, sRGB.
 * Colours outside sRGB are clipped channel by channel.
 */
import { bradfordMatrix } from './bradford.ts';
import { D65, ICC_D50, xyzOf } from './chromaticity.ts';
import { type Lab, labToXyz } from './lab.ts';
import { transform } from './matrix3.ts';
import type { Rgb } from './rgb.ts';
import { xyz65ToSrgb } from './xyz65ToSrgb.ts';

const WHITE_50 = xyzOf(ICC_D50);
const TO_65 = bradfordMatrix(WHITE_50, xyzOf(D65));

/** Codes 0..255, not rounded. */
export function lab50ToSrgb(lab: Lab): Rgb {
	return xyz65ToSrgb(transform(TO_65, labToXyz(lab, WHITE_50)));
}

/** CIE XYZ against D65 to sRGB codes, by the inverse of the derived matrix (srgbToXyz65.ts). */
import { invert, transform, type Vector3 } from './matrix3.ts';
import type { Rgb } from './rgb.ts';
import { LINEAR_TO_XYZ65 } from './srgbToXyz65.ts';
import { encodeSrgb } from './srgbTransfer.ts';

const XYZ65_TO_LINEAR = invert(LINEAR_TO_XYZ65);

/** Codes 0..255, not rounded; colours outside sRGB are clipped channel by channel. */
export function xyz65ToSrgb(xyz: Vector3): Rgb {
	const [red, green, blue] = transform(XYZ65_TO_LINEAR, xyz);
	return [encodeSrgb(red), encodeSrgb(green), encodeSrgb(blue)];
}

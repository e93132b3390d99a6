/**
 * sRGB codes to CIE XYZ against D65, luminance of white = 1.
 *
 * The matrix is derived from the primaries and the white of IEC 61966-2-1. The standard's own four-digit matrices are
 * not used: the one there and the one back do not undo each other (both published in the colour-science/colour library).
 */
import { D65, xyzOf } from './chromaticity.ts';
import { diagonal, invert, type Matrix3, multiply, transform, type Vector3 } from './matrix3.ts';
import type { Rgb } from './rgb.ts';
import { decodeSrgb } from './srgbTransfer.ts';

/** Linear sRGB, 0..1, to XYZ. */
export const LINEAR_TO_XYZ65: Matrix3 = deriveMatrix();

/** XYZ (D65) of sRGB codes 0..255. */
export function srgbToXyz65(rgb: Rgb): Vector3 {
	return transform(LINEAR_TO_XYZ65, srgbToLinear(rgb));
}

/** Linear light 0..1 of each channel. */
export function srgbToLinear([red, green, blue]: Rgb): Vector3 {
	return [decodeSrgb(red), decodeSrgb(green), decodeSrgb(blue)];
}

/** Columns are the primaries, each stretched so that all three together make the white. */
function deriveMatrix(): Matrix3 {
	const red = xyzOf([0.64, 0.33]);
	const green = xyzOf([0.3, 0.6]);
	const blue = xyzOf([0.15, 0.06]);
	const primaries: Matrix3 = [
		[red[0], green[0], blue[0]],
		[red[1], green[1], blue[1]],
		[red[2], green[2], blue[2]],
	];
	return multiply(primaries, diagonal(transform(invert(primaries), xyzOf(D65))));
}

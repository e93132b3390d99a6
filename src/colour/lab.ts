/**
 * CIE L*a*b* from XYZ and back, against a stated white. Callers use the conversions that carry their white in the name
 * (srgbToLab65.ts, lab50ToSrgb.ts); this file holds the one formula beneath them.
 *
 * Source: CIE 15. The bend stands at the exact rationals 216/24389 and 24389/27 (from memory; the older decimals 0.008856
 * and 903.3 leave a step there). Published rows of the colour-science/colour library reproduce to 8 decimals.
 */
import type { Vector3 } from './matrix3.ts';

export type Lab = readonly [lightness: number, a: number, b: number];

const EPSILON = 216 / 24389;
const KAPPA = 24389 / 27;

export function xyzToLab(xyz: Vector3, white: Vector3): Lab {
	const x = bend(xyz[0] / white[0]);
	const y = bend(xyz[1] / white[1]);
	const z = bend(xyz[2] / white[2]);
	return [116 * y - 16, 500 * (x - y), 200 * (y - z)];
}

export function labToXyz([lightness, a, b]: Lab, white: Vector3): Vector3 {
	const y = (lightness + 16) / 116;
	return [unbend(y + a / 500) * white[0], unbend(y) * white[1], unbend(y - b / 200) * white[2]];
}

function bend(ratio: number): number {
	return ratio > EPSILON ? Math.cbrt(ratio) : (KAPPA * ratio + 16) / 116;
}

function unbend(value: number): number {
	const cube = value * value * value;
	return cube > EPSILON ? cube : (116 * value - 16) / KAPPA;
}

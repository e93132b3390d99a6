/**
 * Chromaticities and the whites that conversions are named after: D65 (sRGB) and D50 (printed references).
 * CIE 1931, 2 degree observer.
 *
 * Source: published in the colour-science/colour library's tables of illuminants, to the digits given here.
 */
import type { Vector3 } from './matrix3.ts';

/** CIE x, y. */
export type Chromaticity = readonly [x: number, y: number];

export const D65: Chromaticity = [0.3127, 0.329];
/** The D50 of ICC profiles, X 0.9642, Y 1, Z 0.8249; the 24-patch target's published Lab values are against it. */
export const ICC_D50: Chromaticity = [0.3457029, 0.3585386];

/** XYZ of luminance 1 at the given chromaticity. */
export function xyzOf([x, y]: Chromaticity): Vector3 {
	return [x / y, 1, (1 - x - y) / y];
}

/** RangeError for black, which has none. */
export function chromaticityOf([X, Y, Z]: Vector3): Chromaticity {
	const sum = X + Y + Z;
	if (!(sum > 0)) throw new RangeError(`XYZ must have a positive sum to have a chromaticity, got ${sum}`);
	return [X / sum, Y / sum];
}

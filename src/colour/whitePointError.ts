/**
 * How far a patch that should be neutral is from neutral, in four ways that people use. All are zero, or one for the
 * ratios, on a true grey of any brightness. Taken against D65, sRGB's white.
 *
 * Source: C*ab and u'v' of CIE 15; ratios and angle are common practice with no source.
 */
import { type Chromaticity, chromaticityOf, D65 } from './chromaticity.ts';
import type { Rgb } from './rgb.ts';
import { srgbToLab65 } from './srgbToLab65.ts';
import { srgbToLinear, srgbToXyz65 } from './srgbToXyz65.ts';

export type WhitePointError = {
	/** C*ab. */
	readonly chroma: number;
	/** Distance in CIE 1976 u'v' from D65. */
	readonly deltaUv: number;
	/** Red over green in linear light. */
	readonly redOverGreen: number;
	/** Blue over green in linear light. */
	readonly blueOverGreen: number;
	/** Angle between the linear colour and the grey axis. */
	readonly angleDeg: number;
};

/** Null where the patch gives no green light at all (black, or a pure red, blue, magenta): no ratio exists then. */
export function whitePointError(rgb: Rgb): WhitePointError | null {
	const [red, green, blue] = srgbToLinear(rgb);
	if (green === 0) return null;
	const [, a, b] = srgbToLab65(rgb);
	return {
		chroma: Math.hypot(a, b),
		deltaUv: distanceUv(chromaticityOf(srgbToXyz65(rgb)), D65),
		redOverGreen: red / green,
		blueOverGreen: blue / green,
		angleDeg: angleToGreyDeg(red, green, blue),
	};
}

/** By arc tangent: the arc cosine loses half its digits near grey. */
function angleToGreyDeg(red: number, green: number, blue: number): number {
	const across = Math.hypot(green - blue, blue - red, red - green);
	return (Math.atan2(across, red + green + blue) * 180) / Math.PI;
}

function distanceUv(first: Chromaticity, second: Chromaticity): number {
	const [firstU, firstV] = toUv(first);
	const [secondU, secondV] = toUv(second);
	return Math.hypot(firstU - secondU, firstV - secondV);
}

/** CIE 1976 u', v'. */
function toUv([x, y]: Chromaticity): readonly [number, number] {
	const denominator = -2 * x + 12 * y + 3;
	return [(4 * x) / denominator, (9 * y) / denominator];
}

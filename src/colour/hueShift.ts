/**
 * How far the hue of a set of patches turned, and how much of their colour is left: both in CIELAB against D65. For the
 * reds of an endoscope's view: inflamed or pale is a matter of hue and chroma.
 *
 * Source: hue angle and chroma of CIE 15. Hues are weighted by the expected chroma; patches under a chroma of 8 have none to speak of.
 */
import type { Rgb } from './rgb.ts';
import { srgbToLab65 } from './srgbToLab65.ts';

export type HueShift = {
	/** Degrees; above 0 turns from red towards yellow, below 0 from red towards violet. */
	readonly meanDeg: number;
	readonly worstDeg: number;
	/** Chroma seen over chroma expected, over all patches: 1 = the same strength of colour. */
	readonly chromaRatio: number;
	readonly patchCount: number;
};

const LEAST_CHROMA = 8;

/** Null when no patch has enough chroma. */
export function hueShift(expected: readonly Rgb[], seen: readonly Rgb[]): HueShift | null {
	let weights = 0;
	let turned = 0;
	let worst = 0;
	let seenChroma = 0;
	let patchCount = 0;
	for (const [i, rgb] of expected.entries()) {
		const [, a, b] = srgbToLab65(rgb);
		const [, seenA, seenB] = srgbToLab65(seen[i]!);
		const chroma = Math.hypot(a, b);
		if (chroma < LEAST_CHROMA) continue;
		const turnDeg = (Math.atan2(a * seenB - b * seenA, a * seenA + b * seenB) * 180) / Math.PI;
		weights += chroma;
		turned += chroma * turnDeg;
		if (Math.abs(turnDeg) > Math.abs(worst)) worst = turnDeg;
		seenChroma += Math.hypot(seenA, seenB);
		patchCount++;
	}
	if (patchCount === 0) return null;
	return { meanDeg: turned / weights, worstDeg: worst, chromaRatio: seenChroma / weights, patchCount };
}

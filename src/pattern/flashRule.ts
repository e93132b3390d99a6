/**
 * Whether what a page shows keeps the published flash rule. A pure function of displayed size, levels and rate.
 *
 * It passes when no more than three flashes a second, of either kind, are shown, or when the areas that flash faster
 * than that add up to at most a quarter of a 10 degree field. General flash: opposing changes of relative luminance of
 * 0.10 or more of the greatest, the darker state below 0.80. Red flash: one state with R/(R+G+B) >= 0.8 in linear light and a
 * u'v' difference above 0.2. Areas are added whatever their phase or place, and both kinds together: stricter than the
 * rule, which counts what flashes at once within one field.
 *
 * Leaves out BT.1702's absolute rule (20 cd/m2), which depends on the screen's brightness, and the exemption of fine
 * balanced patterns. Source: WCAG 2.2, 2.3.1 and its definition of flash thresholds (published); 25 % of 341 x 256 CSS px.
 */
import type { Rgb } from '../colour/rgb.ts';
import { srgbToLinear, srgbToXyz65 } from '../colour/srgbToXyz65.ts';

const MAX_FLASHES_PER_SECOND = 3;
export const MAX_FLASHING_AREA_CSS_PX = 21_824;
const MIN_LUMINANCE_CHANGE = 0.1;
const DARKER_BELOW = 0.8;
const SATURATED_RED = 0.8;
const MIN_CHROMATICITY_CHANGE = 0.2;

/** A part of the screen that goes to and fro between two colours. */
export type FlashArea = {
	readonly name: string;
	/** As displayed, in CSS pixels. */
	readonly areaCssPx: number;
	/** The two states that differ most, sRGB codes. */
	readonly states: readonly [Rgb, Rgb];
	/** Pairs of opposing changes a second, the most that can happen. */
	readonly flashesPerSecond: number;
};

export type FlashJudgement = {
	readonly pass: boolean;
	/** The fastest of what counts as a flash; 0 when nothing does. */
	readonly flashesPerSecond: number;
	/** Sum of the areas that flash more than three times a second. */
	readonly areaCssPx: number;
	/** The greatest change of relative luminance, 0 to 1, counted as a flash or not. */
	readonly deltaLuminance: number;
	/** One sentence. */
	readonly why: string;
};

/** Judges all areas of a page together; throws `RangeError` for a size or rate that is negative or not finite. */
export function judgeFlashes(areas: readonly FlashArea[]): FlashJudgement {
	for (const { name, areaCssPx, flashesPerSecond } of areas) {
		if (!(areaCssPx >= 0 && areaCssPx < Infinity && flashesPerSecond >= 0 && flashesPerSecond < Infinity))
			throw new RangeError(
				`the flash area "${name}" must have a size and a rate of at least 0, got ${areaCssPx} px at ${flashesPerSecond}/s`,
			);
	}
	const deltaLuminance = Math.max(0, ...areas.map(({ states }) => luminanceChange(states).change));
	const flashing = areas.filter(({ states }) => isGeneralFlash(states) || isRedFlash(states));
	const flashesPerSecond = Math.max(0, ...flashing.map((area) => area.flashesPerSecond));
	const fast = flashing.filter((area) => area.flashesPerSecond > MAX_FLASHES_PER_SECOND);
	const areaCssPx = fast.reduce((sum, area) => sum + area.areaCssPx, 0);
	const pass = areaCssPx <= MAX_FLASHING_AREA_CSS_PX;
	return { pass, flashesPerSecond, areaCssPx, deltaLuminance, why: explain(flashing, fast, areaCssPx) };
}

function explain(flashing: readonly FlashArea[], fast: readonly FlashArea[], areaCssPx: number): string {
	if (flashing.length === 0) return 'Nothing changes enough in luminance or in red to count as a flash.';
	if (fast.length === 0) return `Nothing flashes more than ${MAX_FLASHES_PER_SECOND} times a second.`;
	const size = `${Math.ceil(areaCssPx)} CSS px flash more than ${MAX_FLASHES_PER_SECOND} times a second`;
	return areaCssPx <= MAX_FLASHING_AREA_CSS_PX
		? `${size}, within the ${MAX_FLASHING_AREA_CSS_PX} that are allowed.`
		: `${size}, more than the ${MAX_FLASHING_AREA_CSS_PX} that are allowed: show the card smaller.`;
}

function luminanceChange([first, second]: FlashArea['states']): { change: number; darker: number } {
	const one = srgbToXyz65(first)[1];
	const other = srgbToXyz65(second)[1];
	return { change: Math.abs(one - other), darker: Math.min(one, other) };
}

function isGeneralFlash(states: FlashArea['states']): boolean {
	const { change, darker } = luminanceChange(states);
	return change >= MIN_LUMINANCE_CHANGE && darker < DARKER_BELOW;
}

function isRedFlash([first, second]: FlashArea['states']): boolean {
	if (redShare(first) < SATURATED_RED && redShare(second) < SATURATED_RED) return false;
	const [u1, v1] = uvPrime(first);
	const [u2, v2] = uvPrime(second);
	return Math.hypot(u1 - u2, v1 - v2) > MIN_CHROMATICITY_CHANGE;
}

/** Share of red in linear light; 0 for black. */
function redShare(rgb: Rgb): number {
	const [red, green, blue] = srgbToLinear(rgb);
	const sum = red + green + blue;
	return sum > 0 ? red / sum : 0;
}

/** CIE 1976 u', v'. Black has none and is given the white's, so that red to black counts as the red flash it is. */
function uvPrime(rgb: Rgb): readonly [number, number] {
	const isBlack = rgb.every((code) => code === 0);
	const [X, Y, Z] = srgbToXyz65(isBlack ? [255, 255, 255] : rgb);
	const sum = X + 15 * Y + 3 * Z;
	return [(4 * X) / sum, (9 * Y) / sum];
}

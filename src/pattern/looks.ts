/** The card's own colours and levels, apart from its patches: sRGB codes. A quiet slate, so that the patches stand out. */
import type { Rgb } from '../colour/rgb.ts';

/** Neutral, so that it lends no tint to the patches' edges. */
export const GROUND: Rgb = [66, 66, 66];
/** Code cells: short of the ends of the range, so that a sharpened or stretched picture does not clip them. */
export const CELL_DARK: Rgb = [24, 24, 24];
export const CELL_LIGHT: Rgb = [232, 232, 232];
export const FIGURE_GROUND: Rgb = [40, 40, 40];
export const FIGURE: Rgb = [206, 200, 190];

/**
 * The easy moving region: a rose disc on slate. They differ in colour far more than in luminance (by under 0.04 of the
 * greatest), so the movement is plainly seen and is no flash, neither by the relative rule nor at 20 cd/m2 of a 500 cd/m2 screen.
 */
export const STILL_SLATE: Rgb = [54, 76, 88];
export const DISC_ROSE: Rgb = [126, 76, 80];

/**
 * The hard moving region: each channel of each pixel lies between these. The whole span is under 0.10 of the greatest
 * luminance, so that noise of any rate is no general flash; no mixture of them is a saturated red.
 */
export const NOISE_LOW: Rgb = [42, 36, 38];
export const NOISE_HIGH: Rgb = [90, 84, 86];

/**
 * Bars that move to be measured by: four times apart in luminance, which is plain to see, and by under 0.04 of the greatest, which at
 * any speed is no flash by the rule for the easy region.
 */
export const BAR_DARK: Rgb = [30, 30, 30];
export const BAR_LIGHT: Rgb = [64, 64, 64];

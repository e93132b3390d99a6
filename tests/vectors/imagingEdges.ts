/**
 * Half-contrast frequencies, cycles a pixel, of a Gaussian blur of `sigmaPx` seen through a pixel's own aperture: where
 * exp(-2 (pi sigma f)^2) sinc(f) is a half. Computed (standards.md 5.2), by bisection, apart from this code.
 */
export const gaussianEdgeRows: readonly (readonly [sigmaPx: number, mtf50CyPx: number])[] = [
	[0.5, 0.32309],
	[0.8, 0.22012],
	[1.0, 0.17996],
	[1.5, 0.12267],
	[2.0, 0.09273],
];

/** cos^4 law of a wide lens, degrees off axis and light left. Computed (standards.md 5.3). */
export const cosineLawRows: readonly (readonly [angleDeg: number, light: number])[] = [
	[10, 0.9406],
	[20, 0.7797],
	[30, 0.5625],
	[40, 0.3444],
	[50, 0.1707],
	[60, 0.0625],
];

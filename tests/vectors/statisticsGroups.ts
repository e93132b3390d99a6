/** [degrees of freedom, probability, t]: the printed table of Student's t, well known, from memory. */
export const STUDENT_QUANTILES: readonly (readonly [number, number, number])[] = [
	[1, 0.975, 12.706],
	[2, 0.95, 2.92],
	[2, 0.975, 4.303],
	[2, 0.995, 9.925],
	[4, 0.95, 2.132],
	[4, 0.975, 2.776],
	[4, 0.99, 3.747],
	[8, 0.975, 2.306],
	[10, 0.95, 1.812],
	[30, 0.975, 2.042],
	[120, 0.975, 1.98],
];

/**
 * A non-inferiority comparison worked once by hand (computed): three sessions before, three after. Means 120 and 126; variances 16
 * and 4; standard error sqrt(16/3 + 4/3) = 2.581989; degrees (20/3)^2 / ((16/3)^2/2 + (4/3)^2/2) = 2.941176; t at 95 % one-sided
 * 2.372676 by numeric integration of the density, so the difference is at most 12.1262.
 */
export const WELCH_EXAMPLE = {
	first: [116, 120, 124],
	second: [124, 126, 128],
	difference: 6,
	standardError: 2.581989,
	degrees: 2.941176,
	upper95: 12.1262,
} as const;

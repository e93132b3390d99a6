/**
 * Hand checks for PSNR and SSIM, worked out once apart from this code.
 * Source: PSNR = 10 log10(255^2 / MSE); SSIM by Wang, Bovik, Sheikh, Simoncelli 2004 with C1 6.5025, C2 58.5225.
 */

export const psnrRows: readonly (readonly [meanSquared: number, decibels: number])[] = [
	[1, 48.1308],
	[10, 38.1308],
	[100, 28.1308],
	[650.25, 20],
];

/** Two flat pictures of the given codes. The second row is C1 / (255^2 + C1). */
export const flatSsimRows: readonly (readonly [first: number, second: number, similarity: number])[] = [
	[100, 110, 0.9954764441],
	[0, 255, 0.00009999],
	[128, 127, 0.9999692492],
];

/** Equal means; standard deviations; covariance. */
export const texturedSsimRows: readonly {
	readonly deviations: readonly [number, number];
	readonly covariance: number;
	readonly similarity: number;
}[] = [
	{ deviations: [20, 10], covariance: 200, similarity: 0.8209561835 },
	{ deviations: [20, 20], covariance: -400, similarity: -0.8636669394 },
];

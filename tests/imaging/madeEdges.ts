/** Slanted edges of known blur: the Gaussian integral at 6 x 6 points of every pixel, which is the pixel's own aperture. */
import { createRealPlane, type RealPlane } from '../../src/imaging/realPlane.ts';
import type { Random } from '../../src/statistics/random.ts';

export type EdgeSpec = {
	readonly sidePx: number;
	readonly sigmaPx: number;
	readonly angleDeg: number;
	readonly contrast: number;
	readonly light?: number;
};

export function madeEdge({ sidePx, sigmaPx, angleDeg, contrast, light = 0.8 }: EdgeSpec): RealPlane {
	const plane = createRealPlane(sidePx, sidePx);
	const slant = Math.tan((angleDeg * Math.PI) / 180);
	const cosine = Math.cos((angleDeg * Math.PI) / 180);
	const dark = light / contrast;
	const points = 6;
	for (let row = 0; row < sidePx; row++)
		for (let column = 0; column < sidePx; column++) {
			let sum = 0;
			for (let i = 0; i < points * points; i++) {
				const x = column + ((i % points) + 0.5) / points - 0.5;
				const y = row + (Math.floor(i / points) + 0.5) / points - 0.5;
				const away = (x - (sidePx / 2 - 0.3 + slant * (y - sidePx / 2))) * cosine;
				sum += normalIntegral(away / sigmaPx);
			}
			plane.data[row * sidePx + column] = dark + ((light - dark) * sum) / points ** 2;
		}
	return plane;
}

export function withNoise(plane: RealPlane, deviation: number, random: Random): RealPlane {
	return { ...plane, data: plane.data.map((value) => value + deviation * random.normal()) };
}

/** Abramowitz and Stegun 7.1.26, good to 1.5e-7. */
function normalIntegral(z: number): number {
	const x = Math.abs(z) / Math.SQRT2;
	const t = 1 / (1 + 0.3275911 * x);
	const tail =
		((((1.061405429 * t - 1.453152027) * t + 1.421413741) * t - 0.284496736) * t + 0.254829592) *
		t *
		Math.exp(-x * x);
	return z >= 0 ? 1 - tail / 2 : tail / 2;
}

/** The normal distribution function and its inverse, through the incomplete gamma function. */
import { gammaCdf, gammaTail } from './gamma.ts';
import { invertRising } from './invertRising.ts';

/** Beyond this many standard deviations no double-precision probability lies. */
const FAR = 40;

/** Chance that a standard normal variable is at most z. */
export function normalCdf(z: number): number {
	if (z < 0) return gammaTail(0.5, (z * z) / 2) / 2;
	return 0.5 + gammaCdf(0.5, (z * z) / 2) / 2;
}

/** The z with normalCdf(z) = probability, which must lie strictly between 0 and 1. */
export function normalQuantile(probability: number): number {
	if (!(probability > 0 && probability < 1))
		throw new RangeError(`a probability strictly between 0 and 1 is needed, got ${probability}`);
	if (probability > 0.5) return -normalQuantile(1 - probability);
	return invertRising(normalCdf, probability, { low: -FAR, high: 0 });
}

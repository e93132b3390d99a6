/** Student's t: distribution function and its inverse, for any number of degrees of freedom above 0, whole or not. */
import { betaCdf, betaQuantile } from './beta.ts';

/** Chance that t with `degrees` of freedom is at most `t` (identity with the incomplete beta function, from memory). */
export function studentCdf(t: number, degrees: number): number {
	checkDegrees(degrees);
	const tail = betaCdf(degrees / (degrees + t * t), degrees / 2, 0.5) / 2;
	return t < 0 ? tail : 1 - tail;
}

/** The t with studentCdf(t, degrees) = probability, which must lie strictly between 0 and 1. */
export function studentQuantile(probability: number, degrees: number): number {
	checkDegrees(degrees);
	if (!(probability > 0 && probability < 1))
		throw new RangeError(`a probability strictly between 0 and 1 is needed, got ${probability}`);
	if (probability < 0.5) return -studentQuantile(1 - probability, degrees);
	if (probability === 0.5) return 0;
	const x = betaQuantile(2 * (1 - probability), degrees / 2, 0.5);
	return Math.sqrt((degrees * (1 - x)) / x);
}

function checkDegrees(degrees: number): void {
	if (!(degrees > 0)) throw new RangeError(`degrees of freedom must be above 0, got ${degrees}`);
}

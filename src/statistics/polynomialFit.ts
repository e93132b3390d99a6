/** A polynomial through points by least squares, about the points' own middle and scale so that the equations stay well posed. */
import { leastSquares } from './linearSystem.ts';

export type Polynomial = {
	at(x: number): number;
	/** Slope at x. */
	slopeAt(x: number): number;
};

/** RangeError when there are fewer points than coefficients, or all stand at one x. */
export function fitPolynomial(xs: readonly number[], ys: readonly number[], degree: number): Polynomial {
	const low = xs.reduce((least, x) => Math.min(least, x), Infinity);
	const high = xs.reduce((most, x) => Math.max(most, x), -Infinity);
	const centre = (low + high) / 2;
	const scale = (high - low) / 2;
	if (!(scale > 0)) throw new RangeError(`a fit needs points at different places, got all at ${centre}`);
	const terms = xs.map((x) => Array.from({ length: degree + 1 }, (_, n) => ((x - centre) / scale) ** n));
	const factors = leastSquares(terms, ys);
	return {
		at: (x) => {
			const u = (x - centre) / scale;
			return factors.reduceRight((sum, factor) => sum * u + factor, 0);
		},
		slopeAt: (x) => {
			const u = (x - centre) / scale;
			return factors.reduce((sum, factor, n) => (n === 0 ? sum : sum + n * factor * u ** (n - 1)), 0) / scale;
		},
	};
}

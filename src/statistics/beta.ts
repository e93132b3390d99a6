/**
 * The regularised incomplete beta function and its inverse, with real-valued parameters: exact binomial bounds are its
 * quantiles (Clopper and Pearson 1934, from memory). Continued fraction by Lentz's method: textbook numerics, from memory.
 */
import { logGamma } from './gamma.ts';
import { invertRising } from './invertRising.ts';

const MAX_TERMS = 10_000;
const RELATIVE_ROUNDING = 1e-15;
/** Keeps Lentz's continued fraction from dividing by zero. */
const TINY = 1e-300;

/** I_x(a, b): chance that a beta variable with positive parameters a and b is at most x. */
export function betaCdf(x: number, a: number, b: number): number {
	if (!(a > 0 && b > 0)) throw new RangeError(`beta parameters must be positive, got ${a} and ${b}`);
	if (x <= 0) return 0;
	if (x >= 1) return 1;
	const logFront = logGamma(a + b) - logGamma(a) - logGamma(b) + a * Math.log(x) + b * Math.log1p(-x);
	if (x < (a + 1) / (a + b + 2)) return (Math.exp(logFront) * fraction(x, a, b)) / a;
	return 1 - (Math.exp(logFront) * fraction(1 - x, b, a)) / b;
}

/** The x in [0, 1] with betaCdf(x, a, b) = probability. */
export function betaQuantile(probability: number, a: number, b: number): number {
	if (!(probability >= 0 && probability <= 1))
		throw new RangeError(`a probability in [0, 1] is needed, got ${probability}`);
	return invertRising((x) => betaCdf(x, a, b), probability, { low: 0, high: 1 });
}

function fraction(x: number, a: number, b: number): number {
	let c = 1;
	let d = 1 / awayFromZero(1 - ((a + b) * x) / (a + 1));
	let value = d;
	for (let m = 1; m < MAX_TERMS; m++) {
		const even = (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m));
		d = 1 / awayFromZero(1 + even * d);
		c = awayFromZero(1 + even / c);
		value *= d * c;
		const odd = (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1));
		d = 1 / awayFromZero(1 + odd * d);
		c = awayFromZero(1 + odd / c);
		value *= d * c;
		if (Math.abs(d * c - 1) < RELATIVE_ROUNDING) break;
	}
	return value;
}

function awayFromZero(x: number): number {
	return Math.abs(x) < TINY ? TINY : x;
}

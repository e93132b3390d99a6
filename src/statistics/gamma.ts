/**
 * The gamma function's logarithm, the regularised incomplete gamma function and its inverse, the quantile of a gamma
 * variable of scale 1. Lanczos approximation (g = 7, nine terms), series and continued fraction: textbook numerics,
 * from memory; tests hold them against a printed table, sums and a second library.
 */
import { invertRising } from './invertRising.ts';

const LANCZOS_G = 7;
const LANCZOS = [
	0.99999999999980993, 676.5203681218851, -1259.1392167224028, 771.32342877765313, -176.61502916214059,
	12.507343278686905, -0.13857109526572012, 9.9843695780195716e-6, 1.5056327351493116e-7,
];
const MAX_TERMS = 100_000;
const RELATIVE_ROUNDING = 1e-16;
/** Keeps Lentz's continued fraction from dividing by zero. */
const TINY = 1e-300;

/** ln of gamma(x), x > 0. */
export function logGamma(x: number): number {
	if (!(x > 0)) throw new RangeError(`logGamma needs a positive number, got ${x}`);
	if (x < 0.5) return Math.log(Math.PI / Math.sin(Math.PI * x)) - logGamma(1 - x);
	const y = x - 1;
	let sum = LANCZOS[0]!;
	for (let i = 1; i < LANCZOS.length; i++) sum += LANCZOS[i]! / (y + i);
	const t = y + LANCZOS_G + 0.5;
	return 0.5 * Math.log(2 * Math.PI) + (y + 0.5) * Math.log(t) - t + Math.log(sum);
}

/** P(shape, x): chance that a gamma variable of this shape, scale 1, is at most x. */
export function gammaCdf(shape: number, x: number): number {
	if (!(shape > 0)) throw new RangeError(`a gamma shape must be positive, got ${shape}`);
	if (x <= 0) return 0;
	return x < shape + 1 ? lowerSeries(shape, x) : 1 - upperFraction(shape, x);
}

/** 1 - gammaCdf, without loss of figures in the far tail. */
export function gammaTail(shape: number, x: number): number {
	if (x <= 0) return 1;
	return x < shape + 1 ? 1 - lowerSeries(shape, x) : upperFraction(shape, x);
}

/** The x with gammaCdf(shape, x) = probability in [0, 1). */
export function gammaQuantile(shape: number, probability: number): number {
	if (!(probability >= 0 && probability < 1))
		throw new RangeError(`a probability in [0, 1) is needed, got ${probability}`);
	if (probability === 0) return 0;
	let high = shape + 1;
	while (gammaCdf(shape, high) < probability) high *= 2;
	return invertRising((x) => gammaCdf(shape, x), probability, { low: 0, high });
}

function lowerSeries(shape: number, x: number): number {
	let term = 1 / shape;
	let sum = term;
	for (let n = 1; n < MAX_TERMS; n++) {
		term *= x / (shape + n);
		sum += term;
		if (term < sum * RELATIVE_ROUNDING) break;
	}
	return sum * scale(shape, x);
}

function upperFraction(shape: number, x: number): number {
	let b = x + 1 - shape;
	let c = 1 / TINY;
	let d = 1 / b;
	let value = d;
	for (let i = 1; i < MAX_TERMS; i++) {
		const a = -i * (i - shape);
		b += 2;
		d = 1 / awayFromZero(a * d + b);
		c = awayFromZero(b + a / c);
		value *= d * c;
		if (Math.abs(d * c - 1) < RELATIVE_ROUNDING * 10) break;
	}
	return value * scale(shape, x);
}

function scale(shape: number, x: number): number {
	return Math.exp(shape * Math.log(x) - x - logGamma(shape));
}

function awayFromZero(x: number): number {
	return Math.abs(x) < TINY ? TINY : x;
}

/** One draw of a delay from its distribution, in milliseconds, never below zero. */
import type { Random } from '../statistics/random.ts';
import type { DelaySpread } from './airSpec.ts';

export function drawDelay(spread: DelaySpread, random: Random): number {
	switch (spread.kind) {
		case 'constant':
			return spread.ms;
		case 'uniform':
			return spread.fromMs + (spread.toMs - spread.fromMs) * random.next();
		case 'normal':
			return drawNormal(spread.meanMs, spread.sdMs, random);
		case 'lognormal':
			return spread.medianMs * Math.exp(spread.sigma * random.normal());
		case 'gamma':
			return spread.scaleMs * drawGamma(spread.shape, random);
	}
}

/** Cut off at zero. The mean is at or above zero, so half the draws at least are kept. */
function drawNormal(mean: number, sd: number, random: Random): number {
	for (;;) {
		const value = mean + sd * random.normal();
		if (value >= 0) return value;
	}
}

/** Marsaglia and Tsang's method (2000, from memory); below a shape of 1 by one more uniform draw. */
function drawGamma(shape: number, random: Random): number {
	if (shape < 1) return drawGamma(shape + 1, random) * random.next() ** (1 / shape);
	const d = shape - 1 / 3;
	const c = 1 / Math.sqrt(9 * d);
	for (;;) {
		const x = random.normal();
		const v = (1 + c * x) ** 3;
		if (v > 0 && Math.log(1 - random.next()) < 0.5 * x * x + d - d * v + d * Math.log(v)) return d * v;
	}
}

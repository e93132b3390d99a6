/**
 * Bounds on a mean from its repeats: Student's t with the effective size that the repeats' first autocorrelation leaves,
 * n (1 - r) / (1 + r), never more than n (common practice for a first-order process; from memory). 95 % one-sided each.
 */
import { betaQuantile } from '../statistics/beta.ts';

/** Half the width of the interval, in the values' unit. Needs at least two values. */
export function repeatHalfWidth(values: readonly number[]): number {
	const n = values.length;
	if (n < 2) throw new RangeError(`bounds over repeats need at least two values, got ${n}`);
	const mean = values.reduce((sum, value) => sum + value, 0) / n;
	const squares = values.reduce((sum, value) => sum + (value - mean) ** 2, 0);
	if (squares === 0) return 0;
	let lagged = 0;
	for (let i = 1; i < n; i++) lagged += (values[i]! - mean) * (values[i - 1]! - mean);
	const correlation = Math.max(0, lagged / squares);
	// Two are the fewest that have a spread at all; t at one degree of freedom is then wide enough to say so.
	const effective = Math.max(2, (n * (1 - correlation)) / (1 + correlation));
	return studentQuantile95(effective - 1) * Math.sqrt(squares / (n - 1) / effective);
}

/** 95 % point of Student's t for real-valued degrees of freedom: x = nu / (nu + t^2) is Beta(nu/2, 1/2), two tails. */
export function studentQuantile95(degrees: number): number {
	const x = betaQuantile(0.1, degrees / 2, 0.5);
	return Math.sqrt((degrees * (1 - x)) / x);
}

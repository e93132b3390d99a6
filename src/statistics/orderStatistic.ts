/**
 * Distribution-free bounds of a quantile by ranks of *independent* readings, exact binomial (Conover; Hahn and Meeker:
 * method from memory, numbers computed in standards.md 3.1). Pictures of one run are not independent: there the episode bound
 * holds (episodeBound.ts), and this only serves where repeats really are apart.
 */
import { betaCdf } from './beta.ts';

export type QuantileRanks = {
	/** Ranks counted from 1 in ascending order. */
	readonly lowerRank: number;
	readonly upperRank: number;
	/** What the interval really covers, at least the confidence asked for. */
	readonly coverageRatio: number;
};

/** Two-sided interval of the quantile of order `p` from `n` readings; null when `n` is too small for one. */
export function quantileRanks(n: number, p: number, confidence: number): QuantileRanks | null {
	checkArguments(n, p);
	const alpha = 1 - confidence;
	const lowerRank = smallestSuccesses(n, (k) => binomialCdf(k, n, p) > alpha / 2);
	const upperRank = 1 + smallestSuccesses(n, (k) => binomialCdf(k, n, p) >= 1 - alpha / 2);
	if (lowerRank < 1 || upperRank > n) return null;
	const coverageRatio = binomialCdf(upperRank - 1, n, p) - binomialCdf(lowerRank - 1, n, p);
	return { lowerRank, upperRank, coverageRatio };
}

/** Rank of the one-sided upper bound: smallest r with P(B <= r - 1) >= confidence; null below 59 for P95 at 95 %. */
export function upperRank(n: number, p: number, confidence: number): number | null {
	checkArguments(n, p);
	const rank = 1 + smallestSuccesses(n, (k) => binomialCdf(k, n, p) >= confidence);
	return rank > n ? null : rank;
}

/** Half-width of the Dvoretzky-Kiefer-Wolfowitz band: no quantile's order is off by more, with chance 1 - alpha. */
export function dkwHalfWidth(n: number, alpha: number): number {
	return Math.sqrt(Math.log(2 / alpha) / (2 * n));
}

function smallestSuccesses(n: number, enough: (k: number) => boolean): number {
	let no = -1;
	let yes = n;
	while (yes - no > 1) {
		const middle = Math.floor((no + yes) / 2);
		if (enough(middle)) yes = middle;
		else no = middle;
	}
	return yes;
}

function binomialCdf(k: number, n: number, p: number): number {
	if (k < 0) return 0;
	return k >= n ? 1 : betaCdf(1 - p, n - k, k + 1);
}

function checkArguments(n: number, p: number): void {
	if (!(Number.isInteger(n) && n > 0)) throw new RangeError(`a whole number of readings is needed, got ${n}`);
	if (!(p > 0 && p < 1))
		throw new RangeError(`a quantile order strictly between 0 and 1 is needed, got ${p}`);
}

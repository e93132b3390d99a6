/**
 * Intervals for a share counted from independent trials. Counts may be real-valued, because an effective size of
 * correlated trials is. Wilson 1927 as given by Newcombe 1998; Clopper and Pearson 1934 (both from memory, standards.md 3.2).
 */
import { betaQuantile } from './beta.ts';

export type ShareInterval = { readonly lowerRatio: number; readonly upperRatio: number };

/** Wilson's score interval; z = 1.959964 for 95 % on both sides together, 1.644854 for 95 % on each side. */
export function wilsonInterval(successes: number, n: number, z: number): ShareInterval {
	checkCounts(successes, n);
	const p = successes / n;
	const scale = 1 + (z * z) / n;
	const centre = (p + (z * z) / (2 * n)) / scale;
	const halfWidth = (z * Math.sqrt((p * (1 - p)) / n + (z * z) / (4 * n * n))) / scale;
	// At the ends the formula gives 0 and 1 but for rounding.
	return {
		lowerRatio: successes === 0 ? 0 : Math.max(0, centre - halfWidth),
		upperRatio: successes === n ? 1 : Math.min(1, centre + halfWidth),
	};
}

/** The exact interval; `confidence` holds for each side alone, so 0.975 gives the usual two-sided 95 %. */
export function clopperPearson(successes: number, n: number, confidence: number): ShareInterval {
	checkCounts(successes, n);
	const failures = n - successes;
	return {
		lowerRatio: successes === 0 ? 0 : betaQuantile(1 - confidence, successes, failures + 1),
		upperRatio: failures === 0 ? 1 : betaQuantile(confidence, successes + 1, failures),
	};
}

function checkCounts(successes: number, n: number): void {
	if (!(n > 0)) throw new RangeError(`a share needs at least one trial, got ${n}`);
	if (!(successes >= 0 && successes <= n))
		throw new RangeError(`successes must lie in [0, ${n}], got ${successes}`);
}

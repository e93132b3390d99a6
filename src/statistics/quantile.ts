/**
 * Quantiles of a plain list of numbers, every number counting the same. For time-weighted quantiles of a picture-age
 * curve see levelCurve.ts. Definition: type 7 of Hyndman and Fan 1996 (linear between order statistics, the default of
 * R and NumPy; from memory), checked in tests against a general-purpose library.
 */

/** Finite numbers in ascending order, at least one. Made only by `sortSamples`. */
export type SortedSamples = Float64Array & { readonly order: 'ascending' };

/** Copies and sorts; throws `RangeError` on an empty list or a number that is not finite. */
export function sortSamples(values: ArrayLike<number>): SortedSamples {
	if (values.length === 0) throw new RangeError('no samples to sort');
	const sorted = Float64Array.from(values).sort();
	// Ascending order puts NaN last and the infinities at the ends.
	const first = sorted[0]!;
	const last = sorted[sorted.length - 1]!;
	if (!Number.isFinite(first)) throw new RangeError(`samples must be finite, got ${first}`);
	if (!Number.isFinite(last)) throw new RangeError(`samples must be finite, got ${last}`);
	return sorted as SortedSamples;
}

/** The quantile of the given order in [0, 1], in the samples' own unit. */
export function quantileSorted(sorted: SortedSamples, order: number): number {
	if (!(order >= 0 && order <= 1)) throw new RangeError(`quantile order must lie in [0, 1], got ${order}`);
	const position = order * (sorted.length - 1);
	const below = Math.floor(position);
	const low = sorted[below]!;
	const high = sorted[Math.min(below + 1, sorted.length - 1)]!;
	return low + (position - below) * (high - low);
}

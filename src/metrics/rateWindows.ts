/**
 * How many pictures a window of 1 s must hold not to be slow. The criterion reads "fewer than 15 pictures, or under 90 % of
 * the source's rate", and 15 is what has a source (Chen and Thropp, from memory). So: 15; or 90 % of a source that itself
 * shows hardly more, so that a window is not slow for where its edges fall. A source slower than 15 is slow in every
 * window: what was never shown cannot be steered by. Pictures missing from a fast source are the lost line's matter.
 * (Taking 90 % of every source would call 26 pictures of 30 slow, which is above the comfort of 25.)
 */
export function requiredPerWindow(slowRateHz: number, sourceHz: number): number {
	return sourceHz < slowRateHz ? slowRateHz : Math.min(slowRateHz, 0.9 * sourceHz);
}

export const WINDOW_MS = 1000;

/** How many whole windows fit from the first instant to the last; what is left over is not judged. */
function windowCount(fromMs: number, endMs: number): number {
	// Instants are rounded to a thousandth of a millisecond; that must not cost a window.
	return Math.floor((endMs - fromMs + 0.01) / WINDOW_MS);
}

/** Instants per window, from `fromMs` on; the column must never fall. */
export function countPerWindow(instantsMs: Float64Array, fromMs: number, endMs: number): Uint32Array {
	const counts = new Uint32Array(windowCount(fromMs, endMs));
	for (const atMs of instantsMs) {
		const window = Math.floor((atMs - fromMs) / WINDOW_MS);
		if (window >= 0 && window < counts.length) counts[window]!++;
	}
	return counts;
}

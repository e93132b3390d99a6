/**
 * How many pictures a window of 1 s must hold not to be slow. The criterion reads "fewer than 15 pictures, or under 90 % of
 * the source's rate"; either makes a window slow here. The other reading (15, or less where the source is slower) was
 * not taken: it would let a source of 10/s pass for fit to steer by, and a wrong "fit" is the worst error. It also
 * agrees with the line for lost pictures, which allows steering up to 10 %.
 */
export function requiredPerWindow(slowRateHz: number, sourceHz: number): number {
	return Math.max(slowRateHz, 0.9 * sourceHz);
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

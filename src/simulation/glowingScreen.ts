/**
 * A screen's light over time, exactly: it is told what to show at an instant, and each of its numbers (the pairs of a marker)
 * goes there exponentially. The mean over any exposure is a difference of two integrals, so no time step is in it.
 */
export type GlowingScreen = {
	/** Mean light over [fromMs, toMs] added to `into` (`width` numbers), times `factor`. */
	expose(fromMs: number, toMs: number, into: Float64Array): void;
};

/**
 * `changesMs`: ascending instants of new content; `contents`: `width` numbers for each. Before the first, its content stands.
 * `responseMs` 0: at once.
 */
export function createGlowingScreen(
	changesMs: ArrayLike<number>,
	contents: ArrayLike<number>,
	{ width, responseMs }: { readonly width: number; readonly responseMs: number },
): GlowingScreen {
	const count = changesMs.length;
	if (count === 0) throw new RangeError('a screen needs something to show');
	/** State at each change, and the integral up to it. */
	const states = new Float64Array(count * width);
	const integrals = new Float64Array(count * width);
	for (let i = 0; i < width; i++) states[i] = contents[i]!;
	for (let change = 1; change < count; change++) {
		const lastedMs = changesMs[change]! - changesMs[change - 1]!;
		const kept = responseMs > 0 ? Math.exp(-lastedMs / responseMs) : 0;
		for (let i = 0; i < width; i++) {
			const before = (change - 1) * width + i;
			const target = contents[before]!;
			const off = states[before]! - target;
			states[before + width] = target + off * kept;
			integrals[before + width] = integrals[before]! + target * lastedMs + off * responseMs * (1 - kept);
		}
	}

	function addIntegral(atMs: number, factor: number, into: Float64Array): void {
		let low = 0;
		let high = count;
		while (high - low > 1) {
			const middle = (low + high) >>> 1;
			if (changesMs[middle]! <= atMs) low = middle;
			else high = middle;
		}
		const sinceMs = atMs - changesMs[low]!;
		// Before the first change its content stood, and its state is that content: the same formula holds.
		const kept = responseMs > 0 && sinceMs > 0 ? Math.exp(-sinceMs / responseMs) : sinceMs > 0 ? 0 : 1;
		for (let i = 0; i < width; i++) {
			const at = low * width + i;
			const off = states[at]! - contents[at]!;
			into[i]! += factor * (integrals[at]! + contents[at]! * sinceMs + off * responseMs * (1 - kept));
		}
	}

	return {
		expose(fromMs, toMs, into) {
			const factor = 1 / (toMs - fromMs);
			addIntegral(toMs, factor, into);
			addIntegral(fromMs, -factor, into);
		},
	};
}

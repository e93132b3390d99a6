/**
 * A curve of levels over observed time (or over content time): pieces that stay at one level (slope 0: a delay, a rate)
 * or grow by one ms each ms until the next picture comes (slope 1: picture age). Shares, means and quantiles are those
 * of the curve itself, every instant counting the same, not of samples taken from it: the order statistic of sampled
 * ages is known to be low by milliseconds (estimators.md A3, computed). Breaks between segments are no time at all.
 */

const FIRST_CAPACITY = 1024;
/** Room for the rounding of long sums when a share is compared with a wanted one. */
const SHARE_ROUNDING = 1e-12;

export type LevelCurve = {
	readonly slope: 0 | 1;
	/** Number of pieces. */
	readonly count: number;
	/** Sum of the pieces' lengths. */
	readonly totalMs: number;
	readonly lengthsMs: Float64Array;
	/** Level at each piece's start. */
	readonly levels: Float64Array;
	/** Index of each segment's first piece, ascending; empty segments leave no trace. */
	readonly segmentStarts: readonly number[];
};

/** Gathers pieces in order of time. Pieces of no length are left out. */
export class CurveBuilder {
	readonly #slope: 0 | 1;
	#count = 0;
	#totalMs = 0;
	#lengthsMs = new Float64Array(FIRST_CAPACITY);
	#levels = new Float64Array(FIRST_CAPACITY);
	#segmentStarts: number[] = [];
	#segmentOpen = false;

	constructor(slope: 0 | 1) {
		this.#slope = slope;
	}

	/** Throws `RangeError` on a negative length or on anything not finite. */
	add(lengthMs: number, level: number): void {
		if (!(lengthMs >= 0 && lengthMs < Number.POSITIVE_INFINITY))
			throw new RangeError(`a piece's length must be finite and not negative, got ${lengthMs}`);
		if (!Number.isFinite(level)) throw new RangeError(`a piece's level must be finite, got ${level}`);
		if (lengthMs === 0) return;
		if (this.#count === this.#levels.length) this.#grow();
		if (!this.#segmentOpen) this.#segmentStarts.push(this.#count);
		this.#segmentOpen = true;
		this.#lengthsMs[this.#count] = lengthMs;
		this.#levels[this.#count] = level;
		this.#count++;
		this.#totalMs += lengthMs;
	}

	/** A segment ends: nothing is merged or batched across this place. */
	break(): void {
		this.#segmentOpen = false;
	}

	/** The curve so far. Throws `RangeError` when nothing was added. */
	finish(): LevelCurve {
		if (this.#count === 0) throw new RangeError('a curve needs at least one piece');
		return {
			slope: this.#slope,
			count: this.#count,
			totalMs: this.#totalMs,
			lengthsMs: this.#lengthsMs.slice(0, this.#count),
			levels: this.#levels.slice(0, this.#count),
			segmentStarts: [...this.#segmentStarts],
		};
	}

	#grow(): void {
		const capacity = this.#levels.length * 2;
		const lengthsMs = new Float64Array(capacity);
		const levels = new Float64Array(capacity);
		lengthsMs.set(this.#lengthsMs);
		levels.set(this.#levels);
		this.#lengthsMs = lengthsMs;
		this.#levels = levels;
	}
}

/** Share of time, 0 to 1, with the level above `x`. */
export function shareOver(curve: LevelCurve, x: number): number {
	return Math.min(1, timeOver(curve, x) / curve.totalMs);
}

/** Time-weighted mean level. */
export function meanLevel(curve: LevelCurve): number {
	const { lengthsMs, levels, slope, count } = curve;
	let area = 0;
	for (let i = 0; i < count; i++) area += lengthsMs[i]! * (levels[i]! + (slope * lengthsMs[i]!) / 2);
	return area / curve.totalMs;
}

/** Highest level reached, at the end of a growing piece. */
export function maxLevel(curve: LevelCurve): number {
	const { lengthsMs, levels, slope, count } = curve;
	let highest = Number.NEGATIVE_INFINITY;
	for (let i = 0; i < count; i++) highest = Math.max(highest, levels[i]! + slope * lengthsMs[i]!);
	return highest;
}

/** Lowest level, at the start of a piece. */
export function minLevel(curve: LevelCurve): number {
	let lowest = Number.POSITIVE_INFINITY;
	for (let i = 0; i < curve.count; i++) lowest = Math.min(lowest, curve.levels[i]!);
	return lowest;
}

/** The smallest level with at most 1 - order of the time above it; order 0 gives the lowest level, 1 the highest. */
export function levelQuantile(curve: LevelCurve, order: number): number {
	if (!(order >= 0 && order <= 1)) throw new RangeError(`quantile order must lie in [0, 1], got ${order}`);
	const allowedMs = (1 - order + SHARE_ROUNDING) * curve.totalMs;
	let low = minLevel(curve);
	let high = maxLevel(curve);
	if (order === 1) return high;
	if (timeOver(curve, low) <= allowedMs) return low;
	// Halving down to neighbouring numbers meets a step exactly.
	for (;;) {
		const middle = low + (high - low) / 2;
		if (middle <= low || middle >= high) return high;
		if (timeOver(curve, middle) <= allowedMs) high = middle;
		else low = middle;
	}
}

function timeOver(curve: LevelCurve, x: number): number {
	const { lengthsMs, levels, slope, count } = curve;
	let overMs = 0;
	if (slope === 0) {
		for (let i = 0; i < count; i++) if (levels[i]! > x) overMs += lengthsMs[i]!;
		return overMs;
	}
	for (let i = 0; i < count; i++) {
		const lengthMs = lengthsMs[i]!;
		const beyondMs = levels[i]! + lengthMs - x;
		if (beyondMs > 0) overMs += Math.min(beyondMs, lengthMs);
	}
	return overMs;
}

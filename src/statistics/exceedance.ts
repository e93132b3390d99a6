/**
 * When a level curve stands over a limit (or, `below`, at or under it): share of time, time in each whole second, and
 * the length-weighted episode. One pass, no allocation per piece, because the episode bound asks it at dozens of levels.
 */
import type { SecondCells } from './batchMeans.ts';
import type { LevelCurve } from './levelCurve.ts';

const SECOND_MS = 1000;
/**
 * Neighbouring episodes count as one when the gap is no longer than this AND no longer than the longer of the two
 * (estimators.md B1). Both lengths are those before any merging. Without the second condition a steady link, where
 * every picture's last millisecond is over its own P95, is one endless episode; with grown lengths instead of the
 * original ones a single long picture swallows all such neighbours, one after the other, to the same effect.
 */
const MERGE_GAP_MS = 250;
/** Two pieces that touch but for rounding are one episode. */
const TOUCHING_MS = 1e-6;

export type Exceedance = {
	readonly shareRatio: number;
	/** Share of each whole second of the layout. */
	readonly secondShares: Float64Array;
	/** Sum of squared episode lengths over the sum of lengths, gaps inside merged episodes included; 0 without episodes. */
	readonly weightedEpisodeMs: number;
	/** The longest of these episodes; 0 without episodes. */
	readonly longestEpisodeMs: number;
};

export function measureExceedance(
	curve: LevelCurve,
	x: number,
	{ layout, below }: { readonly layout: SecondCells; readonly below: boolean },
): Exceedance {
	const { lengthsMs, levels, slope, count, segmentStarts } = curve;
	const cells = new Float64Array(layout.count);
	const episodes = new EpisodeSums();
	let overMs = 0;
	for (let segment = 0; segment < segmentStarts.length; segment++) {
		const end = segmentStarts[segment + 1] ?? count;
		const base = layout.starts[segment]!;
		const cellEnd = layout.starts[segment + 1]!;
		let atMs = 0;
		for (let i = segmentStarts[segment]!; i < end; i++) {
			const endMs = atMs + lengthsMs[i]!;
			// The instant within the piece from which the level is over x.
			const riseMs = levels[i]! > x ? atMs : slope === 0 ? endMs : Math.min(endMs, atMs + x - levels[i]!);
			const fromMs = below ? atMs : riseMs;
			const toMs = below ? riseMs : endMs;
			if (toMs > fromMs) {
				overMs += toMs - fromMs;
				episodes.add(fromMs, toMs);
				addToSeconds(cells, { fromMs, toMs, base, cellEnd });
			}
			atMs = endMs;
		}
		episodes.endSegment();
	}
	for (let i = 0; i < cells.length; i++) cells[i]! /= SECOND_MS;
	return {
		shareRatio: Math.min(1, overMs / curve.totalMs),
		secondShares: cells,
		weightedEpisodeMs: episodes.weightedMs(),
		longestEpisodeMs: episodes.longestMs(),
	};
}

function addToSeconds(
	cells: Float64Array,
	{ fromMs, toMs, base, cellEnd }: { fromMs: number; toMs: number; base: number; cellEnd: number },
): void {
	let start = fromMs;
	for (let cell = Math.floor(fromMs / SECOND_MS); start < toMs && base + cell < cellEnd; cell++) {
		const stop = Math.min(toMs, (cell + 1) * SECOND_MS);
		cells[base + cell]! += stop - start;
		start = stop;
	}
}

class EpisodeSums {
	#sum = 0;
	#squares = 0;
	#longestMs = 0;
	/** The stretch being followed, not yet merged with anything. */
	#fromMs = 0;
	#toMs = Number.NEGATIVE_INFINITY;
	/** The merged episode before it. */
	#mergedFromMs = 0;
	#mergedToMs = Number.NEGATIVE_INFINITY;
	/** Length of the merged episode's last stretch. */
	#lastLengthMs = 0;

	add(fromMs: number, toMs: number): void {
		if (fromMs - this.#toMs <= TOUCHING_MS) {
			this.#toMs = toMs;
			return;
		}
		this.#closeStretch();
		this.#fromMs = fromMs;
		this.#toMs = toMs;
	}

	endSegment(): void {
		this.#closeStretch();
		this.#closeMerged();
		this.#toMs = Number.NEGATIVE_INFINITY;
		this.#mergedToMs = Number.NEGATIVE_INFINITY;
	}

	weightedMs(): number {
		return this.#sum === 0 ? 0 : this.#squares / this.#sum;
	}

	longestMs(): number {
		return this.#longestMs;
	}

	#closeStretch(): void {
		if (this.#toMs === Number.NEGATIVE_INFINITY) return;
		const lengthMs = this.#toMs - this.#fromMs;
		const gapMs = this.#fromMs - this.#mergedToMs;
		if (gapMs > MERGE_GAP_MS || gapMs > Math.max(lengthMs, this.#lastLengthMs)) {
			this.#closeMerged();
			this.#mergedFromMs = this.#fromMs;
		}
		this.#mergedToMs = this.#toMs;
		this.#lastLengthMs = lengthMs;
	}

	#closeMerged(): void {
		if (this.#mergedToMs === Number.NEGATIVE_INFINITY) return;
		const lengthMs = this.#mergedToMs - this.#mergedFromMs;
		this.#sum += lengthMs;
		this.#squares += lengthMs * lengthMs;
		this.#longestMs = Math.max(this.#longestMs, lengthMs);
	}
}

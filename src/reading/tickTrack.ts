/**
 * The ticks of one marker, frame after frame: found by a full search once, then looked for near the last one. A word found by full
 * search is believed only when the next frames agree with it, because one vector in some hundred of pure noise fits some word.
 */
import { PAIRS, TICKS } from '../pattern/markerCode.ts';
import { quantileSorted, sortSamples } from '../statistics/quantile.ts';
import type { MarkerTrack } from './opticalTypes.ts';
import { bestWord, fitTick, gainOf, modTicks, unwrapTick } from './tickFit.ts';

export type TickTrack = {
	/** Mean tick of each frame, unwrapped (it goes on rising past 4096); meaningful where `good`. */
	readonly ticks: Float64Array;
	readonly residuals: Float64Array;
	/** 1: read, and explained by neighbouring words. 0: not seen, or a blend of distant pictures, or noise. */
	readonly good: Uint8Array;
	readonly gain: number;
	/** Root mean square of the noise of one number, from the residuals. */
	readonly noise: number;
};

type Track = Pick<MarkerTrack, 'vectors' | 'read'>;

/** Residual over which a vector is no blend of neighbouring words (trials.md B.2: 0.34 of the amplitude). */
const MOST_RESIDUAL = 0.34;
const LEAST_RESIDUAL = 0.15;
const BACK = 8;
const AHEAD = 40;
/** Frames that must agree with a word found by full search. */
const AGREE = 2;
/** From one readable frame to the next: a scope of 15 pictures a second on 144 Hz steps by 10, by 20 where one is lost. */
const AGREE_TICKS = 24;
/** While nothing fits, a full search is made in one frame of so many. */
const SEARCH_EVERY = 3;
const GAIN_FRAMES = 60;

/** `nearTick` of a frame: about where to look for a marker whose tick is known to be near another's; null: anywhere. */
export function trackTicks(track: Track): TickTrack {
	const count = track.read.length;
	const gain = typicalGain(track);
	const ticks = new Float64Array(count);
	const residuals = new Float64Array(count);
	const good = new Uint8Array(count);
	let last: number | null = null;
	let lost = 0;
	for (let frame = 0; frame < count; frame++) {
		if (track.read[frame] === 0) continue;
		const at = frame * PAIRS;
		if (last !== null) {
			const word = bestWord(track.vectors, at, { fromTick: Math.floor(last) - BACK, count: BACK + AHEAD });
			const fit = fitTick(track.vectors, at, { word, gain });
			if (fit.residual < MOST_RESIDUAL) {
				last = unwrapTick(fit.tick, last);
				ticks[frame] = last;
				residuals[frame] = fit.residual;
				good[frame] = 1;
				lost = 0;
				continue;
			}
		}
		if (lost++ % SEARCH_EVERY !== 0) continue;
		const found = searchAll(track, frame, gain);
		if (found === null) continue;
		last = unwrapTick(found.tick, last ?? found.tick);
		ticks[frame] = last;
		residuals[frame] = found.residual;
		good[frame] = 1;
		lost = 0;
	}
	const noise = typicalNoise(residuals, good);
	const limit = Math.min(MOST_RESIDUAL, Math.max(LEAST_RESIDUAL, 2.5 * noise));
	for (let frame = 0; frame < count; frame++) if (residuals[frame]! > limit) good[frame] = 0;
	return { ticks, residuals, good, gain, noise };
}

/** A word among all 4096 that the following readable frames bear out; null when they do not. */
function searchAll(track: Track, frame: number, gain: number): { tick: number; residual: number } | null {
	const { vectors, read } = track;
	const fit = fitAnywhere(vectors, frame, gain);
	if (fit.residual >= MOST_RESIDUAL) return null;
	let agreed = 0;
	let asked = 0;
	let before = fit.tick;
	for (let next = frame + 1; next < read.length && asked < AGREE + 2; next++) {
		if (read[next] === 0) continue;
		asked++;
		const other = fitAnywhere(vectors, next, gain);
		const tick = unwrapTick(other.tick, before);
		if (other.residual < MOST_RESIDUAL && Math.abs(tick - before) <= AGREE_TICKS) {
			agreed++;
			before = tick;
		}
		if (agreed >= AGREE) return fit;
	}
	return asked < AGREE && agreed === asked && asked > 0 ? fit : null;
}

function fitAnywhere(vectors: Float32Array, frame: number, gain: number) {
	const word = bestWord(vectors, frame * PAIRS, { fromTick: 0, count: TICKS });
	return fitTick(vectors, frame * PAIRS, { word: modTicks(word), gain });
}

/** Median gain over some frames of the clip. */
function typicalGain({ vectors, read }: Track): number {
	const stride = Math.max(1, Math.floor(read.length / GAIN_FRAMES));
	const gains: { gain: number; residual: number }[] = [];
	for (let frame = 0; frame < read.length; frame += stride) {
		if (read[frame] === 0) continue;
		const at = frame * PAIRS;
		const word = bestWord(vectors, at, { fromTick: 0, count: TICKS });
		const gain = gainOf(vectors, at, word);
		gains.push({ gain, residual: fitTick(vectors, at, { word, gain }).residual });
	}
	// Blends of distant pictures have a low gain of their own: the better half counts.
	gains.sort((a, b) => a.residual - b.residual);
	const better = gains.slice(0, Math.ceil(gains.length / 2)).map(({ gain }) => gain);
	return better.length === 0 ? 1 : quantileSorted(sortSamples(better), 0.5);
}

/** From the residuals: six words on 21 pairs leave 16 degrees of freedom. */
function typicalNoise(residuals: Float64Array, good: Uint8Array): number {
	const read = residuals.filter((_, frame) => good[frame] === 1);
	if (read.length === 0) return 0;
	return quantileSorted(sortSamples(read), 0.5) * Math.sqrt(PAIRS / (PAIRS - 5));
}

/**
 * What comes back, in readings of packets at uneven instants: period, how sure, how strong.
 *
 * The surprise of the highest peak is held against the same search on the same readings cut into pieces of two to four
 * periods and laid in another order: what keeps within a piece (bad spells, bursts, the shape of the noise) stays, what keeps
 * step from piece to piece goes. The false-alarm chance is the greater of the gamma law's and a Gumbel law's fitted to
 * those shuffles. Bench `periodicity` counts false alarms on clean airs against it.
 *
 * It knows periods, not devices. What keeps step with one of our own periods cannot be found at all.
 */
import { eventSpectrum } from './eventSpectrum.ts';
import { createRandom } from './random.ts';
import { describeRepeat, type Repeat } from './repeatFigures.ts';
import { lineOf } from './repeatLine.ts';
import { highestPeak, type Peak } from './repeatSearch.ts';
import { chanceOf, shuffledChance } from './repeatShuffles.ts';
import { troubleScores } from './trouble.ts';

export type RepeatsFound = {
	readonly repeats: readonly Repeat[];
	/** What could be found at all: periods looked at, in seconds. */
	readonly shortestS: number;
	readonly longestS: number;
	readonly readings: number;
};

export type RepeatsOptions = {
	readonly ownHz: readonly number[];
	/** Greatest false-alarm chance told, for each finding. */
	readonly falseAlarmRatio: number;
	readonly seed: number;
	readonly highestHz: number;
};

const MOST_REPEATS = 3;
const MOST_LOOKS = 6;
const KIN_RATIO = 0.02;
const MOST_KIN = 12;
const LEAST_READINGS = 400;
const LEAST_SPAN_S = 20;

/** `values`: greater is worse, `Infinity` for lost. Null where the run is too short to say anything. */
export function findRepeats(
	timesS: Float64Array,
	values: ArrayLike<number>,
	options: RepeatsOptions,
): RepeatsFound | null {
	const spanS = timesS.length === 0 ? 0 : timesS[timesS.length - 1]! - timesS[0]!;
	if (timesS.length < LEAST_READINGS || spanS < LEAST_SPAN_S) return null;
	const scores = troubleScores(values);
	const highestHz = Math.min(options.highestHz, evenLimitHz(timesS));
	const spectrum = eventSpectrum(timesS, scores, { ...options, highestHz });
	const random = createRandom(options.seed);
	const taken: Peak[] = [];
	const repeats: Repeat[] = [];
	for (let look = 0; look < MOST_LOOKS && repeats.length < MOST_REPEATS; look++) {
		const peak = highestPeak(spectrum, taken);
		if (peak === null || chanceOf(peak.surprise) > options.falseAlarmRatio) break;
		const line = lineOf(spectrum, peak);
		if (taken.some((told) => areKin(told.hz, line.hz))) {
			taken.push(peak);
			continue;
		}
		const chance = shuffledChance({ timesS, scores, peak }, { ...options, highestHz }, random);
		if (chance > options.falseAlarmRatio) break;
		taken.push(line);
		repeats.push(describeRepeat({ timesS, scores, peak: line }, spectrum, chance));
	}
	return {
		repeats,
		shortestS: (2 * spanS) / (spectrum.heights.length - 1),
		longestS: spanS / 10,
		readings: timesS.length,
	};
}

/** Even sampling folds what is faster than half its rate back into what is slower: no further than nine tenths of that. */
function evenLimitHz(timesS: Float64Array): number {
	const spacings = Float64Array.from(
		{ length: timesS.length - 1 },
		(_, i) => timesS[i + 1]! - timesS[i]!,
	).sort();
	const quantile = (order: number): number => spacings[Math.floor(order * (spacings.length - 1))]!;
	const median = quantile(0.5);
	const uneven = median > 0 && (quantile(0.9) - quantile(0.1)) / median > 0.5;
	return uneven || !(median > 0) ? Number.POSITIVE_INFINITY : 0.45 / median;
}

/** One is a multiple of the other, as near as a wandering line can be placed: the same thing, seen again. */
function areKin(hz: number, otherHz: number): boolean {
	const ratio = Math.max(hz / otherHz, otherHz / hz);
	return Math.abs(ratio / Math.round(ratio) - 1) < KIN_RATIO && ratio < MOST_KIN;
}

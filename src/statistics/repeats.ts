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
import { type EventSpectrum, eventSpectrum } from './eventSpectrum.ts';
import { lombScargle } from './lombScargle.ts';
import { createRandom, type Random } from './random.ts';
import { highestPeak, lnGammaTail, type Peak } from './repeatSearch.ts';
import { troubleScores } from './trouble.ts';

export type Repeat = {
	readonly periodS: number;
	/** Expanded uncertainty, k = 2. */
	readonly periodUncertaintyS: number;
	/** Chance of as clear a period, anywhere in the range looked at, where nothing repeats. */
	readonly falseAlarmRatio: number;
	/** Share of all unevenness of delay and loss (as trouble scores) that keeps this beat. */
	readonly strengthRatio: number;
	/** The period wanders: its line is wider than a steady one's. */
	readonly wanders: boolean;
	/** Worst tenth of the period against the rest: share of readings in it that are among the worst tenth. */
	readonly worstTenth: { readonly insideRatio: number; readonly outsideRatio: number } | null;
};

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

const SHUFFLES = 16;
/** After so many, a chance this small needs no better figure. */
const FIRST_SHUFFLES = 6;
const BEYOND_DOUBT = 1e-6;
const MOST_REPEATS = 3;
const MOST_LOOKS = 6;
const KIN_RATIO = 0.02;
const MOST_KIN = 12;
/** Stretches whose phases tell how far a period wanders. */
const STRETCHES = 8;
const LEAST_READINGS = 400;
const LEAST_SPAN_S = 20;
const EULER = 0.5772;
const PHASES = 10;
const LEAST_SLOWER_TURNS = 10;
const MOST_SLOWER = 8;
/** About 1 in 3,000 by chance, and only where something was found already. */
const SLOWER_SURPRISE = 8;
const HELD_BY_MULTIPLES = 0.85;
/** A steady line has four fifths and more of its power at its middle, wherever it falls on the grid (computed). */
const STEADY_RATIO = 0.55;

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
		repeats.push(describe({ timesS, scores, peak: line }, spectrum, chance));
	}
	return {
		repeats,
		shortestS: (2 * spanS) / (spectrum.heights.length - 1),
		longestS: spanS / 10,
		readings: timesS.length,
	};
}

type Candidate = { readonly timesS: Float64Array; readonly scores: Float64Array; readonly peak: Peak };

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

function chanceOf(surprise: number): number {
	return -Math.expm1(-Math.exp(-surprise));
}

function shuffledChance(
	{ timesS, scores, peak }: Candidate,
	options: { readonly highestHz: number; readonly ownHz: readonly number[] },
	random: Random,
): number {
	const surprises: number[] = [];
	let chance = 1;
	for (let i = 0; i < SHUFFLES && !(i >= FIRST_SHUFFLES && chance < BEYOND_DOUBT); i++) {
		const shuffled = shufflePieces(timesS, scores, { periodS: 1 / peak.hz, random });
		const found = highestPeak(eventSpectrum(shuffled.timesS, shuffled.scores, options));
		if (found !== null) surprises.push(found.surprise);
		if (surprises.length > 1) chance = gumbelChance(peak.surprise, surprises);
	}
	return Math.max(chanceOf(peak.surprise), chance);
}

/** A Gumbel law of scale 1 at 0 is what the gamma law says; shuffles may only make it wider and further up. */
function gumbelChance(surprise: number, among: readonly number[]): number {
	const mean = among.reduce((sum, x) => sum + x, 0) / among.length;
	const variance = among.reduce((sum, x) => sum + (x - mean) ** 2, 0) / (among.length - 1);
	const scale = Math.max(1, (Math.sqrt(variance) * Math.sqrt(6)) / Math.PI);
	const place = Math.max(0, mean - EULER * scale);
	return chanceOf((surprise - place) / scale);
}

function shufflePieces(
	timesS: Float64Array,
	scores: Float64Array,
	{ periodS, random }: { readonly periodS: number; readonly random: Random },
): { timesS: Float64Array; scores: Float64Array } {
	const firstS = timesS[0]!;
	const spanS = timesS[timesS.length - 1]! - firstS;
	const pieces: { fromS: number; lengthS: number }[] = [];
	for (let fromS = 0; fromS < spanS; ) {
		const lengthS = Math.min(spanS - fromS, periodS * (2 + 2 * random.next()));
		pieces.push({ fromS, lengthS });
		fromS += lengthS;
	}
	for (let i = pieces.length - 1; i > 0; i--) {
		const j = random.integer(i + 1);
		[pieces[i], pieces[j]] = [pieces[j]!, pieces[i]!];
	}
	const laid = { timesS: new Float64Array(timesS.length), scores: new Float64Array(timesS.length) };
	let [next, atS] = [0, 0];
	for (const { fromS, lengthS } of pieces) {
		const end = fromS + lengthS >= spanS ? timesS.length : lowerBound(timesS, firstS + fromS + lengthS);
		for (let i = lowerBound(timesS, firstS + fromS); i < end; i++, next++) {
			laid.timesS[next] = atS + timesS[i]! - firstS - fromS;
			laid.scores[next] = scores[i]!;
		}
		atS += lengthS;
	}
	return laid;
}

/** Place of the first reading at or after an instant. */
function lowerBound(timesS: Float64Array, atS: number): number {
	let [low, high] = [0, timesS.length];
	while (low < high) {
		const middle = (low + high) >> 1;
		if (timesS[middle]! < atS) low = middle + 1;
		else high = middle;
	}
	return low;
}

/**
 * The peak as a line: at the frequency whose multiples hold the power (a search may hit on a half or a third of it), and
 * as wide as its power is spread.
 */
function lineOf(spectrum: EventSpectrum, peak: Peak): Peak {
	const { spanS, power, background } = spectrum;
	const at = (k: number): number => (power[k] ?? 0) - (background[k] ?? 0);
	const lineAround = (hz: number): number => {
		const k = Math.round(2 * spanS * hz);
		return Math.max(0, at(k - 1), at(k), at(k + 1));
	};
	const heights = Array.from({ length: peak.harmonics }, (_, h) => lineAround((h + 1) * peak.hz));
	const all = heights.reduce((sum, x) => sum + x, 0);
	const held = (q: number): number => heights.reduce((sum, x, i) => ((i + 1) % q === 0 ? sum + x : sum), 0);
	const q = [8, 7, 6, 5, 4, 3, 2].find((n) => n <= peak.harmonics && held(n) > HELD_BY_MULTIPLES * all) ?? 1;
	const whole = { ...peak, hz: peak.hz * q, harmonics: Math.max(1, Math.floor(peak.harmonics / q)) };
	const line = q === 1 ? slower(whole, { spanS, heights: spectrum.heights }) : whole;
	if (peak.width === 1) return line;
	const steadyHz = nearby({ spanS, power }, line);
	const middle = Math.round(2 * spanS * steadyHz);
	let spread = 0;
	for (let k = middle - 2 * peak.width; k <= middle + 2 * peak.width; k++) spread += at(k) / 2;
	return lineAround(steadyHz) > STEADY_RATIO * spread ? { ...line, hz: steadyHz, width: 1 } : line;
}

/** Twice or three times the period, where the multiples that only the longer one has stand out too. */
function slower(peak: Peak, { spanS, heights }: Pick<EventSpectrum, 'spanS' | 'heights'>): Peak {
	for (const times of [3, 2]) {
		const hz = peak.hz / times;
		if (hz * spanS < LEAST_SLOWER_TURNS) continue;
		let [sum, count] = [0, 0];
		for (let h = 1; h < times * Math.max(2, peak.harmonics) && h <= MOST_SLOWER; h++) {
			if (h % times === 0) continue;
			sum += heights[Math.round(2 * spanS * hz * h)] ?? 1;
			count++;
		}
		if (-lnGammaTail(count, sum) > SLOWER_SURPRISE)
			return { ...peak, hz, harmonics: Math.min(MOST_SLOWER, peak.harmonics * times) };
	}
	return peak;
}

/** A wide search says only roughly where a steady line lies: the place nearby whose multiples hold most. */
function nearby(
	{ spanS, power }: Pick<EventSpectrum, 'spanS' | 'power'>,
	{ hz, harmonics, width }: Peak,
): number {
	const stepHz = 1 / (4 * spanS * harmonics);
	let [best, most] = [hz, 0];
	for (let here = hz - width / spanS; here <= hz + width / spanS; here += stepHz) {
		let sum = 0;
		for (let h = 1; h <= harmonics; h++) sum += power[Math.round(2 * spanS * h * here)] ?? 0;
		if (sum > most) [best, most] = [here, sum];
	}
	return best;
}

function describe(candidate: Candidate, spectrum: EventSpectrum, falseAlarmRatio: number): Repeat {
	const { peak } = candidate;
	const { spanS, power, background } = spectrum;
	const wanders = peak.width > 1;
	const hz = wanders ? centroid(spectrum, peak) : refine(candidate, spanS);
	let [information, explained, total] = [0, 0, 0];
	for (const score of candidate.scores) total += (score - 1) ** 2;
	for (let h = 1; h <= Math.max(peak.harmonics, 1); h++) {
		const k = Math.round(2 * spanS * hz * h);
		if (k + peak.width >= power.length) break;
		const ratio = power[k]! / background[k]!;
		information += h * h * Math.max(0, ratio - 1);
		for (let i = k - peak.width + 1; i < k + peak.width; i += 2)
			explained += (2 * Math.max(0, power[i]! - background[i]!)) / candidate.scores.length;
	}
	// A line of least squares: sqrt(6) / (pi T) times noise over amplitude (textbook, from memory), harmonics by h^2.
	const steadyHz = 0.39 / (spanS * Math.sqrt(Math.max(1, information)));
	const widthHz = wanders ? peak.width / (spanS * Math.sqrt(12)) : 0;
	const uncertaintyHz = Math.max(steadyHz, widthHz, wanderHz(candidate, hz, spanS));
	return {
		periodS: 1 / hz,
		periodUncertaintyS: (2 * uncertaintyHz) / hz ** 2,
		falseAlarmRatio,
		strengthRatio: Math.min(1, explained / total),
		wanders,
		worstTenth: wanders ? null : worstTenth(candidate, hz),
	};
}

/** Finest place of a steady line: the frequency whose multiples together explain most, within half a grid step. */
function refine({ timesS, scores, peak }: Candidate, spanS: number): number {
	const power = (hz: number): number => {
		let sum = 0;
		for (let h = 1; h <= peak.harmonics; h++) sum += lombScargle(timesS, scores, h * hz);
		return sum;
	};
	const stepHz = 1 / (2 * spanS * peak.harmonics);
	let best = { hz: peak.hz, power: power(peak.hz) };
	for (let reachHz = stepHz; reachHz > stepHz / 20; reachHz /= 2) {
		for (const hz of [best.hz - reachHz / 2, best.hz + reachHz / 2]) {
			const here = power(hz);
			if (here > best.power) best = { hz, power: here };
		}
	}
	return best.hz;
}

/**
 * How far a wandering period lets the mean frequency of a run lie from its own: the phase of the fundamental in eight stretches
 * walks at random; its steps give the rate of the walk, and the walk over the whole run, in turns, over the span (derived).
 */
function wanderHz({ timesS, scores }: Candidate, hz: number, spanS: number): number {
	const re = new Float64Array(STRETCHES);
	const im = new Float64Array(STRETCHES);
	for (let i = 0; i < timesS.length; i++) {
		const atS = timesS[i]! - timesS[0]!;
		const stretch = Math.min(STRETCHES - 1, Math.floor((atS / spanS) * STRETCHES));
		re[stretch]! += (scores[i]! - 1) * Math.cos(2 * Math.PI * hz * atS);
		im[stretch]! += (scores[i]! - 1) * Math.sin(2 * Math.PI * hz * atS);
	}
	let squares = 0;
	for (let i = 1; i < STRETCHES; i++) {
		const turns = (Math.atan2(im[i]!, re[i]!) - Math.atan2(im[i - 1]!, re[i - 1]!)) / (2 * Math.PI);
		squares += (turns - Math.round(turns)) ** 2 / (STRETCHES - 1);
	}
	return Math.sqrt(squares * STRETCHES) / spanS;
}

/** Middle of a wandering line, each multiple weighed by what stands above its background. */
function centroid({ spanS, power, background }: EventSpectrum, { hz, width, harmonics }: Peak): number {
	let [sum, weight] = [0, 0];
	for (let h = 1; h <= harmonics; h++) {
		const k = Math.round(2 * spanS * hz * h);
		for (let i = k - width; i <= k + width && i < power.length; i++) {
			const above = Math.max(0, power[i]! / background[i]! - 1);
			sum += (above * i) / h;
			weight += above;
		}
	}
	return weight > 0 ? sum / weight / (2 * spanS) : hz;
}

/** Readings folded on the period: the worst of ten phases, by the share of its readings among the worst tenth of all. */
function worstTenth({ timesS, scores }: Candidate, hz: number): Repeat['worstTenth'] {
	// Savage scores put the worst tenth above ln 10.
	const bad = new Float64Array(PHASES);
	const all = new Float64Array(PHASES);
	for (let i = 0; i < timesS.length; i++) {
		const turns = (timesS[i]! - timesS[0]!) * hz;
		const phase = Math.min(PHASES - 1, Math.floor((turns - Math.floor(turns)) * PHASES));
		all[phase]!++;
		if (scores[i]! > Math.LN10) bad[phase]!++;
	}
	let worst = 0;
	for (let i = 1; i < PHASES; i++) if (bad[i]! * all[worst]! > bad[worst]! * all[i]!) worst = i;
	const [badSum, allSum] = [bad.reduce((a, b) => a + b, 0), all.reduce((a, b) => a + b, 0)];
	return {
		insideRatio: bad[worst]! / Math.max(1, all[worst]!),
		outsideRatio: (badSum - bad[worst]!) / Math.max(1, allSum - all[worst]!),
	};
}

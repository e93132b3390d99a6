/**
 * The most surprising period in a spectrum of events: heights of a frequency and its multiples are summed, since a short pulse
 * spreads over many; so are a few steps on either side, since a period that wanders widens its line. (Sums of harmonics:
 * Buccheri 1983; the best of several counts of them: the H test, de Jager 1989; both from memory.)
 *
 * Where there is nothing, a sum of n heights is gamma-distributed, and the chance that any of the trials came as high follows; how
 * near to the stated chance it keeps on idle and on spelled airs is bench `periodicity`.
 */
import type { EventSpectrum } from './eventSpectrum.ts';

/** Multiples summed, and steps of 1 / span on which each is summed. */
const HARMONICS = [1, 2, 4, 8] as const;
const WIDTHS = [1, 3, 9] as const;
/** Fewer turns than this in the whole run could be chance placement of a few bad spells. */
const LEAST_TURNS = 10;
/** Pulses with multiples worth summing are slower than this. */
const HIGHEST_PULSE_HZ = 15;

/**
 * Only slow things wander so much. Where trouble is crowded into a few bad spells, neighbouring steps are not independent, and sums over
 * them told of fast periods that were not there (computed: 10 of 200 runs with spells of 1 s; none so with this limit).
 */
const HIGHEST_WANDERING_HZ = 2.5;
const SKIRTS = 8;
const SKIRT_RATIO = 0.05;

export type Peak = {
	readonly hz: number;
	readonly harmonics: number;
	/** In steps of 1 / span. */
	readonly width: number;
	/** -ln of the chance that any trial came as high where there is nothing, by the gamma law; may be below 0. */
	readonly surprise: number;
};

/** Null where the run is too short to hold enough turns of anything. `taken`: peaks already told, left out with their multiples. */
export function highestPeak(spectrum: EventSpectrum, taken: readonly Peak[] = []): Peak | null {
	const heights = taken.length === 0 ? spectrum.heights : without(spectrum, taken);
	const lowest = 2 * LEAST_TURNS;
	if (heights.length <= lowest + 2) return null;
	let best: Peak | null = null;
	let trials = 0;
	for (const harmonics of HARMONICS) {
		for (const width of WIDTHS) {
			const found = scan(spectrum, heights, { harmonics, width, lowest });
			trials += found.trials;
			if (found.peak !== null && (best === null || found.peak.surprise > best.surprise)) best = found.peak;
		}
	}
	return best === null ? null : { ...best, surprise: best.surprise - Math.log(trials) };
}

type Scan = { readonly harmonics: number; readonly width: number; readonly lowest: number };

function scan(
	{ spanS, own }: EventSpectrum,
	heights: Float64Array,
	{ harmonics, width, lowest }: Scan,
): { readonly trials: number; readonly peak: Peak | null } {
	const sums = width === 1 ? heights : smoothed(heights, width);
	// Multiples must not run into each other's widths.
	const from = Math.max(lowest, 4 * width) * harmonics;
	const pulses = harmonics === 1 ? heights.length - width : 2 * spanS * HIGHEST_PULSE_HZ;
	const highest = width === 1 ? pulses : Math.min(pulses, 2 * spanS * HIGHEST_WANDERING_HZ);
	const until = Math.min(highest, (heights.length - width) / harmonics) * harmonics;
	let [bestAt, bestSum] = [-1, Number.NEGATIVE_INFINITY];
	let trials = 0;
	for (let j = from; j < until; j++) {
		trials++;
		// What turns as one of ours does is ours, though high multiples drift apart and gather the flanks of our own.
		let [sum, ours] = [0, own[Math.round(j / harmonics)] === 1 ? harmonics : 0];
		for (let h = 1; h <= harmonics; h++) {
			const k = Math.round((h * j) / harmonics);
			sum += sums[k]!;
			ours += own[k]!;
		}
		if (sum > bestSum && 2 * ours < harmonics) [bestAt, bestSum] = [j, sum];
	}
	// Neighbouring steps of half a line's width are hardly two trials, and smoothing makes them fewer.
	const effective = trials / Math.sqrt(width);
	if (bestAt < 0) return { trials: effective, peak: null };
	const surprise = -lnGammaTail(harmonics * width, bestSum);
	return { trials: effective, peak: { hz: bestAt / harmonics / (2 * spanS), harmonics, width, surprise } };
}

/** Sum over `width` independent neighbours, two grid steps apart. */
function smoothed(heights: Float64Array, width: number): Float64Array {
	const sums = new Float64Array(heights.length).fill(width);
	const reach = width - 1;
	for (let k = reach; k < heights.length - reach; k++) {
		let sum = 0;
		for (let i = k - reach; i <= k + reach; i += 2) sum += heights[i]!;
		sums[k] = sum;
	}
	return sums;
}

/** ln of the chance that a gamma variable of whole shape n is above x: ln of exp(-x) times the sum of x^k / k! below n. */
export function lnGammaTail(n: number, x: number): number {
	let [term, sum] = [1, 1];
	for (let k = 1; k < n; k++) {
		term *= x / k;
		sum += term;
	}
	return Math.min(0, Math.log(sum) - x);
}

/** What was told already, with its multiples, is no news; a line that wanders is wider at each multiple. */
function without({ heights, spanS }: EventSpectrum, taken: readonly Peak[]): Float64Array {
	const left = Float64Array.from(heights);
	for (const { hz, width } of taken) {
		const step = 2 * spanS * hz;
		for (let n = 1; n * step < left.length + 1; n++) {
			const wide = width === 1 ? 5 : (1 + 2 * width) * n;
			// The skirts of a strong line that wanders a little: of its first multiples only, or nothing fast could be seen beside it.
			const skirt = n <= SKIRTS ? SKIRT_RATIO * n * step : 0;
			const reach = Math.min(Math.max(wide, skirt), step / 2);
			for (let k = Math.max(0, Math.ceil(n * step - reach)); k <= n * step + reach && k < left.length; k++)
				left[k] = 1;
		}
	}
	return left;
}

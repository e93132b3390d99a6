/**
 * Spectrum of readings at uneven instants, each frequency held against its own neighbourhood, so that a slow or spelled air (red
 * noise) is no line.
 *
 * Power is that of the direct Fourier sum of value less mean, found by one fast transform of the readings laid linearly on
 * fine bins (tests hold it against the direct sum: to a hundredth in the lower half of the range). The grid is every
 * half of 1 / span. `heights[k]`: how surprising the power at k / (2 span) is beside the median of its neighbourhood, as
 * -ln of its chance by an F law, whose scale the median gives (computed: a median is worth 1 / 2.08 of as many readings):
 * exponential with mean 1 where there is nothing. Own frequencies are put at that mean: they can neither be found nor help.
 */
import { fourierInPlace } from './fourier.ts';

export type EventSpectrum = {
	/** Seconds from first to last reading; grid step is half its inverse. */
	readonly spanS: number;
	readonly power: Float64Array;
	readonly heights: Float64Array;
	/** True where one of our own frequencies lies too near to tell. */
	readonly own: Uint8Array;
	/** Median-based background, in units of `power`. */
	readonly background: Float64Array;
};

export type SpectrumOptions = {
	/** Nothing above is looked at. */
	readonly highestHz: number;
	/** Frequencies of the instrument itself; their multiples are its own too, and sums and differences of those with one another. */
	readonly ownHz: readonly number[];
};

const MOST_BINS = 2 ** 21;
const BINS_PER_HIGHEST = 4;
const MEDIAN_WORTH = 1 / 2.08;
const [LEAST_HALF_WINDOW, MOST_HALF_WINDOW] = [16, 96];
/** Of 1 / span: a line's own width, and as much again for what lies off the grid. */
const OWN_HALF_WIDTH = 1.5;
/** In a long run a beat of ours is wider than that: it wanders with the display it is drawn on (seen: 0.007 Hz in half an hour). */
const OWN_LEAST_HZ = 0.01;
/** A beat of ours that swells by another of ours stands beside itself, by that one and twice that one. */
const OWN_SIDES = [-2, -1, 0, 1, 2];

/** `timesS` rising; throws `RangeError` for fewer than 16 readings or no span. */
export function eventSpectrum(
	timesS: Float64Array,
	values: ArrayLike<number>,
	{ highestHz, ownHz }: SpectrumOptions,
): EventSpectrum {
	const count = timesS.length;
	const spanS = count === 0 ? 0 : timesS[count - 1]! - timesS[0]!;
	if (count < 16 || !(spanS > 0)) throw new RangeError(`too little for a spectrum: ${count} readings`);
	const power = gridPower(timesS, values, { spanS, highestHz });
	const background = localBackground(power);
	const own = ownGrid(power.length, ownHz, spanS);
	const heights = new Float64Array(power.length);
	for (let k = 0; k < heights.length; k++) {
		const worth = halfWindow(k) * MEDIAN_WORTH;
		heights[k] = own[k] === 1 ? 1 : worth * Math.log1p(power[k]! / (worth * background[k]!));
	}
	return { spanS, power, heights, own, background };
}

function gridPower(
	timesS: Float64Array,
	values: ArrayLike<number>,
	{ spanS, highestHz }: { spanS: number; highestHz: number },
): Float64Array {
	const wanted = 2 * spanS * highestHz * BINS_PER_HIGHEST;
	const bins = Math.min(MOST_BINS, 2 ** Math.ceil(Math.log2(Math.max(64, wanted))));
	const binS = (2 * spanS) / bins;
	const re = new Float64Array(bins);
	const im = new Float64Array(bins);
	let mean = 0;
	for (let i = 0; i < timesS.length; i++) mean += values[i]! / timesS.length;
	for (let i = 0; i < timesS.length; i++) {
		const at = (timesS[i]! - timesS[0]!) / binS;
		const bin = Math.floor(at);
		const value = values[i]! - mean;
		re[bin]! += value * (1 - (at - bin));
		re[bin + 1]! += value * (at - bin);
	}
	fourierInPlace(re, im);
	const count = Math.min(Math.floor(2 * spanS * highestHz), Math.floor(bins / BINS_PER_HIGHEST)) + 1;
	const power = new Float64Array(count);
	for (let k = 0; k < count; k++) {
		// Laying a reading on two bins weakens high frequencies by sinc^2, the power by its square.
		const x = (Math.PI * k) / bins;
		const laid = k === 0 ? 1 : (Math.sin(x) / x) ** 2;
		power[k] = (re[k]! ** 2 + im[k]! ** 2) / laid ** 2;
	}
	return power;
}

/** Half-width of the neighbourhood in grid steps: half of the frequency itself at the low end, where noise is steep. */
function halfWindow(k: number): number {
	return Math.min(MOST_HALF_WINDOW, Math.max(LEAST_HALF_WINDOW, k >> 1));
}

/** Mean power where there is nothing: median over ln 2, at knots, with straight lines between. */
function localBackground(power: Float64Array): Float64Array {
	const background = new Float64Array(power.length);
	let [beforeAt, before] = [0, medianAround(power, 0)];
	for (let k = 0; k < power.length - 1; ) {
		const knot = Math.min(power.length - 1, k + Math.max(1, halfWindow(k) >> 3));
		const value = medianAround(power, knot);
		for (let i = beforeAt; i <= knot; i++)
			background[i] = before + ((value - before) * (i - beforeAt)) / (knot - beforeAt);
		[beforeAt, before, k] = [knot, value, knot];
	}
	return background;
}

function medianAround(power: Float64Array, k: number): number {
	const half = halfWindow(k);
	// Moved inwards at the ends, so that it always holds as many.
	const from = Math.max(1, Math.min(power.length - 2 * half - 1, k - half));
	const window = power.slice(from, Math.min(power.length, from + 2 * half + 1)).sort();
	return Math.max(window[window.length >> 1]! / Math.LN2, Number.MIN_VALUE);
}

/** How far on either side of a frequency of our own nothing can be told. */
export function ownHalfWidthHz(spanS: number): number {
	return Math.max(OWN_HALF_WIDTH / spanS, OWN_LEAST_HZ);
}

function ownGrid(count: number, ownHz: readonly number[], spanS: number): Uint8Array {
	const own = new Uint8Array(count);
	const reach = 2 * spanS * ownHalfWidthHz(spanS);
	const sidesHz = [0, ...ownHz.flatMap((hz) => OWN_SIDES.map((times) => times * hz))];
	for (const hz of ownHz) {
		if (!(hz > 0)) throw new RangeError(`a frequency of our own must be above 0, got ${hz}`);
		for (const sideHz of new Set(sidesHz)) {
			const step = 2 * spanS * hz;
			const offset = 2 * spanS * sideHz;
			for (let n = 1; n * step + offset < count + reach; n++) {
				const centre = n * step + offset;
				for (let k = Math.max(0, Math.ceil(centre - reach)); k <= centre + reach && k < count; k++)
					own[k] = 1;
			}
		}
	}
	return own;
}

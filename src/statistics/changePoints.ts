/**
 * Where a series of readings, in the order of time, moved to another level and stayed there: binary segmentation (textbook,
 * from memory). A split must stand out in the means by Student's t, every possible place counted (Bonferroni), and in the
 * medians too, so that one wild reading is no change. The noise is taken from neighbours' differences, which a step hardly
 * touches.
 *
 * It knows steps only: a slow drift is told as one or more steps. Computed: on steady noise under 2 % of series of 8 to 200
 * readings show a step (tests).
 */
import { quantileSorted, sortSamples } from './quantile.ts';
import { studentQuantile } from './studentT.ts';

export type ChangePoint = {
	/** Place in the series of the first reading at the new level. */
	readonly index: number;
	/** Medians of the stretches before and after. */
	readonly before: number;
	readonly after: number;
};

/** Fewer readings than this show no change that could be told from noise. */
const LEAST_READINGS = 8;
const LEAST_STRETCH = 3;
const ERROR_RATIO = 0.01;
/** Median of |x| for a standard normal x. */
const NORMAL_MAD = 0.6745;
/** A median of differences is worth so much of as many independent readings (computed: about 0.37, halved by their overlap). */
const NOISE_WORTH = 0.25;

export function changePoints(values: readonly number[]): ChangePoint[] {
	if (values.length < LEAST_READINGS) return [];
	const noise = noiseOf(values);
	const starts = split(values, { from: 0, to: values.length, noise, total: values.length });
	const edges = [0, ...starts, values.length];
	return starts.map((index, i) => ({
		index,
		before: medianOf(values.slice(edges[i], index)),
		after: medianOf(values.slice(index, edges[i + 2])),
	}));
}

type Stretch = { readonly from: number; readonly to: number; readonly noise: number; readonly total: number };

function split(values: readonly number[], { from, to, noise, total }: Stretch): number[] {
	const place = bestPlace(values, from, to);
	if (place === null) return [];
	const before = values.slice(from, place);
	const after = values.slice(place, to);
	const error = noise * Math.sqrt(1 / before.length + 1 / after.length);
	const far = error * studentQuantile(1 - ERROR_RATIO / (2 * total), Math.max(1, NOISE_WORTH * total));
	const step = Math.abs(meanOf(after) - meanOf(before));
	const medianStep = Math.abs(medianOf(after) - medianOf(before));
	// Half: the median's own scatter is a quarter wider, and the means have been held against it already.
	if (!(step > far && medianStep > far / 2)) return [];
	return [
		...split(values, { from, to: place, noise, total }),
		place,
		...split(values, { from: place, to, noise, total }),
	];
}

/** The place where the means on either side differ most for their lengths. */
function bestPlace(values: readonly number[], from: number, to: number): number | null {
	let best: number | null = null;
	let bestScore = 0;
	let left = 0;
	const sum = values.slice(from, to).reduce((total, value) => total + value, 0);
	for (let i = from + 1; i < to; i++) {
		left += values[i - 1] ?? 0;
		const [a, b] = [i - from, to - i];
		if (a < LEAST_STRETCH || b < LEAST_STRETCH) continue;
		const score = Math.abs(left / a - (sum - left) / b) * Math.sqrt((a * b) / (a + b));
		if (score > bestScore) [best, bestScore] = [i, score];
	}
	return best;
}

function noiseOf(values: readonly number[]): number {
	const differences = values.slice(1).map((value, i) => Math.abs(value - (values[i] ?? value)));
	const typical = medianOf(differences) / NORMAL_MAD;
	// Where most neighbours are equal (counts, say) the median says nothing: then the plain mean square, a step with it.
	const meanSquare = differences.reduce((sum, d) => sum + d * d, 0) / differences.length;
	return typical > 0 ? typical / Math.SQRT2 : Math.sqrt(meanSquare / 2);
}

function meanOf(values: readonly number[]): number {
	return values.reduce((sum, value) => sum + value, 0) / values.length;
}

function medianOf(values: readonly number[]): number {
	return quantileSorted(sortSamples(values), 0.5);
}

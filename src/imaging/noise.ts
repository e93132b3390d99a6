/**
 * Noise of one even patch seen in several pictures: what changes from picture to picture (temporal), what stands still
 * (fixed pattern), both together, and the signal over each, in the planes' own unit (linear light, or codes). Before it,
 * each picture's own mean is taken out of the temporal part and told apart (lamp or exposure that wavers), and a slope and
 * bend over the patch out of the fixed one (shading is no noise).
 *
 * Source: ISO 15739's outline, from memory (temporal, fixed-pattern and total noise, shading removed first). What is left
 * of the temporal noise in the mean picture is taken off the fixed part. A codec's smoothing counts as it is.
 */
import { solveLinear } from '../statistics/linearSystem.ts';
import { createRealPlane, meanOf, type RealPlane, type Unmeasured } from './realPlane.ts';

export type Noise = {
	readonly kind: 'measured';
	readonly mean: number;
	/** Null from a single picture. */
	readonly temporal: number | null;
	readonly fixedPattern: number;
	readonly total: number;
	/** Mean over total noise; null where there is no noise at all. */
	readonly signalToNoise: number | null;
	/** Standard deviation of the pictures' means; null from a single picture. */
	readonly wavering: number | null;
	/** Standard deviation of rows that rise and fall together from picture to picture, and so of columns; null from one. */
	readonly banding: { readonly rows: number; readonly columns: number } | null;
	/** Every picture is the same to the last pixel. */
	readonly frozen: boolean;
	readonly pictureCount: number;
};

const LEAST_SIDE_PX = 6;
const ROUNDING = 1e-18;

/** The same patch in each picture. RangeError for none, or for pictures of different size. */
export function measureNoise(pictures: readonly RealPlane[]): Noise | Unmeasured {
	const first = pictures[0];
	if (first === undefined) throw new RangeError('noise needs at least one picture');
	const { widthPx, heightPx } = first;
	if (pictures.some((picture) => picture.widthPx !== widthPx || picture.heightPx !== heightPx))
		throw new RangeError('pictures of one patch must be of one size');
	if (widthPx < LEAST_SIDE_PX || heightPx < LEAST_SIDE_PX)
		return {
			kind: 'notMeasured',
			reason: 'tooSmall',
			explanation: `Noise needs a patch of ${LEAST_SIDE_PX} px each way.`,
		};
	const means = pictures.map(meanOf);
	const mean = average(means);
	const still = meanPicture(pictures);
	const count = pictures.length;
	const frozen =
		count > 1 && pictures.every(({ data }) => data.every((value, at) => value === first.data[at]));
	// Rounding would leave a trace where there is exactly nothing.
	const temporalVariance = frozen ? 0 : count > 1 ? varianceInTime({ pictures, means, still, mean }) : null;
	const unmoved = varianceOfRest(still) - (temporalVariance ?? 0) / count;
	// An even patch leaves the rounding of the fit, which is no noise.
	const fixedVariance = unmoved > ROUNDING * mean * mean ? unmoved : 0;
	const total = Math.sqrt(fixedVariance + (temporalVariance ?? 0));
	return {
		kind: 'measured',
		mean,
		temporal: temporalVariance === null ? null : Math.sqrt(temporalVariance),
		fixedPattern: Math.sqrt(fixedVariance),
		total,
		signalToNoise: total === 0 ? null : mean / total,
		wavering: count > 1 ? Math.sqrt(varianceOf(means)) : null,
		banding: temporalVariance === null ? null : bandingOf({ pictures, means, still, mean }, temporalVariance),
		frozen,
		pictureCount: count,
	};
}

type Stack = {
	readonly pictures: readonly RealPlane[];
	readonly means: readonly number[];
	readonly still: RealPlane;
	readonly mean: number;
};

function meanPicture(pictures: readonly RealPlane[]): RealPlane {
	const { widthPx, heightPx } = pictures[0]!;
	const still = createRealPlane(widthPx, heightPx);
	for (const { data } of pictures)
		for (let at = 0; at < data.length; at++) still.data[at]! += data[at]! / pictures.length;
	return still;
}

/** What a pixel differs by from its own mean once the picture's own level is taken out. */
function rest({ pictures, means, still, mean }: Stack, picture: number, at: number): number {
	return pictures[picture]!.data[at]! - means[picture]! - (still.data[at]! - mean);
}

function varianceInTime(stack: Stack): number {
	const { pictures, still } = stack;
	let squares = 0;
	for (let picture = 0; picture < pictures.length; picture++)
		for (let at = 0; at < still.data.length; at++) squares += rest(stack, picture, at) ** 2;
	// Each picture's mean was taken out over the pixels, each pixel's over the pictures.
	return squares / ((pictures.length - 1) * (still.data.length - 1));
}

const SURFACE_TERMS = 6;

/** Over the pixels, after a surface of second order is taken out. Written out, for it runs on every pixel of every sample. */
function varianceOfRest(plane: RealPlane): number {
	const { widthPx, heightPx, data } = plane;
	const normal = Array.from({ length: SURFACE_TERMS }, () => new Array<number>(SURFACE_TERMS).fill(0));
	const right = new Array<number>(SURFACE_TERMS).fill(0);
	const term = new Float64Array(SURFACE_TERMS);
	for (let at = 0; at < data.length; at++) {
		setTerms(term, plane, at);
		for (let i = 0; i < SURFACE_TERMS; i++) {
			right[i]! += term[i]! * data[at]!;
			const row = normal[i]!;
			for (let j = 0; j <= i; j++) row[j]! += term[i]! * term[j]!;
		}
	}
	for (let i = 0; i < SURFACE_TERMS; i++)
		for (let j = i + 1; j < SURFACE_TERMS; j++) normal[i]![j] = normal[j]![i]!;
	const factors = solveLinear(normal, right);
	let squares = 0;
	for (let at = 0; at < data.length; at++) {
		setTerms(term, plane, at);
		let fitted = 0;
		for (let i = 0; i < SURFACE_TERMS; i++) fitted += term[i]! * factors[i]!;
		squares += (data[at]! - fitted) ** 2;
	}
	return squares / (widthPx * heightPx - SURFACE_TERMS);
}

/** Constant, slopes and bends, with places from -1 to 1. */
function setTerms(term: Float64Array, { widthPx, heightPx }: RealPlane, at: number): void {
	const column = at % widthPx;
	const x = (2 * column) / (widthPx - 1) - 1;
	const y = (2 * (at - column)) / widthPx / (heightPx - 1) - 1;
	term[0] = 1;
	term[1] = x;
	term[2] = y;
	term[3] = x * x;
	term[4] = x * y;
	term[5] = y * y;
}

/** Rows' and columns' means move by this much more than independent pixels would make them. */
function bandingOf(stack: Stack, temporalVariance: number): { rows: number; columns: number } {
	const { widthPx, heightPx } = stack.still;
	const spread = (lines: number, length: number, at: (line: number, step: number) => number): number => {
		let squares = 0;
		for (let picture = 0; picture < stack.pictures.length; picture++)
			for (let line = 0; line < lines; line++) {
				let sum = 0;
				for (let step = 0; step < length; step++) sum += rest(stack, picture, at(line, step));
				squares += (sum / length) ** 2;
			}
		const variance = squares / ((stack.pictures.length - 1) * (lines - 1));
		return Math.sqrt(Math.max(0, variance - temporalVariance / length));
	};
	return {
		rows: spread(heightPx, widthPx, (row, column) => row * widthPx + column),
		columns: spread(widthPx, heightPx, (column, row) => row * widthPx + column),
	};
}

function average(values: readonly number[]): number {
	return values.reduce((sum, value) => sum + value, 0) / values.length;
}

function varianceOf(values: readonly number[]): number {
	const mean = average(values);
	return values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (values.length - 1);
}

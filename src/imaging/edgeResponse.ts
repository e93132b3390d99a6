/**
 * Sharpness from a slanted edge: the spatial frequency response, its half and tenth points in cycles a pixel, how far the
 * edge overshoots (a sharpening filter leaves that), and how wide its rise is. Along the rows for an edge that stands, down the columns
 * for one that lies. Give it linear light; in codes the figures are of the codes.
 *
 * Source: ISO 12233's outline as in annotated public code (places a quarter pixel apart, derivative, window, transform,
 * normalised at 0); from memory the division by the difference's own response, and of the 2023 edition the fit of higher
 * order and the Tukey window. Our own: the window is as wide as four rises of the edge, so that noise far off does not count; the
 * half point comes from a cubic through the response round it. What a glare far wider than that does is not in it.
 */
import { fitPolynomial } from '../statistics/polynomialFit.ts';
import { findEdgeLine } from './edgeLine.ts';
import { type EdgeProfile, PLACES_A_PIXEL, profileAcross } from './edgeProfile.ts';
import { type RealPlane, transposed, type Unmeasured } from './realPlane.ts';

export type EdgeResponse = {
	readonly kind: 'measured';
	/** `across`: the edge stands, and detail along the rows is meant; `down`: it lies. */
	readonly axis: 'across' | 'down';
	/** Frequency in cycles a pixel at which half of the contrast is left; null where it never falls so far below 1 c/px. */
	readonly mtf50CyPx: number | null;
	readonly mtf10CyPx: number | null;
	/** By how much of the step the profile goes beyond its plateaus, the worse side; 0 where noise hides it. */
	readonly overshootRatio: number;
	readonly riseWidthPx: number;
	/** Off the column (or the row). */
	readonly angleDeg: number;
	/** Light over dark plateau; null over a black of zero. */
	readonly contrastRatio: number | null;
	/** Response at 0, 0.01, … 1 cycles a pixel. */
	readonly response: readonly number[];
};

const LEAST_SIDE_PX = 17;
const LEAST_ANGLE_DEG = 1.5;
const MOST_ANGLE_DEG = 48;
const LEAST_STEP_RATIO = 0.05;
/** Half the window in rises of the edge, and never under so many pixels. */
const WINDOW_RISES = 4;
const LEAST_WINDOW_PX = 5;
/** So far from the edge, in rises, its profile is left as it is. */
const CORE_RISES = 0.9;

/** One edge in the plane, running through two opposite sides. */
export function measureEdge(plane: RealPlane): EdgeResponse | Unmeasured {
	if (plane.widthPx < LEAST_SIDE_PX || plane.heightPx < LEAST_SIDE_PX)
		return unmeasured('tooSmall', `An edge needs ${LEAST_SIDE_PX} px each way to be measured.`);
	const stands = stepAlongRows(plane) >= stepAlongRows(transposed(plane));
	const upright = stands ? plane : transposed(plane);
	const line = findEdgeLine(upright);
	if (line === null) return unmeasured('noEdge', 'No edge runs through this place.');
	const step = Math.abs(line.right - line.left);
	if (step < LEAST_STEP_RATIO * Math.max(Math.abs(line.left), Math.abs(line.right)))
		return unmeasured('noContrast', 'Both sides of the edge are about as light.');
	const slope = line.columnAt.slopeAt((upright.heightPx - 1) / 2);
	const angleDeg = (Math.atan(Math.abs(slope)) * 180) / Math.PI;
	if (angleDeg < LEAST_ANGLE_DEG || angleDeg > MOST_ANGLE_DEG)
		return unmeasured(
			'wrongSlant',
			`The edge must lie ${LEAST_ANGLE_DEG} to ${MOST_ANGLE_DEG} degrees off the pixels, it lies ${angleDeg.toFixed(1)}.`,
		);
	const cosine = Math.cos(Math.atan(slope));
	const ends = [line.columnAt.at(0), line.columnAt.at(upright.heightPx - 1)];
	const reachPx = Math.min(...ends.map((x) => Math.min(x, upright.widthPx - 1 - x))) * cosine - 0.5;
	const profile = reachPx < LEAST_WINDOW_PX ? null : profileAcross(upright, line, reachPx);
	if (profile === null)
		return unmeasured('noRoom', 'The edge stands too near the side of the place looked at.');
	const dark = Math.min(line.left, line.right);
	return {
		kind: 'measured',
		axis: stands ? 'across' : 'down',
		...figuresOf(profile),
		angleDeg,
		contrastRatio: dark > 0 ? Math.max(line.left, line.right) / dark : null,
	};
}

function figuresOf(profile: EdgeProfile) {
	const riseWidthPx = riseOf(profile);
	const calmed = { ...profile, values: calmedTails(profile, riseWidthPx) };
	const halfPx = Math.min(
		(profile.middle - 1) / PLACES_A_PIXEL,
		Math.max(LEAST_WINDOW_PX, WINDOW_RISES * riseWidthPx),
	);
	const response = responseOf(calmed, halfPx);
	return {
		mtf50CyPx: crossing(response, 0.5),
		mtf10CyPx: crossing(response, 0.1),
		overshootRatio: overshootOf(profile, riseWidthPx),
		riseWidthPx,
		response: response.filter((_, i) => i % (FINE_STEPS / 100) === 0),
	};
}

function stepAlongRows({ widthPx, heightPx, data }: RealPlane): number {
	const thirdPx = Math.floor(widthPx / 3);
	let sum = 0;
	for (let row = 0; row < heightPx; row++)
		for (let column = 0; column < thirdPx; column++)
			sum += data[(row + 1) * widthPx - 1 - column]! - data[row * widthPx + column]!;
	return Math.abs(sum) / (thirdPx * heightPx);
}

/** From a tenth to nine tenths of the step, after a smoothing over half a pixel against noise. */
function riseOf({ values, middle }: EdgeProfile): number {
	const smooth = smoothed(values, 1);
	let from = middle;
	let to = middle;
	while (from > 0 && smooth[from]! > 0.1) from--;
	while (to < values.length - 1 && smooth[to]! < 0.9) to++;
	return Math.max(1, to - from) / PLACES_A_PIXEL;
}

function smoothed(values: Float64Array, reach: number): Float64Array {
	return values.map((_, at) => {
		let sum = 0;
		let count = 0;
		for (let near = Math.max(0, at - reach); near <= Math.min(values.length - 1, at + reach); near++) {
			sum += values[near]!;
			count++;
		}
		return sum / count;
	});
}

/** Smoothed the more the further beyond one rise from the edge, where the profile bends little and noise is all that is left. */
function calmedTails({ values, middle }: EdgeProfile, riseWidthPx: number): Float64Array {
	const core = Math.ceil(CORE_RISES * riseWidthPx * PLACES_A_PIXEL);
	return values.map((value, at) => {
		const reach = Math.min(at, values.length - 1 - at, Math.floor((Math.abs(at - middle) - core) / 2));
		if (reach <= 0) return value;
		let sum = 0;
		for (let near = at - reach; near <= at + reach; near++) sum += values[near]!;
		return sum / (2 * reach + 1);
	});
}

/** What goes beyond 0 and 1 near the edge, less three times the scatter of the plateau further out. */
function overshootOf({ values, middle }: EdgeProfile, riseWidthPx: number): number {
	const smooth = smoothed(values, 1);
	const nearPlaces = Math.ceil(3 * Math.max(1, riseWidthPx) * PLACES_A_PIXEL);
	let beyond = 0;
	let squares = 0;
	let count = 0;
	for (const [at, value] of smooth.entries()) {
		const level = at < middle ? 0 : 1;
		const over = at < middle ? -value : value - 1;
		if (Math.abs(at - middle) <= nearPlaces) beyond = Math.max(beyond, over);
		else {
			squares += (value - level) ** 2;
			count++;
		}
	}
	const scatter = count === 0 ? 0 : Math.sqrt(squares / count);
	return beyond > 3 * scatter + 0.005 ? beyond : 0;
}

const FINE_STEPS = 500;

/** Transform of the windowed derivative about its own centre, 0 to 1 c/px. */
function responseOf({ values, middle }: EdgeProfile, halfPx: number): number[] {
	const half = Math.floor(halfPx * PLACES_A_PIXEL);
	const places: { readonly atPx: number; readonly weight: number }[] = [];
	for (let at = middle - half; at < middle + half; at++) {
		const weight = (values[at + 1]! - values[at]!) * tukey((at + 0.5 - middle) / half);
		places.push({ atPx: (at + 0.5 - middle) / PLACES_A_PIXEL, weight });
	}
	const whole = places.reduce((sum, { weight }) => sum + weight, 0);
	return Array.from({ length: FINE_STEPS + 1 }, (_, step) => {
		const frequency = step / FINE_STEPS;
		let real = 0;
		let imaginary = 0;
		for (const { atPx, weight } of places) {
			real += weight * Math.cos(2 * Math.PI * frequency * atPx);
			imaginary += weight * Math.sin(2 * Math.PI * frequency * atPx);
		}
		// The difference of neighbours smooths once, the sharing between two places twice.
		return Math.hypot(real, imaginary) / whole / sinc(frequency / PLACES_A_PIXEL) ** 3;
	});
}

/** Flat over the middle half, cosine beyond; `u` from -1 to 1. */
function tukey(u: number): number {
	const away = Math.abs(u);
	return away <= 0.5 ? 1 : 0.5 * (1 + Math.cos(2 * Math.PI * (away - 0.5)));
}

function sinc(x: number): number {
	return x === 0 ? 1 : Math.sin(Math.PI * x) / (Math.PI * x);
}

/** Frequency where the response first falls to `level`, from a cubic through the part round it. */
function crossing(response: readonly number[], level: number): number | null {
	const first = response.findIndex((value) => value < level);
	if (first <= 0) return null;
	let from = first;
	let to = first;
	while (from > 0 && response[from - 1]! < Math.min(0.9, level + 0.25)) from--;
	while (to < response.length - 1 && response[to + 1]! > Math.max(0.04, level - 0.25)) to++;
	if (to - from < 6) return first / FINE_STEPS;
	const steps = Array.from({ length: to - from + 1 }, (_, i) => from + i);
	const curve = fitPolynomial(
		steps,
		steps.map((step) => response[step]!),
		3,
	);
	let low = from;
	let high = to;
	if (!(curve.at(low) > level && curve.at(high) < level)) return first / FINE_STEPS;
	for (let turn = 0; turn < 40; turn++) {
		const middle = (low + high) / 2;
		if (curve.at(middle) > level) low = middle;
		else high = middle;
	}
	return low / FINE_STEPS;
}

function unmeasured(reason: string, explanation: string): Unmeasured {
	return { kind: 'notMeasured', reason, explanation };
}

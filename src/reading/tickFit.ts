/**
 * The mean tick of a soft vector: which code words were lit, and for what share of the exposure, by least squares whose weights
 * sum to one. Linear in the vector, so that blends of any proportion are read without bias, and never by slicing bits.
 *
 * The support is six words in a row (noise of the mean tick 0.09 to 0.11 at a noise of 0.08 a number, computed): two pictures of a
 * 25 to 60 Hz scope on a 60 Hz screen fit in it. Pictures that lie further apart are blended by `tabletReading.ts` from their
 * own vectors instead.
 */
import { PAIRS, TICKS, tickVector } from '../pattern/markerCode.ts';

const SUPPORT = 6;
/** Where the support may begin, from the word that correlates best. */
const STARTS = [-2, -3, -1, -4] as const;
/** Keeps the solver calm; takes 0.1 % off a weight. */
const RIDGE = 0.01;

export type TickFit = {
	/** Mean tick index, in [0, 4096) around `word`; not rounded. */
	readonly tick: number;
	/** Root mean square of what the words do not explain, of pairs that are +1 or -1. */
	readonly residual: number;
	/** The word that correlates best. */
	readonly word: number;
};

const words = new Float64Array(TICKS * PAIRS);
for (let tick = 0; tick < TICKS; tick++) words.set(tickVector(tick), tick * PAIRS);

/** The word that correlates best with the vector among `count` words from `fromTick` on (mod 4096). `at`: where it begins. */
export function bestWord(
	vectors: ArrayLike<number>,
	at: number,
	{ fromTick, count }: { readonly fromTick: number; readonly count: number },
): number {
	let best = 0;
	let greatest = Number.NEGATIVE_INFINITY;
	for (let step = 0; step < count; step++) {
		const tick = modTicks(fromTick + step);
		let sum = 0;
		for (let pair = 0, k = tick * PAIRS; pair < PAIRS; pair++, k++) sum += words[k]! * vectors[at + pair]!;
		if (sum > greatest) {
			greatest = sum;
			best = tick;
		}
	}
	return best;
}

/** Fits around `word`, on the support that explains most. `gain`: what the marker's blur leaves of a pair, about 1. */
export function fitTick(
	vectors: ArrayLike<number>,
	at: number,
	{ word, gain }: { word: number; gain: number },
): TickFit {
	let best: TickFit | null = null;
	for (const start of STARTS) {
		const fit = fitOn(vectors, at, { start: modTicks(word + start), gain });
		const tick = modTicks(word + start) + fit.steps;
		if (best === null || fit.residual < best.residual) best = { tick, residual: fit.residual, word };
	}
	return best!;
}

/** Sum of free weights on the words about `word`: the gain of this vector. */
export function gainOf(vectors: ArrayLike<number>, at: number, word: number): number {
	const solver = solverOf(modTicks(word - 2));
	// Gain g scales the vector: steps and residual are read at the g that leaves the least.
	let best = 1;
	let least = Number.POSITIVE_INFINITY;
	for (let gain = 0.3; gain <= 1.3; gain += 0.025) {
		const residual = solve(vectors, at, { solver, gain }).residual * gain;
		if (residual < least) {
			least = residual;
			best = gain;
		}
	}
	return best;
}

export function modTicks(tick: number): number {
	return ((tick % TICKS) + TICKS) % TICKS;
}

/** Of all ticks that are the same word, the one nearest to `near`. */
export function unwrapTick(tick: number, near: number): number {
	return tick + TICKS * Math.round((near - tick) / TICKS);
}

/** Weights of the words 1 to 5 after the first, from (vector / gain - first word): rows of PAIRS; and their differences. */
type Solver = { readonly first: number; readonly rows: Float64Array; readonly differences: Float64Array };
const solvers = new Map<number, Solver>();

function fitOn(
	vectors: ArrayLike<number>,
	at: number,
	{ start, gain }: { start: number; gain: number },
): { steps: number; residual: number } {
	return solve(vectors, at, { solver: solverOf(start), gain });
}

const rest = new Float64Array(PAIRS);

function solve(
	vectors: ArrayLike<number>,
	at: number,
	{ solver, gain }: { solver: Solver; gain: number },
): { steps: number; residual: number } {
	const { first, rows, differences } = solver;
	for (let pair = 0; pair < PAIRS; pair++) rest[pair] = vectors[at + pair]! / gain - words[first + pair]!;
	let steps = 0;
	const weights = [0, 0, 0, 0, 0];
	for (let j = 0; j < SUPPORT - 1; j++) {
		let weight = 0;
		for (let pair = 0, k = j * PAIRS; pair < PAIRS; pair++, k++) weight += rows[k]! * rest[pair]!;
		weights[j] = weight;
		steps += weight * (j + 1);
	}
	let squares = 0;
	for (let pair = 0; pair < PAIRS; pair++) {
		let left = rest[pair]!;
		for (let j = 0; j < SUPPORT - 1; j++) left -= weights[j]! * differences[j * PAIRS + pair]!;
		squares += left * left;
	}
	return { steps, residual: Math.sqrt(squares / PAIRS) };
}

function solverOf(start: number): Solver {
	const known = solvers.get(start);
	if (known !== undefined) return known;
	const first = start * PAIRS;
	const size = SUPPORT - 1;
	const differences = new Float64Array(size * PAIRS);
	for (let j = 0; j < size; j++)
		for (let pair = 0; pair < PAIRS; pair++)
			differences[j * PAIRS + pair] = words[modTicks(start + j + 1) * PAIRS + pair]! - words[first + pair]!;
	// (D D' + ridge) X = D, by Gauss-Jordan on the whole right side.
	const matrix = Array.from({ length: size }, (_, j) => {
		const row = new Float64Array(size + PAIRS);
		for (let k = 0; k < size; k++)
			for (let pair = 0; pair < PAIRS; pair++)
				row[k]! += differences[j * PAIRS + pair]! * differences[k * PAIRS + pair]!;
		row[j]! += RIDGE;
		for (let pair = 0; pair < PAIRS; pair++) row[size + pair] = differences[j * PAIRS + pair]!;
		return row;
	});
	eliminate(matrix);
	const rows = new Float64Array(size * PAIRS);
	for (let j = 0; j < size; j++) rows.set(matrix[j]!.subarray(size), j * PAIRS);
	const solver = { first, rows, differences };
	solvers.set(start, solver);
	return solver;
}

/** Gauss-Jordan in place; the left square is positive definite by its ridge. */
function eliminate(matrix: readonly Float64Array[]): void {
	for (const [j, row] of matrix.entries()) {
		const pivot = row[j]!;
		for (let k = 0; k < row.length; k++) row[k]! /= pivot;
		for (const other of matrix) {
			if (other === row) continue;
			const factor = other[j]!;
			for (let k = 0; k < row.length; k++) other[k]! -= factor * row[k]!;
		}
	}
}

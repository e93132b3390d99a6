/**
 * Which pictures stood on the tablet, from one soft vector a frame: runs of frames that hardly differ. A run is a picture; frames
 * between runs are blends of the pictures before and after, mixed by the phone's exposure and the tablet's crystal.
 *
 * Runs that lie on the straight line between their neighbours' vectors are blends too and no pictures. A picture is settled
 * when two frames in a row show it, or one after a frame that took the change; its vector is the mean of the later, settled half of the run.
 */
import { PAIRS } from '../pattern/markerCode.ts';
import type { MarkerTrack } from './opticalTypes.ts';
import { bestWord, fitTick, unwrapTick } from './tickFit.ts';
import type { TickTrack } from './tickTrack.ts';

export type TabletPicture = {
	/** Frames [from, until) that show it and nothing else. */
	readonly from: number;
	readonly until: number;
	/** Last frame that its vector was taken from. */
	readonly settledFrame: number;
	readonly settled: boolean;
	readonly vector: Float64Array;
	/** Mean tick of its content, unwrapped. */
	readonly tick: number;
};

/** Squared distance of two equal vectors is 2 x 21 noise^2 on average; this many times that is still equal. */
const EQUAL_FACTOR = 1.9;
/** And at least this (of vectors of 21 numbers of +-1), so that a noiseless clip is not split by rounding. */
const LEAST_EQUAL = 0.2;
/** A short run is a blend when its share of the later neighbour lies in here and little is left over. */
const BLEND_SHARES: readonly [number, number] = [0.06, 0.94];
const MOST_LEFT_OVER = 2.5;
/** The two pictures of a blend are this many times further apart than equal frames are. */
const APART_FACTOR = 4;
/** 100 frames a second and more. */
const SHORT_FRAME_MS = 10;
/** Touching runs that differ by less are one picture whose crystal was still settling. */
const SETTLING_FACTOR = 2.5;

/** Pictures in frames [from, until), in order. */
export function findPictures(
	track: MarkerTrack,
	reading: TickTrack,
	{
		from,
		until,
		frameMs = Number.POSITIVE_INFINITY,
	}: { readonly from: number; readonly until: number; readonly frameMs?: number },
): TabletPicture[] {
	const equal = Math.max(LEAST_EQUAL, EQUAL_FACTOR * 2 * PAIRS * reading.noise ** 2) * reading.gain ** 2;
	const runs = joinTouching(track.vectors, reading, {
		runs: equalRuns(track, reading, { from, until, equal }),
		equal,
	});
	const pictures = runs
		.filter((run, i) => !isBlend(run, runs[i - 1], { next: runs[i + 1], reading, equal }))
		.map((run, i, kept) => toPicture(run, { reading, after: kept[i - 1], frameMs }))
		.filter((picture) => picture !== null);
	return joinSame(pictures, equal);
}

type Run = {
	readonly from: number;
	readonly until: number;
	readonly vector: Float64Array;
	readonly tick: number;
};

function equalRuns(
	{ vectors }: MarkerTrack,
	reading: TickTrack,
	{ from, until, equal }: { from: number; until: number; equal: number },
): Run[] {
	const runs: Run[] = [];
	let start = -1;
	for (let frame = from; frame <= until; frame++) {
		const isGood = frame < until && reading.good[frame] === 1;
		const goesOn = isGood && start >= 0 && squaredDistance(vectors, frame - 1, frame) < equal;
		if (goesOn) continue;
		if (start >= 0) runs.push(toRun(vectors, reading, { from: start, until: frame }));
		start = isGood ? frame : -1;
	}
	return runs;
}

function joinTouching(
	vectors: Float32Array,
	reading: TickTrack,
	{ runs, equal }: { readonly runs: readonly Run[]; readonly equal: number },
): Run[] {
	const joined: Run[] = [];
	for (const run of runs) {
		const before = joined.at(-1);
		const touches = before !== undefined && before.until === run.from;
		if (touches && squared(before.vector, run.vector) < SETTLING_FACTOR * equal)
			joined[joined.length - 1] = toRun(vectors, reading, { from: before.from, until: run.until });
		else joined.push(run);
	}
	return joined;
}

/** The vector of the run's later half, without its last frame when there are enough: that may hold the next picture's start. */
function toRun(
	vectors: Float32Array,
	{ ticks }: TickTrack,
	{ from, until }: { readonly from: number; readonly until: number },
): Run {
	const { first, last } = settledPart(from, until);
	const vector = new Float64Array(PAIRS);
	let tick = 0;
	for (let frame = first; frame <= last; frame++) {
		tick += ticks[frame]! / (last - first + 1);
		for (let pair = 0; pair < PAIRS; pair++)
			vector[pair]! += vectors[frame * PAIRS + pair]! / (last - first + 1);
	}
	return { from, until, vector, tick };
}

function settledPart(from: number, until: number): { first: number; last: number } {
	const length = until - from;
	const last = length >= 4 ? until - 2 : until - 1;
	return { first: Math.min(last, from + Math.floor(length / 2)), last };
}

function isBlend(
	run: Run,
	before: Run | undefined,
	{
		next,
		reading,
		equal,
	}: { readonly next: Run | undefined; readonly reading: TickTrack; readonly equal: number },
): boolean {
	if (before === undefined || next === undefined || run.until - run.from > 2) return false;
	// Only frames right next to it can blend into it.
	if (run.from - before.until > 2 || next.from - run.until > 2) return false;
	// Between two frames that hardly differ from it, everything lies on a line.
	if (squared(before.vector, next.vector) < APART_FACTOR * equal) return false;
	const { share, leftOver } = shareBetween(run.vector, 0, { before: before.vector, after: next.vector });
	const [least, most] = BLEND_SHARES;
	const allowed = MOST_LEFT_OVER * PAIRS * (reading.noise * reading.gain) ** 2 + 0.3;
	return share > least && share < most && leftOver < allowed;
}

type Neighbourhood = {
	readonly reading: TickTrack;
	readonly after: Run | undefined;
	/** True time of a frame. */
	readonly frameMs: number;
};

function toPicture(
	{ from, until, vector, tick }: Run,
	{ reading: { gain, noise }, after, frameMs }: Neighbourhood,
): TabletPicture | null {
	const near = Math.floor(tick);
	const word = bestWord(vector, 0, { fromTick: near - 6, count: 14 });
	const fit = fitTick(vector, 0, { word, gain });
	if (fit.residual > Math.max(0.25, 2.5 * noise)) return null;
	const { last } = settledPart(from, until);
	// One frame is enough where the frame before it took the change, and frames are short against a crystal's settling.
	const changedBefore = after !== undefined && from > after.until && frameMs <= SHORT_FRAME_MS;
	const settled = until - from >= 2 || changedBefore;
	return { from, until, settledFrame: last, settled, vector, tick: unwrapTick(fit.tick, tick) };
}

/** One picture that noise cut in two. */
function joinSame(pictures: readonly TabletPicture[], equal: number): TabletPicture[] {
	const joined: TabletPicture[] = [];
	for (const picture of pictures) {
		const before = joined.at(-1);
		if (before === undefined || squared(before.vector, picture.vector) > equal) {
			joined.push(picture);
			continue;
		}
		const longer = picture.until - picture.from > before.until - before.from ? picture : before;
		joined[joined.length - 1] = {
			...longer,
			from: before.from,
			until: picture.until,
			settledFrame: Math.max(before.settledFrame, picture.settledFrame),
			settled: picture.until - before.from >= 2,
		};
	}
	return joined;
}

/** Where a vector lies between two: share of the later one, unclipped, and the squared distance that is left over. */
export function shareBetween(
	vectors: ArrayLike<number>,
	at: number,
	{ before, after }: { readonly before: Float64Array; readonly after: Float64Array },
): { share: number; leftOver: number } {
	let along = 0;
	let length = 0;
	let total = 0;
	for (let pair = 0; pair < PAIRS; pair++) {
		const step = after[pair]! - before[pair]!;
		const off = vectors[at + pair]! - before[pair]!;
		along += off * step;
		length += step * step;
		total += off * off;
	}
	const share = length > 0 ? along / length : 0;
	return { share, leftOver: Math.max(0, total - share * along) };
}

function squaredDistance(vectors: Float32Array, frame: number, other: number): number {
	let sum = 0;
	for (let pair = 0; pair < PAIRS; pair++)
		sum += (vectors[frame * PAIRS + pair]! - vectors[other * PAIRS + pair]!) ** 2;
	return sum;
}

function squared(a: Float64Array, b: Float64Array): number {
	let sum = 0;
	for (let pair = 0; pair < PAIRS; pair++) sum += (a[pair]! - b[pair]!) ** 2;
	return sum;
}

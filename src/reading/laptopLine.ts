/**
 * The clip's time from the card: the laptop's tick as a straight line over the file's time, piece by piece.
 *
 * A file's time says little: phones store slow motion 2, 4 or 8 times slower, and some ramp in and out of it. The slope tells:
 * a 60 Hz card that runs at 7.5 ticks a file second was filmed 8 times faster than it plays. A piece is kept where the slope
 * stays at one of 1, 2, 4, 8; what lies between (a ramp) is left out and named. True time is file time over the stretch, and
 * the length of a tick in it follows from the slope, so the phone's crystal is the only clock trusted (some 50 ppm).
 */
import { rateClassHz } from '../pattern/markerCode.ts';
import type { NotRead } from './opticalTypes.ts';
import type { TickTrack } from './tickTrack.ts';

const STRETCHES = [1, 2, 4, 8] as const;
/** How far a slope may be from a class's rate over a stretch: crystals are within 1e-3, a neighbouring class is 20 % off. */
const SLOPE_SPAN = 0.04;
/** Ticks of a window in which a slope is told; jumps of the slope are found to within this. */
const WINDOW_TICKS = 20;
/** Two readings of a window's ends are this far off together: noise and the steps of the screen. */
const READING_TICKS = 0.8;
/** Where this many frames at a piece's end lie off the line by more than so much on average, a ramp has begun. */
const END_FRAMES = 12;
const END_TICKS = 0.3;
/** A piece shorter than this, in ticks, is no use. */
const LEAST_TICKS = 60;
/** A reading further from the line than this is wrong, ticks. */
const WRONG_TICKS = 1.5;
/** More wrong readings than this, and the line itself is in doubt. */
const MOST_WRONG_RATIO = 0.02;

export type LinePiece = {
	/** Frames [from, until). */
	readonly from: number;
	readonly until: number;
	/** Mean tick read off the laptop at a file's time: offset + slope (fileMs - originMs). */
	readonly originMs: number;
	readonly offset: number;
	readonly slopePerMs: number;
	readonly stretch: number;
	/** Length of a tick in true time. */
	readonly tickMs: number;
	/** Frames whose laptop reading was thrown out as wrong. */
	readonly wrongCount: number;
};

export type LaptopLine = {
	readonly kind: 'line';
	readonly pieces: readonly LinePiece[];
	/** Share of the clip's frames that lie in no piece: ramps, cuts. */
	readonly leftOutRatio: number;
	/** In words: "filmed at 240, stored at 30", where time was stretched. */
	readonly said: string | null;
};

/** `rateHz`: the display's class from the label; null when it is not known, and then any class may fit, in a file of true speed. */
export function fitLaptopLine(
	fileMs: Float64Array,
	{ ticks, good }: TickTrack,
	rateHz: number | null,
): LaptopLine | NotRead {
	const frames = goodFrames(good);
	if (frames.length < 10) return notRead('laptopUnread', tooFewReadings(frames.length, good.length));
	const windows = slopesOf(fileMs, ticks, frames);
	const pieces: LinePiece[] = [];
	for (const { first, last, stretch } of joinWindows(windows, rateHz)) {
		const piece = fitPiece(fileMs, ticks, { frames: frames.slice(first, last + 1), stretch });
		if (piece !== null && fitsClass(piece, rateHz)) pieces.push(piece);
	}
	if (pieces.length === 0 && rateHz === null) return notRead('rateUnknown', UNKNOWN_RATE);
	if (pieces.length === 0) return notRead('ramped', rampWords(windows.map(({ slopePerMs }) => slopePerMs)));
	const kept = pieces.reduce((sum, { from, until }) => sum + until - from, 0);
	return { kind: 'line', pieces, leftOutRatio: 1 - kept / good.length, said: stretchWords(fileMs, pieces) };
}

type Window = { readonly first: number; readonly last: number; readonly slopePerMs: number };

function goodFrames(good: Uint8Array): number[] {
	const frames: number[] = [];
	for (let frame = 0; frame < good.length; frame++) if (good[frame] === 1) frames.push(frame);
	return frames;
}

/** Slopes of windows of some ticks each; a window's ends are indices of `frames`. */
function slopesOf(fileMs: Float64Array, ticks: Float64Array, frames: readonly number[]): Window[] {
	const windows: Window[] = [];
	let first = 0;
	for (let last = 1; last < frames.length; last++) {
		const ran = ticks[frames[last]!]! - ticks[frames[first]!]!;
		if (Math.abs(ran) < WINDOW_TICKS) continue;
		const lastedMs = fileMs[frames[last]!]! - fileMs[frames[first]!]!;
		windows.push({ first, last, slopePerMs: lastedMs > 0 ? ran / lastedMs : 0 });
		first = last;
	}
	return windows;
}

type Span = { readonly first: number; readonly last: number; readonly stretch: number };

function joinWindows(windows: readonly Window[], rateHz: number | null): Span[] {
	const spans: { first: number; last: number; stretch: number }[] = [];
	for (const { first, last, slopePerMs } of windows) {
		const stretch = stretchOf(slopePerMs, rateHz);
		const open = spans.at(-1);
		if (stretch === null) continue;
		// The window's slope is told to a few percent; a jump of the tick between windows breaks the piece.
		if (open !== undefined && open.stretch === stretch && open.last === first) open.last = last;
		else spans.push({ first, last, stretch });
	}
	return spans;
}

/**
 * Which stretch a slope is of; null for none. A screen whose rate no label tells is believed only at the file's own speed: 30 a second would else pass for
 * a 60 Hz screen filmed at half speed, and every delay would come out half as long.
 */
function stretchOf(slopePerMs: number, rateHz: number | null): number | null {
	const perSecond = slopePerMs * 1000;
	for (const stretch of rateHz === null ? [1] : STRETCHES) {
		const rate = perSecond * stretch;
		if (
			rateHz === null
				? rateClassHz(rate) !== null
				: Math.abs(rate / rateHz - 1) < SLOPE_SPAN + READING_TICKS / WINDOW_TICKS
		)
			return stretch;
	}
	return null;
}

function fitsClass({ tickMs }: LinePiece, rateHz: number | null): boolean {
	return rateHz === null || Math.abs(1000 / tickMs / rateHz - 1) < SLOPE_SPAN;
}

function fitPiece(
	fileMs: Float64Array,
	ticks: Float64Array,
	{ frames, stretch }: { frames: readonly number[]; stretch: number },
): LinePiece | null {
	const originMs = fileMs[frames[0]!]!;
	let kept = frames;
	let steady = frames;
	let line = { offset: 0, slopePerMs: 0 };
	for (let round = 0; round < 6; round++) {
		line = regress(fileMs, ticks, { frames: kept, originMs });
		const off = (frame: number): number =>
			ticks[frame]! - line.offset - line.slopePerMs * (fileMs[frame]! - originMs);
		steady = withoutRamps(steady, off);
		kept = steady.filter((frame) => Math.abs(off(frame)) < WRONG_TICKS);
		if (kept.length < steady.length / 2 || kept.length < END_FRAMES) return null;
	}
	const from = steady[0]!;
	const until = steady.at(-1)! + 1;
	const wrongCount = steady.length - kept.length;
	if (wrongCount > MOST_WRONG_RATIO * steady.length + 1) return null;
	const ran = line.slopePerMs * (fileMs[until - 1]! - fileMs[from]!);
	if (ran < LEAST_TICKS) return null;
	const tickMs = 1 / (line.slopePerMs * stretch);
	const offset = line.offset + line.slopePerMs * (fileMs[from]! - originMs);
	const { slopePerMs } = line;
	return { from, until, originMs: fileMs[from]!, offset, slopePerMs, stretch, tickMs, wrongCount };
}

/** Takes frames off both ends for as long as a dozen of them lie off the line together. */
function withoutRamps(frames: readonly number[], off: (frame: number) => number): readonly number[] {
	const isOff = (some: readonly number[]): boolean =>
		Math.abs(some.reduce((sum, frame) => sum + off(frame), 0) / some.length) > END_TICKS;
	let first = 0;
	let last = frames.length;
	while (last - first > 2 * END_FRAMES && isOff(frames.slice(first, first + END_FRAMES)))
		first += END_FRAMES / 2;
	while (last - first > 2 * END_FRAMES && isOff(frames.slice(last - END_FRAMES, last)))
		last -= END_FRAMES / 2;
	return frames.slice(first, last);
}

function regress(
	fileMs: Float64Array,
	ticks: Float64Array,
	{ frames, originMs }: { frames: readonly number[]; originMs: number },
): { offset: number; slopePerMs: number } {
	let sumX = 0;
	let sumY = 0;
	for (const frame of frames) {
		sumX += fileMs[frame]! - originMs;
		sumY += ticks[frame]!;
	}
	const meanX = sumX / frames.length;
	const meanY = sumY / frames.length;
	let xx = 0;
	let xy = 0;
	for (const frame of frames) {
		const x = fileMs[frame]! - originMs - meanX;
		xx += x * x;
		xy += x * (ticks[frame]! - meanY);
	}
	const slopePerMs = xx > 0 ? xy / xx : 0;
	return { slopePerMs, offset: meanY - slopePerMs * meanX };
}

function stretchWords(fileMs: Float64Array, pieces: readonly LinePiece[]): string | null {
	const longest = pieces.reduce((a, b) => (b.until - b.from > a.until - a.from ? b : a));
	if (longest.stretch === 1) return null;
	const frameMs = (fileMs[longest.until - 1]! - fileMs[longest.from]!) / (longest.until - 1 - longest.from);
	const stored = Math.round(1000 / frameMs);
	return `filmed at ${Math.round((1000 / frameMs) * longest.stretch)}, stored at ${stored}`;
}

function notRead(reason: string, explanation: string): NotRead {
	return { kind: 'notMeasured', reason, explanation };
}

const UNKNOWN_RATE =
	'The card does not run at the rate of a usual screen at this file’s speed, and its still cells do not tell the screen’s rate, so slow motion and a slow screen cannot be told apart. Set the laptop’s screen to 50, 60, 75, 90, 100, 120 or 144 Hz, and film the card sharp.';

function tooFewReadings(read: number, of: number): string {
	return `The laptop's marker could be read in ${read} of ${of} frames only. Film it larger, sharp and without glare.`;
}

function rampWords(slopes: readonly number[]): string {
	const least = Math.round(1000 * Math.min(...slopes));
	const most = Math.round(1000 * Math.max(...slopes));
	return (
		`The card runs at ${least} to ${most} ticks a second of this file and nowhere long enough at a rate that fits a stretch of 1, 2, 4 or 8: ` +
		'the phone changed the speed of the clip. Send the original file, filmed in one speed, without slow-motion editing.'
	);
}

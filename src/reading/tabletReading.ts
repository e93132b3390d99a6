/**
 * The mean tick that each frame shows on the tablet, blends and all: no frame is dropped, for a dropped blend is not a random frame.
 *
 * Where the pictures about a frame lie within one support of code words, the frame is read by those (tickFit.ts). Where they lie
 * further apart (a fast screen, a lost picture, the end of a freeze), it is a mixture of the pictures' own vectors, by
 * least squares, unclipped; so it is linear from the first trace of a new picture to the last of the old one.
 */
import { PAIRS } from '../pattern/markerCode.ts';
import type { MarkerTrack } from './opticalTypes.ts';
import { shareBetween, type TabletPicture } from './tabletPictures.ts';
import type { TickTrack } from './tickTrack.ts';

/** Pictures whose ticks differ by less are read by code words, of which six are fitted. */
const NEAR_TICKS = 3.2;
/** A frame shows what the pictures before and after it show, give or take this; another tick is a wrong reading. */
const BETWEEN_TICKS = 1.5;
/** Squared distance from between its two pictures beyond which a frame shows something else (two words in 21 pairs: about 40). */
const MOST_LEFT_OVER = 12;

export type TabletReading = {
	/** Mean tick of frames [from, until) of the piece, unwrapped; index 0 is frame `from`. */
	readonly ticks: Float64Array;
	/** 1 where something was read. */
	readonly read: Uint8Array;
	/** For each frame, index of the picture that it shows or comes after; -1 before the first. */
	readonly picture: Int32Array;
	/** Share of the picture after it in the frame; 0 inside a picture's settled run. */
	readonly share: Float64Array;
};

export function readTablet(
	track: MarkerTrack,
	reading: TickTrack,
	plan: { readonly from: number; readonly until: number; readonly pictures: readonly TabletPicture[] },
): TabletReading {
	const { from, until, pictures } = plan;
	const count = until - from;
	const ticks = new Float64Array(count);
	const read = new Uint8Array(count);
	const picture = new Int32Array(count).fill(-1);
	const share = new Float64Array(count);
	const thirdPicture = 0.5 + 2 * PAIRS * (reading.noise * reading.gain) ** 2;
	let current = -1;
	for (let i = 0; i < count; i++) {
		const frame = from + i;
		while (current + 1 < pictures.length && pictures[current + 1]!.settledFrame <= frame) current++;
		picture[i] = current;
		const before = pictures[current];
		const after = pictures[current + 1];
		if (track.read[frame] === 0) continue;
		const at = frame * PAIRS;
		const mixed = mixture(track.vectors, at, { before, after });
		if (mixed !== null) share[i] = mixed.laterShare;
		const byWords = mixed === null || mixed.spreadTicks < NEAR_TICKS || mixed.leftOver > thirdPicture;
		const tick = reading.ticks[frame]!;
		const isWrong = mixed !== null && !isBetween(tick, before, after);
		if (byWords && reading.good[frame] === 1 && !isWrong) ticks[i] = tick;
		else if (mixed !== null && mixed.leftOver < MOST_LEFT_OVER) ticks[i] = mixed.tick;
		else continue;
		read[i] = 1;
	}
	return { ticks, read, picture, share };
}

function isBetween(
	tick: number,
	before: TabletPicture | undefined,
	after: TabletPicture | undefined,
): boolean {
	if (before === undefined || after === undefined) return true;
	const [least, most] = [Math.min(before.tick, after.tick), Math.max(before.tick, after.tick)];
	return tick > least - BETWEEN_TICKS && tick < most + BETWEEN_TICKS;
}

type Ends = { readonly before: TabletPicture | undefined; readonly after: TabletPicture | undefined };
type Mixture = {
	readonly tick: number;
	readonly laterShare: number;
	readonly spreadTicks: number;
	/** Squared distance from the straight line between the two: a third picture shows here. */
	readonly leftOver: number;
};

/** The frame between the two pictures about it; null where there is none on one side. */
function mixture(vectors: Float32Array, at: number, { before, after }: Ends): Mixture | null {
	if (before === undefined || after === undefined) return null;
	const { share, leftOver } = shareBetween(vectors, at, { before: before.vector, after: after.vector });
	const spreadTicks = after.tick - before.tick;
	return {
		tick: before.tick + share * spreadTicks,
		laterShare: share,
		spreadTicks: Math.abs(spreadTicks),
		leftOver,
	};
}

/**
 * The tablet's ticks on the laptop's count. A tick says nothing of its turn of 4096 (68 s at 60 Hz, 34 s at 120): followed from frame to frame it keeps
 * its turn, so that a picture that stands grows older however long; after a jump, as a long stand or a long time unread ends in, it is the newest
 * that the laptop can have shown by then.
 */
import { TICKS } from '../pattern/markerCode.ts';
import type { LaptopClock } from './clipClocks.ts';
import type { Timeline } from './opticalTypes.ts';
import type { TickTrack } from './tickTrack.ts';

/** Further from one reading to the next, and which turn it is of is asked anew. */
const JUMP_MS = 5000;
/** A tablet's reading may lie before the laptop's line by noise and saw teeth. */
const AHEAD_TICKS = 2;

type Turn = { readonly tick: number; readonly moved: number };

/** `from`: the piece's first frame; frames before and after the piece stay as they are. */
export function onLaptopCount(
	tablet: TickTrack,
	{ offset, perMs }: Pick<LaptopClock, 'offset' | 'perMs'>,
	{ from, timeline: { atMs } }: { readonly from: number; readonly timeline: Timeline },
): TickTrack {
	const ticks = Float64Array.from(tablet.ticks);
	/** The turn of one of these that the tick is near to. */
	const turnNear = (turn: Turn | null, tick: number): number | null =>
		turn !== null && Math.abs(tick - turn.tick) <= JUMP_MS * perMs ? turn.moved : null;
	const newest = (i: number, tick: number): number =>
		TICKS * Math.floor((offset + perMs * atMs[i]! + AHEAD_TICKS - tick) / TICKS);
	let last: Turn | null = null;
	let beforeJump: Turn | null = null;
	for (let i = 0; i < atMs.length; i++) {
		if (tablet.good[from + i] === 0) continue;
		const tick = tablet.ticks[from + i]!;
		const followed = turnNear(last, tick);
		// The turn before the jump: back from a single wrong reading.
		const moved: number = followed ?? turnNear(beforeJump, tick) ?? newest(i, tick);
		if (followed === null) beforeJump = last;
		last = { tick, moved };
		ticks[from + i] = tick + moved;
	}
	return { ...tablet, ticks };
}

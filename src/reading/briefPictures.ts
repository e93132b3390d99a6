/**
 * A picture that no frame shows alone: at the end of a freeze the first new picture may stand for one refresh, and every frame of it still holds
 * a trace of the frozen one, whose ticks lie too far back for one support of code words (tickFit.ts). Take the frozen picture's share out of the frame,
 * and the rest is read as any other. Left out, the picture would count as lost.
 *
 * What is read is a mean with the picture after it: good for its slot, not for its instant, so it is never settled.
 */
import { PAIRS } from '../pattern/markerCode.ts';
import { shareBetween, type TabletPicture } from './tabletPictures.ts';
import { bestWord, fitTick, unwrapTick } from './tickFit.ts';
import type { TickTrack } from './tickTrack.ts';

/** Pictures nearer than this are read by code words, blends and all. */
const FAR_TICKS = 6;
/** Frames of one refresh, and the blends on both sides of it. */
const MOST_FRAMES = 8;
/** Of a frame: with more of the frozen picture in it the rest drowns in noise. */
const MOST_TRACE = 0.5;
const TRACE_STEP = 0.02;
/** A tick this near to the settled picture's is that picture. */
const LEAST_APART_TICKS = 0.6;
/** Words before the settled picture's among which it is looked for. */
const WORDS_BACK = 8;

type Gap = { readonly vectors: Float32Array; readonly reading: TickTrack };

/** `pictures`, and between two of them what stood there briefly after a freeze. */
export function withBriefPictures(pictures: readonly TabletPicture[], gap: Gap): TabletPicture[] {
	return pictures.flatMap((after, i) => {
		const before = pictures[i - 1];
		const brief = before === undefined ? null : briefBetween({ before, after }, gap);
		return brief === null ? [after] : [brief, after];
	});
}

type Ends = { readonly before: TabletPicture; readonly after: TabletPicture };

function briefBetween({ before, after }: Ends, { vectors, reading }: Gap): TabletPicture | null {
	const frames = after.from - before.until;
	if (frames < 1 || frames > MOST_FRAMES || after.tick - before.tick < FAR_TICKS) return null;
	const { gain, noise } = reading;
	const third = 0.5 + 2.5 * PAIRS * (noise * gain) ** 2;
	// The oldest reading holds the least of the picture after it.
	let best: Rest | null = null;
	for (let frame = before.until; frame < after.from; frame++) {
		const line = shareBetween(vectors, frame * PAIRS, { before: before.vector, after: after.vector });
		// On the line between the two there is no third.
		if (line.leftOver < third) continue;
		const rest = restOf(vectors, frame, { before, after, gain });
		const isRead = rest.residual < Math.max(0.15, 2.5 * noise) && rest.trace <= MOST_TRACE;
		const isBetween = rest.tick > before.tick + FAR_TICKS / 2 && rest.tick < after.tick - LEAST_APART_TICKS;
		if (isRead && isBetween && (best === null || rest.tick < best.tick)) best = rest;
	}
	if (best === null) return null;
	const { frame, vector, tick } = best;
	// The frame itself is a mixture with the frozen picture, and is read as one: the brief picture stands from the frame after it.
	return { from: frame, until: frame + 1, settledFrame: frame + 1, settled: false, vector, tick };
}

type Rest = {
	readonly frame: number;
	/** Share of the frozen picture in the frame. */
	readonly trace: number;
	readonly vector: Float64Array;
	readonly tick: number;
	/** As of the whole frame, so that a faint rest gains nothing. */
	readonly residual: number;
};

/** The frame without that share of the frozen picture which leaves least unexplained. */
function restOf(
	vectors: Float32Array,
	frame: number,
	{ before, after, gain }: Ends & { readonly gain: number },
): Rest {
	let best: Rest | null = null;
	for (let trace = 0; trace <= MOST_TRACE + TRACE_STEP; trace += TRACE_STEP) {
		const vector = new Float64Array(PAIRS);
		for (let pair = 0; pair < PAIRS; pair++)
			vector[pair] = (vectors[frame * PAIRS + pair]! - trace * before.vector[pair]!) / (1 - trace);
		const word = bestWord(vector, 0, {
			fromTick: Math.floor(after.tick) - WORDS_BACK,
			count: WORDS_BACK + 2,
		});
		const fit = fitTick(vector, 0, { word, gain });
		const residual = fit.residual * (1 - trace);
		if (best === null || residual < best.residual)
			best = { frame, trace, vector, tick: unwrapTick(fit.tick, after.tick), residual };
	}
	return best!;
}

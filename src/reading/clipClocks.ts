/**
 * The two clocks of a filmed piece, from its readings: the laptop's, which gives true time its tick, and the scope's, whose pictures come at even times. Both are read
 * in saw teeth (exposures against refreshes); where enough of the phase was swept they are fitted away (estimators.md A3), else the plain line stands.
 */
import { LEAST_SETTLED_RATIO, settledShare } from './ageCurve.ts';
import type { Cadence } from './cadence.ts';
import type { LinePiece } from './laptopLine.ts';
import type { Timeline } from './opticalTypes.ts';
import { fitStaircase, type Staircase } from './staircase.ts';
import type { TabletPicture } from './tabletPictures.ts';
import type { TickTrack } from './tickTrack.ts';

/** Less of the phase cycle than this, and exposure and phase cannot both be told (estimators.md A6). */
const LEAST_COVERAGE = 0.4;
const MOST_FIT_RESIDUAL = 0.2;
/** Ticks; more, and the plain mean with its own bound is better. */
const MOST_AMBIGUITY = 0.15;
/** In less time the beat's pace itself is in doubt, and a fit can find a phase that was never swept. */
const LEAST_FIT_MS = 10_000;

export type LaptopClock = {
	/** Mean tick that a frame at true time t reads off the laptop: offset + t / tickMs. */
	readonly offset: number;
	readonly perMs: number;
	/** The plain line's middle less the fitted one's, ticks. */
	readonly plainOffset: number;
	readonly plainPerMs: number;
	readonly staircase: Staircase | null;
};

/** The laptop's line, with the saw teeth of phone against screen fitted away where enough of their phase was swept. */
export function laptopClock({ atMs }: Timeline, { ticks, good }: TickTrack, piece: LinePiece): LaptopClock {
	const plainPerMs = piece.slopePerMs * piece.stretch;
	const plain = { plainOffset: piece.offset, plainPerMs };
	const frames: number[] = [];
	for (let i = 0; i < atMs.length; i++) {
		const off = ticks[piece.from + i]! - piece.offset - plainPerMs * atMs[i]!;
		if (good[piece.from + i] === 1 && Math.abs(off) < 1.5) frames.push(i);
	}
	const staircase = fitStaircase(
		{
			times: Float64Array.from(frames, (i) => atMs[i]!),
			ticks: Float64Array.from(frames, (i) => ticks[piece.from + i]!),
			line: { offset: piece.offset, slope: plainPerMs },
		},
		null,
	);
	if (staircase === null || !trusted(staircase) || !isLongEnough(atMs))
		return { ...plain, offset: piece.offset, perMs: plainPerMs, staircase: null };
	const offset = staircase.offset - 0.5 - staircase.responseTicks;
	return { ...plain, offset, perMs: staircase.slope, staircase };
}

export function isLongEnough(atMs: Float64Array): boolean {
	return atMs.at(-1)! - atMs[0]! >= LEAST_FIT_MS;
}

function trusted({ coverage, residual, ambiguityTicks }: Staircase): boolean {
	return coverage >= LEAST_COVERAGE && residual <= MOST_FIT_RESIDUAL && ambiguityTicks <= MOST_AMBIGUITY;
}

/** The scope's clock: its pictures' content at even times, on the same crystal as the laptop's reading. */
export function contentClock(
	cadence: Cadence | null,
	pictures: readonly TabletPicture[],
	laptop: Staircase | null,
): Staircase | null {
	if (cadence === null || !cadence.stable) return null;
	if (settledShare(pictures) < LEAST_SETTLED_RATIO) return null;
	const settled = pictures.flatMap(({ settled }, i) => (settled ? [i] : []));
	const staircase = fitStaircase(
		{
			times: Float64Array.from(settled, (i) => cadence.slots[i]!),
			ticks: Float64Array.from(settled, (i) => pictures[i]!.tick),
			line: { offset: cadence.firstTick, slope: cadence.slotTicks },
		},
		laptop?.responseTicks ?? null,
	);
	return staircase !== null && trusted(staircase) ? staircase : null;
}

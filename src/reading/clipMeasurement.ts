/**
 * A filmed clip's figures: how old the picture on the tablet was in each frame, and what it means (estimators.md A).
 *
 * Laptop's line and tablet's reading are the mean tick of the same functional, so the half tick and the laptop's crystal cancel
 * in their difference. The mean age is over all frames; fresh delay is the mean age less sum G^2 / (2 sum G), G from the scope's own
 * slots: the content-weighted mean delay, whatever is lost. All instants are ms of true time from the piece's first frame.
 */

import { type Budget, lockBudget } from './ageBudget.ts';
import { LEAST_SETTLED_RATIO, type ShownPictures, settledShare, showPictures } from './ageCurve.ts';
import { type Cadence, findCadence } from './cadence.ts';
import type { LinePiece } from './laptopLine.ts';
import type { AgeSample, ClipReading, MarkerTrack, NotRead, Timeline } from './opticalTypes.ts';
import { fitStaircase, type Staircase } from './staircase.ts';
import { findPictures, type TabletPicture } from './tabletPictures.ts';
import { readTablet, type TabletReading } from './tabletReading.ts';
import type { TickTrack } from './tickTrack.ts';

/** Less of the phase cycle than this, and exposure and phase cannot both be told (estimators.md A6). */
const LEAST_COVERAGE = 0.4;
const MOST_FIT_RESIDUAL = 0.2;
/** Ticks; more, and the plain mean with its own bound is better. */
const MOST_AMBIGUITY = 0.15;
/**
 * Frames that could not be read are bridged over gaps up to this. Beyond it the picture read last is taken to have stood until the next:
 * the oldest that it can have been, for a picture that nobody can read is none to steer by.
 */
const BRIDGE_MS = 250;
const LEAST_PIECE_MS = 1000;
/** In less time the beat's pace itself is in doubt, and a fit can find a phase that was never swept. */
const LEAST_FIT_MS = 10_000;
/** Standard uncertainty, from which on a phase that was not fitted leaves percentiles untold: the mean is still told, with its doubt. */
const STANDING_PHASE_MS = 1;

export type PieceMeasurement = {
	readonly kind: 'measured';
	readonly piece: LinePiece;
	readonly durationMs: number;
	readonly meanAgeMs: number;
	readonly freshDelayMs: number;
	/** sum G^2 / (2 sum G): what waiting adds to the mean age. */
	readonly gapTermMs: number;
	/** `clockFit`: saw teeth of the beat between scope and screen fitted away; `linear`: plain mean. */
	readonly method: 'clockFit' | 'linear';
	/** Plain mean less clock fit; null where the clock fit was refused. */
	readonly methodsApartMs: number | null;
	readonly budget: Budget;
	readonly samples: readonly AgeSample[];
	readonly cadence: Cadence | null;
	readonly slotMs: number | null;
	/** Null: the cadence is unstable or pictures had no frame to themselves, so slots cannot be counted. */
	readonly lostSlots: number | null;
	readonly shown: ShownPictures;
	/** Scope and screen keep step, or nearly: one phase was seen, and everything rests on it. Said only where pictures could be told apart at all. */
	readonly phaseStands: boolean;
	readonly unreadRatio: number;
};

/** What a piece is measured from. */
export type PieceInput = {
	readonly clip: ClipReading;
	readonly piece: LinePiece;
	readonly laptop: TickTrack;
	readonly tablet: MarkerTrack;
	readonly tabletTicks: TickTrack;
};

export function measurePiece(input: PieceInput): PieceMeasurement | NotRead {
	const { clip, piece, laptop, tablet, tabletTicks } = input;
	const timeline = timelineOf(clip.fileMs, piece);
	if (timeline.durationMs < LEAST_PIECE_MS) return tooShort(timeline.durationMs);
	const { from, until } = piece;
	const pictures = inOrder(
		findPictures(tablet, tabletTicks, { from, until, frameMs: timeline.durationMs / (until - 1 - from) }),
	);
	const reading = readTablet(tablet, tabletTicks, { from, until, pictures });
	const line = laptopClock(timeline, laptop, piece);
	const ticks = unwrapAges(reading, pictures, line);
	const bridged = bridge(ticks, reading.read, timeline);
	if (bridged.readMs < 0.5 * timeline.durationMs) return tabletUnread(bridged.readMs, timeline.durationMs);
	const cadence = findCadence(pictures.map(({ tick }) => tick));
	const content = isLongEnough(timeline.atMs) ? contentClock(cadence, pictures, line.staircase) : null;
	return summarise({ piece, timeline, pictures, reading, line, bridged, cadence, content, tabletTicks });
}

function timelineOf(fileMs: Float64Array, { from, until, originMs, stretch }: LinePiece): Timeline {
	const count = until - from;
	const atMs = Float64Array.from({ length: count }, (_, i) => (fileMs[from + i]! - originMs) / stretch);
	const weightMs = new Float64Array(count);
	for (let i = 0; i < count; i++) {
		const before = i > 0 ? atMs[i]! - atMs[i - 1]! : atMs[1]! - atMs[0]!;
		const after = i < count - 1 ? atMs[i + 1]! - atMs[i]! : before;
		weightMs[i] = (before + after) / 2;
	}
	return { atMs, weightMs, durationMs: atMs[count - 1]! - atMs[0]! };
}

type LaptopClock = {
	/** Mean tick that a frame at true time t reads off the laptop: offset + t / tickMs. */
	readonly offset: number;
	readonly perMs: number;
	/** The plain line's middle less the fitted one's, ticks. */
	readonly plainOffset: number;
	readonly plainPerMs: number;
	readonly staircase: Staircase | null;
};

/** The laptop's line, with the saw teeth of phone against screen fitted away where enough of their phase was swept. */
function laptopClock({ atMs }: Timeline, { ticks, good }: TickTrack, piece: LinePiece): LaptopClock {
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

function isLongEnough(atMs: Float64Array): boolean {
	return atMs.at(-1)! - atMs[0]! >= LEAST_FIT_MS;
}

function trusted({ coverage, residual, ambiguityTicks }: Staircase): boolean {
	return coverage >= LEAST_COVERAGE && residual <= MOST_FIT_RESIDUAL && ambiguityTicks <= MOST_AMBIGUITY;
}

/** The scope's clock: its pictures' content at even times, on the same crystal as the laptop's reading. */
function contentClock(
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

/** A single frame's picture that is newer than the next or older than the last one is a wrong reading. */
function inOrder(pictures: readonly TabletPicture[]): TabletPicture[] {
	return pictures.filter(({ settled, tick }, i) => {
		const before = pictures[i - 1];
		const after = pictures[i + 1];
		const backwards = before !== undefined && tick < before.tick - 1.2;
		const ahead = after !== undefined && tick > after.tick + 1.2;
		return settled || !(backwards || ahead);
	});
}

/** Puts the tablet's ticks on the laptop's count, below the line by less than one turn of 4096 ticks; in place of pictures too. */
function unwrapAges(
	{ ticks, read }: TabletReading,
	pictures: readonly TabletPicture[],
	{ offset }: LaptopClock,
): {
	readonly turn: number;
	readonly ticks: Float64Array;
	readonly read: Uint8Array;
	readonly pictures: readonly TabletPicture[];
} {
	const first = read.indexOf(1);
	const turn = first < 0 ? 0 : 4096 * Math.floor((offset + 2 - ticks[first]!) / 4096);
	return { turn, ticks, read, pictures };
}

type Bridged = {
	readonly ticks: Float64Array;
	/** Weight of each frame in the mean; 0 where nothing is known. */
	readonly weights: Float64Array;
	/** True time of the frames that were read. */
	readonly readMs: number;
	readonly unreadRatio: number;
	readonly turn: number;
};

function bridge(
	{ ticks, read, turn }: ReturnType<typeof unwrapAges>,
	isRead: Uint8Array,
	{ atMs, weightMs }: Timeline,
): Bridged {
	const out = Float64Array.from(ticks, (tick) => tick + turn);
	const weights = Float64Array.from(weightMs);
	let last = -1;
	let unread = 0;
	let readMs = 0;
	for (let i = 0; i <= isRead.length; i++) {
		if (i < isRead.length && read[i] === 0) {
			unread++;
			continue;
		}
		readMs += weightMs[i] ?? 0;
		if (i - last > 1) fillGap({ out, weights, atMs }, last, i);
		last = i;
	}
	return { ticks: out, weights, readMs, unreadRatio: unread / isRead.length, turn };
}

function fillGap(
	{
		out,
		weights,
		atMs,
	}: { readonly out: Float64Array; readonly weights: Float64Array; readonly atMs: Float64Array },
	last: number,
	next: number,
): void {
	const known = last >= 0 && next < out.length && atMs[next]! - atMs[last]! <= BRIDGE_MS;
	for (let i = last + 1; i < next; i++) {
		if (!known) {
			if (last < 0) weights[i] = 0;
			else out[i] = out[last]!;
			continue;
		}
		const part = (atMs[i]! - atMs[last]!) / (atMs[next]! - atMs[last]!);
		out[i] = out[last]! + part * (out[next]! - out[last]!);
	}
}

type Parts = {
	readonly piece: LinePiece;
	readonly timeline: Timeline;
	readonly pictures: readonly TabletPicture[];
	readonly reading: TabletReading;
	readonly line: LaptopClock;
	readonly bridged: Bridged;
	readonly cadence: Cadence | null;
	readonly content: Staircase | null;
	readonly tabletTicks: TickTrack;
};

function summarise(parts: Parts): PieceMeasurement {
	const { piece, timeline, pictures, line, bridged, cadence, content, tabletTicks } = parts;
	const tickMs = 1 / line.perMs;
	const plainMs = plainMeanAge(parts, { offset: line.plainOffset, perMs: line.plainPerMs });
	const fittedLineMs = plainMeanAge(parts, line);
	const contentShift = content === null ? 0 : contentShiftTicks(parts, content);
	const meanAgeMs = content === null ? fittedLineMs : fittedLineMs + contentShift * tickMs;
	const contentTicks = contentTicksOf(parts);
	const gapMs = gapTerm(contentTicks, pictures, cadence) * tickMs;
	const shown = showPictures({
		timeline,
		reading: parts.reading,
		pictures,
		from: piece.from,
		slots: cadence?.stable === true ? cadence.slots : null,
		contentMs: contentTicks.map((tick) => (tick + bridged.turn - line.offset) * tickMs),
	});
	const budget = lockBudget({
		tickMs,
		frameMs: timeline.durationMs / (timeline.atMs.length - 1),
		frames: timeline.atMs.length,
		laptop: line.staircase,
		laptopTicksPerFrame: (line.perMs * timeline.durationMs) / (timeline.atMs.length - 1),
		content,
		cadence,
		changesMs: shown.curve.kind === 'curve' ? shown.pictures.map(({ shownMs }) => shownMs) : [],
		noiseTicks: tabletTicks.noise,
	});
	const phaseStands =
		content === null && shown.curve.kind === 'curve' && budget.standardMs > STANDING_PHASE_MS;
	return {
		kind: 'measured',
		piece,
		durationMs: timeline.durationMs,
		meanAgeMs,
		freshDelayMs: meanAgeMs - gapMs,
		method: content === null ? 'linear' : 'clockFit',
		methodsApartMs: content === null ? null : plainMs - meanAgeMs,
		budget,
		samples: samplesOf(parts, budget.standardMs),
		cadence,
		slotMs: cadence === null ? null : cadence.slotTicks * tickMs,
		lostSlots: cadence?.stable === true && shown.curve.kind === 'curve' ? lostSlotsOf(cadence) : null,
		gapTermMs: gapMs,
		shown: phaseStands ? withoutPercentiles(shown) : shown,
		phaseStands,
		unreadRatio: bridged.unreadRatio,
	};
}

function withoutPercentiles(shown: ShownPictures): ShownPictures {
	const { curve } = shown;
	return curve.kind === 'curve' ? { ...shown, curve: { ...curve, p50Ms: null, p95Ms: null } } : shown;
}

function plainMeanAge(
	{ timeline, bridged }: Parts,
	{ offset, perMs }: { readonly offset: number; readonly perMs: number },
): number {
	let sum = 0;
	let weight = 0;
	for (let i = 0; i < bridged.ticks.length; i++) {
		sum += bridged.weights[i]! * (offset + perMs * timeline.atMs[i]! - bridged.ticks[i]!);
		weight += bridged.weights[i]!;
	}
	return sum / weight / perMs;
}

/** Mean over time of (content as read - content as fitted): what the saw teeth did to the plain mean, ticks. */
function contentShiftTicks({ pictures, reading, cadence, bridged }: Parts, content: Staircase): number {
	let sum = 0;
	let weight = 0;
	for (let i = 0; i < reading.picture.length; i++) {
		const place = reading.picture[i]!;
		if (place < 0 || bridged.weights[i] === 0) continue;
		const share = place + 1 < pictures.length ? reading.share[i]! : 0;
		const shift =
			(1 - share) * shiftOf(pictures, place, { cadence, content }) +
			(share === 0 ? 0 : share * shiftOf(pictures, place + 1, { cadence, content }));
		sum += bridged.weights[i]! * shift;
		weight += bridged.weights[i]!;
	}
	return weight > 0 ? sum / weight : 0;
}

function shiftOf(
	pictures: readonly TabletPicture[],
	place: number,
	{ cadence, content }: { readonly cadence: Cadence | null; readonly content: Staircase },
): number {
	return cadence === null ? 0 : pictures[place]!.tick - fittedTick(content, cadence.slots[place]!);
}

function fittedTick({ offset, slope, responseTicks }: Staircase, slot: number): number {
	return offset + slope * slot - 0.5 - responseTicks;
}

/** Content of each picture in ticks as the laptop's line counts them (without `turn`): fitted where there is a fit, else as read. */
function contentTicksOf({ pictures, cadence, content }: Parts): number[] {
	if (content === null || cadence === null) return pictures.map(({ tick }) => tick);
	return pictures.map((_, i) => fittedTick(content, cadence.slots[i]!));
}

/** sum G^2 / (2 sum G) in ticks; whole slots where the cadence is steady. */
function gapTerm(
	contentTicks: readonly number[],
	pictures: readonly TabletPicture[],
	cadence: Cadence | null,
): number {
	let sum = 0;
	let squares = 0;
	for (let i = 1; i < pictures.length; i++) {
		const gap =
			cadence?.stable === true
				? (cadence.slots[i]! - cadence.slots[i - 1]!) * cadence.slotTicks
				: contentTicks[i]! - contentTicks[i - 1]!;
		if (gap <= 0) continue;
		sum += gap;
		squares += gap * gap;
	}
	return sum > 0 ? squares / (2 * sum) : 0;
}

function lostSlotsOf({ slots }: Cadence): number {
	let lost = 0;
	for (let i = 1; i < slots.length; i++) lost += Math.max(0, slots[i]! - slots[i - 1]! - 1);
	return lost;
}

function samplesOf({ timeline, bridged, line }: Parts, standardMs: number): AgeSample[] {
	const samples: AgeSample[] = [];
	for (let i = 0; i < bridged.ticks.length; i++) {
		if (bridged.weights[i] === 0) continue;
		const atMs = timeline.atMs[i]!;
		const ageMs = (line.offset + line.perMs * atMs - bridged.ticks[i]!) / line.perMs;
		samples.push({ atMs, ageMs, halfWidthMs: standardMs * Math.sqrt(3), weightMs: bridged.weights[i]! });
	}
	return samples;
}

function tooShort(durationMs: number): NotRead {
	return {
		kind: 'notMeasured',
		reason: 'clipTooShort',
		explanation: `The card could be followed for ${(durationMs / 1000).toFixed(1)} s only. Film 20 to 30 s in one go.`,
	};
}

function tabletUnread(readMs: number, durationMs: number): NotRead {
	const share = Math.round((100 * readMs) / durationMs);
	return {
		kind: 'notMeasured',
		reason: 'tabletUnread',
		explanation: `The tablet's marker could be read in ${share} % of the time only. Film it larger and sharper, without glare; the scope's tip nearer to the card.`,
	};
}

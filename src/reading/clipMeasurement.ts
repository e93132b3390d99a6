/**
 * A filmed clip's figures: how old the picture on the tablet was in each frame, and what it means (estimators.md A).
 *
 * Laptop's line and tablet's reading are the mean tick of the same functional, so the half tick and the laptop's crystal cancel
 * in their difference. The mean age is over all frames; fresh delay is the mean age less sum G^2 / (2 sum G), G from the scope's own
 * slots: the content-weighted mean delay, whatever is lost. All instants are ms of true time from the piece's first frame.
 */

import { type Budget, lockBudget } from './ageBudget.ts';
import { type ShownPictures, showPictures } from './ageCurve.ts';
import { withBriefPictures } from './briefPictures.ts';
import { type Cadence, findCadence } from './cadence.ts';
import { contentClock, isLongEnough, type LaptopClock, laptopClock } from './clipClocks.ts';
import { onLaptopCount } from './laptopCount.ts';
import type { LinePiece } from './laptopLine.ts';
import type { AgeSample, ClipReading, MarkerTrack, NotRead, Timeline } from './opticalTypes.ts';
import type { Staircase } from './staircase.ts';
import { findPictures, type TabletPicture } from './tabletPictures.ts';
import { readTablet, type TabletReading } from './tabletReading.ts';
import type { TickTrack } from './tickTrack.ts';
import { type Bridged, bridge } from './unreadTime.ts';

const LEAST_PIECE_MS = 1000;
/** Standard uncertainty, from which on a phase that was not fitted leaves percentiles untold: the mean is still told, with its doubt. */
const STANDING_PHASE_MS = 1;
/** The same where the scope's phase was fitted and the phone's own stand: percentiles are off by up to two thirds of it (bench/optical.ts, lock). */
const OTHERS_STANDING_MS = 2;

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
	/** Scope or phone and screen keep step, or nearly: one phase was seen, and everything rests on it. */
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
	const { clip, piece, laptop, tablet } = input;
	const timeline = timelineOf(clip.fileMs, piece);
	if (timeline.durationMs < LEAST_PIECE_MS) return tooShort(timeline.durationMs);
	const { from, until } = piece;
	const frameMs = timeline.durationMs / (until - 1 - from);
	const line = laptopClock(timeline, laptop, piece);
	const tabletTicks = onLaptopCount(input.tabletTicks, line, { from, timeline });
	const pictures = withBriefPictures(inOrder(findPictures(tablet, tabletTicks, { from, until, frameMs })), {
		vectors: tablet.vectors,
		reading: tabletTicks,
	});
	const reading = readTablet(tablet, tabletTicks, { from, until, pictures });
	const bridged = bridge(reading, timeline);
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
		contentMs: contentTicks.map((tick) => (tick - line.offset) * tickMs),
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
	const phaseStands = isStanding({ budget, cadence, content, curve: shown.curve });
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

type Seen = {
	readonly budget: Budget;
	readonly cadence: Cadence | null;
	readonly content: Staircase | null;
	readonly curve: ShownPictures['curve'];
};

/** The phase of changes that had no frame to themselves is in doubt always, and tells nothing: there the other two must have been swept. */
function isStanding({ budget, cadence, content, curve }: Seen): boolean {
	if (curve.kind === 'curve')
		return budget.standardMs > (content === null ? STANDING_PHASE_MS : OTHERS_STANDING_MS);
	const stands = (name: string): boolean =>
		budget.lines.some((line) => line.name === name && line.halfWidthMs > Math.sqrt(3) * STANDING_PHASE_MS);
	return (content === null && cadence?.stable === true && stands('content phase')) || stands('laptop phase');
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

/** Content of each picture in ticks as the laptop's line counts them: fitted where there is a fit, else as read. */
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

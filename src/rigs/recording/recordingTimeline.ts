/**
 * What became of the kit's pictures in its recording: the kit's own cadence told from the ticks of the card, every slot of it
 * filled, unreadable or lost; repeats; pictures out of order; cuts; and how the file's times follow the card.
 *
 * Time: a file may be stretched as a whole (slow motion); its times are divided by that. A cut is where the card jumps by over half
 * a second that the file's times do not account for, or backwards by as much. Shorter jumps of that kind are pictures lost and
 * closed up: the file was given new times. Where file and card jump together, pictures are lost and the times are true.
 */

import { findCadence } from '../../reading/cadence.ts';
import { quantileSorted, sortSamples } from '../../statistics/quantile.ts';
import type { RecordedPicture, RecordedPictures } from './recordedPictures.ts';

/** Refresh rates and picture rates that a card is shown at. */
const USUAL_HZ = [24, 25, 30, 50, 60, 75, 90, 100, 120, 144] as const;
const USUAL_SPAN = 0.03;
/** Stretches by which slow motion is stored. */
const STRETCHES = [1, 2, 4, 8, 16] as const;
const CUT_MS = 500;
/** A step of file against card by so much of a slot is no jitter. */
const STEP_SLOTS = 0.6;
/** Pictures on each side of a step that must bear it out. */
const BEARING_OUT = 5;

export type Slot = {
	/** Tick of the card that belongs to it. */
	readonly tick: number;
	readonly fate: 'presented' | 'unreadable' | 'lost';
	/** When it first stands in the file, ms of true time; null when it never does. */
	readonly seenMs: number | null;
};

export type Stretch = {
	/** Pictures [from, until) of the recording, between two cuts. */
	readonly slots: readonly Slot[];
	readonly startMs: number;
	readonly endMs: number;
	readonly repeatedAtMs: readonly number[];
	readonly outOfOrderAtMs: readonly number[];
};

type Retiming = { readonly count: number; readonly closedUpMs: number };

export type RecordingTimeline = {
	readonly kind: 'timeline';
	/** Ticks of the card a second, and how it is known. */
	readonly cardHz: number;
	readonly cardHzFrom: 'given' | 'card' | 'usual' | 'file';
	/** Times of the file over true times: 8 where 240 a second are stored as 30. */
	readonly stretch: number;
	/** The kit's own pictures a second, and frames of the file a second of true time. */
	readonly pictureHz: number;
	readonly frameHz: number;
	/** False: the pictures come at no rate of their own, so slots, and losses, cannot be counted. */
	readonly stable: boolean;
	readonly stretches: readonly Stretch[];
	readonly cuts: readonly { readonly atMs: number; readonly jumpMs: number }[];
	/** Repeats that come at a steady beat: the file's rate is not the kit's. */
	readonly rateConverted: boolean;
	readonly retiming: Retiming;
	readonly unreadFrames: number;
	readonly frames: number;
};

export type NoTimeline = {
	readonly kind: 'noTimeline';
	readonly reason: 'tooFewPictures' | 'cardStands';
	readonly seen: string;
};

const LEAST_PICTURES = 10;

/** `givenHz`: the card's ticks a second, where a person says so. */
export function recordingTimeline(
	recorded: RecordedPictures,
	givenHz: number | null = null,
): RecordingTimeline | NoTimeline {
	const { pictures, fileMs } = recorded;
	if (pictures.length === 1 && pictures[0]!.until - pictures[0]!.from >= LEAST_PICTURES)
		return { kind: 'noTimeline', reason: 'cardStands', seen: 'the card stands still in the whole recording' };
	if (pictures.length < LEAST_PICTURES)
		return {
			kind: 'noTimeline',
			reason: 'tooFewPictures',
			seen: `only ${pictures.length} different pictures of the card could be read in ${fileMs.length} frames`,
		};
	const clock = cardClock(recorded, givenHz);
	const trueMs = fileMs.map((at) => (at - fileMs[0]!) / clock.stretch);
	const { groups, cuts } = splitAtCuts(pictures, trueMs, clock.cardHz);
	const cadence = commonCadence(groups);
	const frameMs = usualStep(trueMs);
	const stretches = groups.map((group) =>
		stretchOf({
			group,
			trueMs,
			unread: recorded.unread,
			slotTicks: cadence.slotTicks,
			frameMs,
			stable: cadence.stable,
		}),
	);
	return {
		kind: 'timeline',
		...clock,
		pictureHz: clock.cardHz / cadence.slotTicks,
		frameHz: 1000 / frameMs,
		stable: cadence.stable,
		stretches,
		cuts,
		rateConverted: isRateConverted(groups),
		retiming: retimingOf(groups, {
			trueMs,
			cardHz: clock.cardHz,
			slotMs: (1000 * cadence.slotTicks) / clock.cardHz,
		}),
		unreadFrames: recorded.unread.reduce((sum, each) => sum + each, 0),
		frames: fileMs.length,
	};
}

type CardClock = Pick<RecordingTimeline, 'cardHz' | 'cardHzFrom' | 'stretch'>;

/** From the usual slope of tick against file time: cuts and losses are few beside it. */
function cardClock({ pictures, fileMs, namedHz }: RecordedPictures, givenHz: number | null): CardClock {
	const slopeHz = usualSlopeHz(pictures, fileMs);
	const known = givenHz ?? namedHz;
	if (known !== null)
		return {
			cardHz: known,
			cardHzFrom: givenHz === null ? 'card' : 'given',
			stretch: wholeStretch(known / slopeHz),
		};
	const usual = USUAL_HZ.find((hz) => Math.abs(slopeHz / hz - 1) < USUAL_SPAN);
	return { cardHz: usual ?? slopeHz, cardHzFrom: usual === undefined ? 'file' : 'usual', stretch: 1 };
}

/** A stretch that phones and recorders use, where it is one of these; else as it is. */
function wholeStretch(stretch: number): number {
	return STRETCHES.find((each) => Math.abs(stretch / each - 1) < USUAL_SPAN) ?? stretch;
}

/** Median over windows of some pictures: a jump spoils few of them. */
function usualSlopeHz(pictures: readonly RecordedPicture[], fileMs: Float64Array): number {
	const reach = Math.min(30, pictures.length - 1);
	const slopes: number[] = [];
	for (let i = reach; i < pictures.length; i++) {
		const [a, b] = [pictures[i - reach]!, pictures[i]!];
		const ms = fileMs[b.from]! - fileMs[a.from]!;
		if (ms > 0 && b.tick > a.tick) slopes.push((1000 * (b.tick - a.tick)) / ms);
	}
	if (slopes.length === 0) throw new RangeError('the ticks of the card never rise in this recording');
	return quantileSorted(sortSamples(slopes), 0.5);
}

type Groups = readonly (readonly RecordedPicture[])[];

function splitAtCuts(
	pictures: readonly RecordedPicture[],
	trueMs: Float64Array,
	cardHz: number,
): { groups: Groups; cuts: RecordingTimeline['cuts'] } {
	const groups: RecordedPicture[][] = [[pictures[0]!]];
	const cuts: { atMs: number; jumpMs: number }[] = [];
	let newest = pictures[0]!;
	for (const picture of pictures.slice(1)) {
		const cardMs = ((picture.tick - newest.tick) * 1000) / cardHz;
		const fileMs = trueMs[picture.from]! - trueMs[newest.from]!;
		const isCut = cardMs < -CUT_MS || cardMs - fileMs > CUT_MS;
		if (isCut) {
			cuts.push({ atMs: trueMs[picture.from]!, jumpMs: cardMs - fileMs });
			groups.push([picture]);
			newest = picture;
			continue;
		}
		groups.at(-1)!.push(picture);
		if (picture.tick > newest.tick) newest = picture;
	}
	return { groups, cuts };
}

/** Of the longest group, whose slots tell it best; its steps serve the others. */
function commonCadence(groups: Groups): { slotTicks: number; stable: boolean } {
	const longest = groups.reduce((a, b) => (b.length > a.length ? b : a));
	const cadence = findCadence(rising(longest).map(({ tick }) => tick));
	if (cadence !== null) return { slotTicks: cadence.slotTicks, stable: cadence.stable };
	const steps = longest.slice(1).map(({ tick }, i) => tick - longest[i]!.tick);
	const ahead = steps.filter((step) => step > 0);
	return { slotTicks: ahead.length === 0 ? 1 : quantileSorted(sortSamples(ahead), 0.5), stable: false };
}

function rising(pictures: readonly RecordedPicture[]): RecordedPicture[] {
	let newest = Number.NEGATIVE_INFINITY;
	return pictures.filter(({ tick }) => {
		const newer = tick > newest;
		if (newer) newest = tick;
		return newer;
	});
}

type StretchInput = {
	readonly group: readonly RecordedPicture[];
	readonly trueMs: Float64Array;
	readonly unread: Uint8Array;
	readonly slotTicks: number;
	readonly frameMs: number;
	readonly stable: boolean;
};

function stretchOf({ group, trueMs, unread, slotTicks, frameMs, stable }: StretchInput): Stretch {
	const newer = rising(group);
	const repeatedAtMs = group.flatMap(({ from, until }) =>
		Array.from({ length: until - from - 1 }, (_, i) => from + 1 + i)
			.filter((frame) => unread[frame] === 0)
			.map((frame) => trueMs[frame]!),
	);
	const kept = new Set(newer);
	const late = group.filter((picture) => !kept.has(picture));
	const startMs = trueMs[group[0]!.from]!;
	const lastFrame = group.at(-1)!.until - 1;
	return {
		slots: stable ? slotsOf({ newer, late, trueMs, unread, slotTicks }) : shownOnly(newer, trueMs),
		startMs,
		endMs: trueMs[lastFrame]! + frameMs,
		repeatedAtMs,
		outOfOrderAtMs: late.map(({ from }) => trueMs[from]!),
	};
}

function shownOnly(newer: readonly RecordedPicture[], trueMs: Float64Array): Slot[] {
	return newer.map(({ tick, from }) => ({ tick, fate: 'presented', seenMs: trueMs[from]! }));
}

type SlotInput = {
	readonly newer: readonly RecordedPicture[];
	readonly late: readonly RecordedPicture[];
	readonly trueMs: Float64Array;
	readonly unread: Uint8Array;
	readonly slotTicks: number;
};

/** Missing slots between two pictures: as many as there are unread frames between them are unreadable, the others lost. */
function slotsOf({ newer, late, trueMs, unread, slotTicks }: SlotInput): Slot[] {
	const numbers = slotNumbers(newer, slotTicks);
	const slots: Slot[] = [];
	for (const [i, picture] of newer.entries()) {
		const before = newer[i - 1];
		const missing = i === 0 ? 0 : numbers[i]! - numbers[i - 1]! - 1;
		if (before !== undefined && missing > 0) {
			const cameLate = late.filter(({ tick }) => tick > before.tick && tick < picture.tick);
			let unreadable = unread.subarray(before.until, picture.from).reduce((sum, each) => sum + each, 0);
			for (let k = 1; k <= missing; k++) {
				const tick = before.tick + (k * (picture.tick - before.tick)) / (missing + 1);
				const there = cameLate.find((each) => Math.abs(each.tick - tick) < slotTicks / 2);
				if (there !== undefined) slots.push({ tick, fate: 'presented', seenMs: trueMs[there.from]! });
				else if (unreadable-- > 0) slots.push({ tick, fate: 'unreadable', seenMs: null });
				else slots.push({ tick, fate: 'lost', seenMs: null });
			}
		}
		// Two readings of one slot are one picture of it.
		if (i === 0 || numbers[i]! > numbers[i - 1]!)
			slots.push({ tick: picture.tick, fate: 'presented', seenMs: trueMs[picture.from]! });
	}
	return slots;
}

function slotNumbers(newer: readonly RecordedPicture[], slotTicks: number): ArrayLike<number> {
	const cadence = findCadence(newer.map(({ tick }) => tick));
	if (cadence?.stable === true) return cadence.slots;
	return newer.map(({ tick }) => Math.round((tick - newer[0]!.tick) / slotTicks));
}

function usualStep(times: Float64Array): number {
	const steps = Array.from(times.subarray(1), (at, i) => at - times[i]!);
	return quantileSorted(sortSamples(steps), 0.5);
}

const LEAST_REPEATED_RATIO = 0.05;
const EVEN_SPREAD = 0.35;

/** Repeats at an even beat, in one picture out of twenty or more. */
function isRateConverted(groups: Groups): boolean {
	const pictures = groups.flat();
	const at = pictures.flatMap(({ from, until }, i) => (until - from > 1 ? [i] : []));
	if (at.length < 4 || at.length < LEAST_REPEATED_RATIO * pictures.length) return false;
	const gaps = at.slice(1).map((i, k) => i - at[k]!);
	const mean = gaps.reduce((sum, gap) => sum + gap, 0) / gaps.length;
	const variance = gaps.reduce((sum, gap) => sum + (gap - mean) ** 2, 0) / gaps.length;
	return Math.sqrt(variance) <= EVEN_SPREAD * mean;
}

/** Steps of the file's times against the card that stay: there the file was given times that are not the pictures'. */
function retimingOf(
	groups: Groups,
	{
		trueMs,
		cardHz,
		slotMs,
	}: { readonly trueMs: Float64Array; readonly cardHz: number; readonly slotMs: number },
): Retiming {
	let count = 0;
	let closedUpMs = 0;
	for (const group of groups) {
		const newer = rising(group);
		const ahead = newer.map(({ tick, from }) => trueMs[from]! - (tick * 1000) / cardHz);
		for (let i = 1; i < newer.length; i++) {
			if (Math.abs(ahead[i]! - ahead[i - 1]!) < STEP_SLOTS * slotMs) continue;
			const before = median(ahead.slice(Math.max(0, i - BEARING_OUT), i));
			const after = median(ahead.slice(i, i + BEARING_OUT));
			if (Math.abs(after - before) < STEP_SLOTS * slotMs) continue;
			count++;
			closedUpMs += before - after;
		}
	}
	return { count, closedUpMs };
}

function median(values: readonly number[]): number {
	return quantileSorted(sortSamples(values), 0.5);
}

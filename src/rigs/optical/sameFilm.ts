/**
 * Which of the clips given are one film, or parts of one: a trimmed, re-encoded or slowed copy, or one long film cut in pieces. They hold one
 * start of the kit's app however many files they are, and counting them as several would take the doubt between starts away.
 *
 * What counts is what the films show, never what the files are called or how they are coded. The card's tick starts anew after 4096 refreshes (68 s at
 * 60 Hz), so equal ticks alone prove nothing; but one film's pictures came at the same refreshes with the same content. Parts of one film follow on each
 * other within seconds, the scope's cadence running through. Of honest films, restarted in between, some 1 pair in 60 looks like that by chance (computed:
 * 2 x 2 s in 68, a quarter of the phase), and then one of the two is asked for anew. Parts with longer pauses are no proof: a scope may run on while its
 * app is started anew. They are kept and told (`mayBeOne`) where the clock fits of both put the scope's pictures in step over the pause and the delay is the
 * same; a delay that differs speaks for a new start. Not told: pauses over half a minute, since the second film's place in the cadence is then foretold too badly
 * (standard deviation 0.01 slots after 5 s, 0.04 after 30, 0.06 after 45, 0.1 after 120, computed) and each further turn of the card's count is one more chance to
 * be in step; and copies of so few frames a second that their pictures have no frame to themselves, which are no fast films.
 */
import { TICKS } from '../../pattern/markerCode.ts';
import type { PieceMeasurement } from '../../reading/clipMeasurement.ts';
import type { OpticalClip, UnreadClip } from './opticalClip.ts';
import { measuredMs } from './session.ts';

/** No app is closed, opened and showing its picture again in less. */
const RESTART_MS = 2000;
/** Pictures that two films must share before anything is said of them: some two seconds. */
const LEAST_SHARED = 40;
/** Of the shared ones, this share must have come at the same refresh with the same content. */
const SAME_RATIO = 0.92;
/** Readings of one event in two encodings of a film are within this; a phase of another film's seldom is. Ticks. */
const SAME_SHOWN_TICKS = 0.15;
/** Wider: without a clock fit content is read in steps, and of two encodings of one film one may have its fit. */
const SAME_CONTENT_TICKS = { likeMethods: 0.35, otherMethods: 0.6 };
/** Of a slot of the scope's cadence, between the end of one film and the beginning of the next. */
const RUNS_THROUGH_SLOTS = 0.125;
/** Pictures that tell the cadence's phase at a film's end. */
const PHASE_PICTURES = 30;

/** A pause between parts that can be bridged: the scope's pictures are placed over it by the slopes of both films. */
const MOST_PAUSE_MS = 30_000;
/** As above, between two clock fits: what the first foretells of the second spreads with the pause. By chance one pair in 7 to 12. */
const FITTED_SLOTS = { atOnce: 0.035, perSecond: 0.0013 };
/** What the mean delay of one film's parts differs by beside their doubt (jitter of the way, computed for 5 ms a picture and bad spells). */
const SAME_DELAY_MS = 2;

/** Two films that may be parts of one: by the card's count the second follows on the first so soon. */
export type MaybeOne = { readonly first: string; readonly second: string; readonly pauseMs: number };

export type Separated = {
	/** One for each start of the app, the longest of those that belong together, in the order given. */
	readonly clips: readonly OpticalClip[];
	readonly left: readonly UnreadClip[];
	readonly mayBeOne: readonly MaybeOne[];
};

/** Keeps one clip of each film. */
export function separateFilms(clips: readonly OpticalClip[]): Separated {
	const groups: { readonly members: Set<OpticalClip>; readonly kinds: Map<OpticalClip, Kinship> }[] = [];
	for (const clip of clips) {
		const related = groups.filter(({ members }) => [...members].some((each) => kinship(each, clip) !== null));
		const joined = { members: new Set([clip]), kinds: new Map<OpticalClip, Kinship>() };
		for (const group of related) {
			for (const member of group.members) {
				const kind = kinship(member, clip);
				if (kind !== null) for (const one of [member, clip]) joined.kinds.set(one, kind);
				joined.members.add(member);
			}
			for (const [member, kind] of group.kinds) joined.kinds.set(member, kind);
			groups.splice(groups.indexOf(group), 1);
		}
		groups.push(joined);
	}
	const left: UnreadClip[] = [];
	const kept = new Set<OpticalClip>();
	for (const { members, kinds } of groups) {
		const longest = [...members].reduce((a, b) => (measuredMs(b) > measuredMs(a) ? b : a));
		kept.add(longest);
		for (const clip of members)
			if (clip !== longest) left.push(leftOut(clip.name, longest.name, kinds.get(clip) ?? 'copy'));
	}
	const separate = clips.filter((clip) => kept.has(clip));
	return { clips: separate, left, mayBeOne: separate.flatMap((clip) => doubtsOf(clip, separate)) };
}

function doubtsOf(first: OpticalClip, clips: readonly OpticalClip[]): MaybeOne[] {
	return clips.flatMap((second) => {
		const pauseMs = first === second ? null : pauseBetween(first, second);
		return pauseMs === null ? [] : [{ first: first.name, second: second.name, pauseMs }];
	});
}

/** Null where nothing speaks for one film. */
function pauseBetween(first: OpticalClip, second: OpticalClip): number | null {
	const [ended, begun] = [first.measured.pieces.at(-1)!, second.measured.pieces[0]!];
	if (ended.method !== 'clockFit' || begun.method !== 'clockFit') return null;
	const doubtMs = SAME_DELAY_MS + 1.96 * Math.hypot(ended.budget.standardMs, begun.budget.standardMs);
	if (Math.abs(ended.freshDelayMs - begun.freshDelayMs) > doubtMs) return null;
	const [a, b] = [eventsOf(ended), eventsOf(begun)];
	const pauseMs = gapTicksOf(a, b) * a.tickMs;
	const withinSlots = FITTED_SLOTS.atOnce + (FITTED_SLOTS.perSecond * pauseMs) / 1000;
	return pauseMs <= MOST_PAUSE_MS && isInStep(a, b, withinSlots) ? pauseMs : null;
}

type Kinship = 'copy' | 'part';

function kinship(one: OpticalClip, other: OpticalClip): Kinship | null {
	const [ones, others] = [one.measured.pieces.map(eventsOf), other.measured.pieces.map(eventsOf)];
	if (ones.some((a) => others.some((b) => isShared(a, b)))) return 'copy';
	const follows = runsOn(ones.at(-1)!, others[0]!) || runsOn(others.at(-1)!, ones[0]!);
	return follows ? 'part' : null;
}

/** One piece of a film on the laptop's count of ticks. */
type Events = {
	readonly fromTick: number;
	readonly untilTick: number;
	readonly tickMs: number;
	readonly method: PieceMeasurement['method'];
	readonly slotTicks: number | null;
	/** Rising. */
	readonly pictures: readonly { readonly contentTick: number; readonly shownTick: number }[];
};

function eventsOf({ piece, durationMs, cadence, shown, method }: PieceMeasurement): Events {
	const { offset, tickMs } = piece;
	return {
		fromTick: offset,
		untilTick: offset + durationMs / tickMs,
		tickMs,
		method,
		slotTicks: cadence?.stable === true ? cadence.slotTicks : null,
		pictures: shown.pictures.map(({ contentMs, shownMs }) => ({
			contentTick: offset + contentMs / tickMs,
			shownTick: offset + shownMs / tickMs,
		})),
	};
}

/** Whether the two hold the same pictures, at any whole turn of the tick. */
function isShared(one: Events, other: Events): boolean {
	const lowest = Math.ceil((one.fromTick - other.untilTick) / TICKS);
	const highest = Math.floor((one.untilTick - other.fromTick) / TICKS);
	for (let turn = lowest; turn <= highest; turn++) if (isSharedAt(one, other, turn * TICKS)) return true;
	return false;
}

function isSharedAt(one: Events, other: Events, moveTicks: number): boolean {
	const { likeMethods, otherMethods } = SAME_CONTENT_TICKS;
	const contentTicks = one.method === other.method ? likeMethods : otherMethods;
	let asked = 0;
	let same = 0;
	let from = 0;
	const until = (other.pictures.at(-1)?.shownTick ?? 0) + moveTicks;
	for (const { contentTick, shownTick } of one.pictures) {
		while (
			from < other.pictures.length &&
			other.pictures[from]!.shownTick + moveTicks < shownTick - SAME_SHOWN_TICKS
		)
			from++;
		if (from === 0 || shownTick > until) continue;
		asked++;
		const near = other.pictures[from];
		if (
			near !== undefined &&
			near.shownTick + moveTicks <= shownTick + SAME_SHOWN_TICKS &&
			Math.abs(near.contentTick + moveTicks - contentTick) <= contentTicks
		)
			same++;
	}
	return asked >= LEAST_SHARED && same >= SAME_RATIO * asked;
}

/** Whether the second begins where the first ends, too soon for a start of the app, the scope's pictures in step. */
function runsOn(first: Events, second: Events): boolean {
	return (
		gapTicksOf(first, second) * first.tickMs <= RESTART_MS && isInStep(first, second, RUNS_THROUGH_SLOTS)
	);
}

/** The least that it can be, by the card's count. */
function gapTicksOf(first: Events, second: Events): number {
	const apart = second.fromTick - first.untilTick;
	// A first and a last frame of a cut may be the same one; a quarter of a second is generous.
	return apart - TICKS * Math.floor((apart + 250 / first.tickMs) / TICKS);
}

/** Whether the scope's pictures run through from one to the other; true where one of them has no cadence to tell by. */
function isInStep(first: Events, second: Events, withinSlots: number): boolean {
	if (first.slotTicks === null || second.slotTicks === null) return true;
	const slotTicks = (first.slotTicks + second.slotTicks) / 2;
	const movedTicks = gapTicksOf(first, second) - (second.fromTick - first.untilTick);
	const ended = first.pictures.slice(-PHASE_PICTURES);
	const begun = second.pictures
		.slice(0, PHASE_PICTURES)
		.map(({ contentTick }) => ({ contentTick: contentTick + movedTicks }));
	const off = phaseOf(ended, slotTicks) - phaseOf(begun, slotTicks);
	return Math.abs(off - Math.round(off)) <= withinSlots;
}

/** Where in a slot the pictures' contents lie, 0 to 1: mean direction. */
function phaseOf(pictures: readonly { readonly contentTick: number }[], slotTicks: number): number {
	let [x, y] = [0, 0];
	for (const { contentTick } of pictures) {
		x += Math.cos((2 * Math.PI * contentTick) / slotTicks);
		y += Math.sin((2 * Math.PI * contentTick) / slotTicks);
	}
	return Math.atan2(y, x) / (2 * Math.PI);
}

function leftOut(name: string, kept: string, kind: Kinship): UnreadClip {
	const again = 'Close and open the kit’s app, and film anew: it counts as one start of the app only.';
	return kind === 'copy'
		? {
				kind: 'notMeasured',
				reason: 'clipTwice',
				explanation: `It shows the same pictures at the same instants as ${kept}: the same film, whole or in part. ${again}`,
				name,
			}
		: {
				kind: 'notMeasured',
				reason: 'clipCut',
				explanation: `By the card’s count it follows on ${kept} within ${RESTART_MS / 1000} s, the scope’s pictures in step: one film, cut. ${again}`,
				name,
			};
}

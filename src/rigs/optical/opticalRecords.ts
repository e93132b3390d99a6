/** The clips of a session as one run about the kit: header, each clip's records one after the other, what is missing, the end. */
import {
	FAST_FILMS,
	FORMAT,
	type Header,
	type ObservationRecord,
	ORDINARY_FILMS,
	type Systematic,
	VERSION,
} from '../../observations/records.ts';
import { type ClipPlace, clipRecords, clipSystematics } from '../../reading/clipRecords.ts';
import { shutterLine } from '../../reading/shutter.ts';
import { studentQuantile } from '../../statistics/studentT.ts';
import type { OpticalClip, UnreadClip } from './opticalClip.ts';
import type { MaybeOne } from './sameFilm.ts';
import { isFast, measuredMs, sessionsSeen } from './session.ts';

/** What was read of the printed card: its patches as drawn, and the records of the looks at it, wherever in the run they stand. */
export type CardSeen = {
	readonly patches: Header['patches'];
	readonly looks: (at: { readonly segment: number; readonly atMs: number }) => readonly ObservationRecord[];
};

export type OpticalRun = {
	readonly runId: string;
	readonly toolVersion: string;
	readonly startedAt: string;
	/** As a person would name the kit. */
	readonly kit: string;
	/** True for what `rehearse` invents. */
	readonly invented: boolean;
	readonly place: string | null;
	readonly profile: 'demo' | 'brief' | 'verdict' | 'long';
	readonly clips: readonly OpticalClip[];
	/** Clips that could not be read, which are told and left out. */
	readonly unread: readonly UnreadClip[];
	/** Clips of which two may be one film; none when left out. */
	readonly mayBeOne?: readonly MaybeOne[];
	/** The person said that the picture is meant to lie as it does. */
	readonly turnedAsMeant: boolean;
	/** The printed card as the filmed tablet showed it; null: not filmed. */
	readonly card: CardSeen | null;
	/** How much light the scope saw by; null where it was not said. */
	readonly light: 'bright' | 'dim' | null;
};

/** A picture that is not seen within this is lost; the clip shows what was seen at all. */
const LOST_AFTER_MS = 5000;
/** One-sided 95 %, as the rule for lines takes it. */
const Z_95 = 1.645;

/** Needs at least one clip. */
export function opticalRecords(run: OpticalRun): ObservationRecord[] {
	const records: ObservationRecord[] = [headerOf(run)];
	let place: ClipPlace = { segment: 0, startMs: 0, firstPicture: 0 };
	for (const [index, clip] of run.clips.entries()) {
		const { measured, name, notes } = clip;
		const made = clipRecords(measured, place);
		records.push(...made.records);
		const event = eventAt(place);
		const rate = isFast(clip) ? 'filmedFast' : 'filmedOrdinary';
		for (let i = 0; i < measured.pieces.length; i++)
			records.push({ ...event(rate, `${index + 1} ${name}`), segment: place.segment + i });
		records.push(event('quotedFor', `${name}: ${measured.quotedFor}`));
		if (measured.said !== null) records.push(event('clipStretched', `${name}: ${measured.said}`));
		for (const { code, seen, advice } of measured.warnings)
			records.push(event(code, `${name}: ${seen}|${advice}`));
		for (const { seen } of notes) records.push(event('clipDamaged', `${name}: ${seen}`));
		place = made.next;
	}
	records.push(...cardLooks(run, records), ...sessionEvents(run));
	records.push({ kind: 'end', atMs: place.startMs, reason: 'clipsEnd' });
	return records;
}

/** The card was filmed apart: its looks stand where the first clip begins to count, for they have no time of their own. */
function cardLooks({ card }: OpticalRun, records: readonly ObservationRecord[]): ObservationRecord[] {
	const first = records.find((record) => record.kind === 'segment');
	if (card === null || first === undefined) return [];
	const at = { segment: first.segment, atMs: first.warmUpUntilMs };
	return [...card.looks(at)];
}

type Event = Extract<ObservationRecord, { kind: 'event' }>;

function eventAt({ segment, startMs }: ClipPlace) {
	return (code: string, detail: string): Event => ({
		kind: 'event',
		segment,
		atMs: startMs,
		code,
		frameNumber: null,
		detail,
	});
}

function sessionEvents({ clips, unread, mayBeOne = [], turnedAsMeant }: OpticalRun): Event[] {
	const event = eventAt({ segment: 0, startMs: 0, firstPicture: 0 });
	const sessions = sessionsSeen(clips);
	return [
		...unread.map(({ name, explanation }) => event('clipLeftOut', `${name} was left out|${explanation}`)),
		...mayBeOne.map(({ first, second, pauseMs }) =>
			event(
				'filmsMayBeOne',
				`by the card’s count ${second} begins ${(pauseMs / 1000).toFixed(0)} s after the end of ${first} (or a whole turn of the count later), the scope’s pictures in step and the delay the same: if the kit’s app was not closed and opened between them, they are one start of it and count for one|Only where the app was not started anew: close and open it, and film one of them again.`,
			),
		),
		...clips
			.filter(({ transfer }) => transfer !== 'usual')
			.map(({ name }) =>
				event(
					'clipHdr',
					`${name} was filmed in HDR|Switch HDR off: blends of two pictures are read with the usual tone curve.`,
				),
			),
		...(sessions.length > 1
			? [
					event(
						'sessionsMixed',
						`the clips show cards of ${sessions.length} sessions|Give the clips of one session together.`,
					),
				]
			: []),
		...(turnedAsMeant ? [event('turnedAsMeant', 'the person said so')] : []),
	];
}

function headerOf(run: OpticalRun): Header {
	const longest = run.clips.reduce((a, b) => (measuredMs(b) > measuredMs(a) ? b : a));
	return {
		kind: 'header',
		format: FORMAT,
		version: VERSION,
		toolVersion: run.toolVersion,
		runId: run.runId,
		rig: 'optical',
		subject: { kind: 'kit', name: run.kit, invented: run.invented },
		place: run.place,
		joined: null,
		profile: run.profile,
		startedAt: run.startedAt,
		measuringPoints: { source: 'light', viewer: 'light' },
		viewerClock: 'reference',
		source: {
			layout: 'scope',
			// What matters of the card is how large its markers are seen, and no clip tells its raster.
			widthPx: 0,
			heightPx: 0,
			rateHz: pictureHz(longest),
			seed: longest.measured.session ?? 0,
			difficulty: 'easy',
		},
		path: null,
		displayPeriodMs: null,
		lostAfterMs: LOST_AFTER_MS,
		systematics: systematicsOf(run.clips),
		patches: run.card?.patches ?? [],
		colourReference: 'none',
		...transferOf(run),
		...(run.light === null ? {} : { light: run.light }),
	};
}

/** An HDR film's codes are no colours. Where the printed card was filmed, its own film, which is never HDR, speaks for colour. */
function transferOf({ clips, card }: OpticalRun): Pick<Header, 'transfer'> {
	const transfer = clips.map((clip) => clip.transfer).find((each) => each !== 'usual');
	return card !== null || transfer === undefined ? {} : { transfer };
}

/** The scope's pictures a second where its slots could be told, else those that were seen. */
function pictureHz({ measured }: OpticalClip): number {
	const piece = measured.pieces.reduce((a, b) => (b.durationMs > a.durationMs ? b : a));
	const hz =
		piece.slotMs === null ? (1000 * piece.shown.pictures.length) / piece.durationMs : 1000 / piece.slotMs;
	return Math.round(hz * 1000) / 1000;
}

/**
 * Of fast and of ordinary clips apart, for they speak for other lines: of each name the widest among the clips, and how far the fast clips
 * lie apart, which no clip can know of itself.
 */
function systematicsOf(clips: readonly OpticalClip[]): Systematic[] {
	const fast = clips.filter(isFast);
	const ordinary = clips.filter((clip) => !isFast(clip));
	return [
		...[...togetherOf(fast), ...betweenClips(fast, 1 / fast.length)].map((line) => named(line, FAST_FILMS)),
		// The long clip is one start of the app, and its delay one draw.
		...(ordinary.length === 0 ? [] : [...widestOf(ordinary), ...betweenClips(fast, 1)]).map((line) =>
			named(line, ORDINARY_FILMS),
		),
	];
}

function named(line: Systematic, films: string): Systematic {
	return { ...line, name: `${line.name}${films}` };
}

/** The fast clips' mean counts, and shots with the phone turned take its rolling shutter out of a mean. */
function togetherOf(clips: readonly OpticalClip[]): Systematic[] {
	if (clips.length === 0) return [];
	const shutter = shutterLine(clips.map(({ measured }) => measured.shutter));
	return widestOf(clips).map((line) => (line.name === shutter.name ? { ...line, ...shutter } : line));
}

function widestOf(clips: readonly OpticalClip[]): Systematic[] {
	const widest = new Map<string, Systematic>();
	for (const { measured } of clips)
		for (const line of clipSystematics(measured)) {
			const kept = widest.get(line.name);
			if (kept === undefined || line.halfWidthMs > kept.halfWidthMs) widest.set(line.name, line);
		}
	return [...widest.values()];
}

/**
 * Rectangular; `share` of the variance between the clips: all of it for one draw of phase and of the app's start, its n-th part for the mean of n.
 * Few draws tell their own spread badly: Student's t stands in for the normal distribution that the rule for lines assumes.
 */
function betweenClips(fast: readonly OpticalClip[], share: number): Systematic[] {
	if (fast.length < 2) return [];
	const means = fast.map(({ measured }) => meanDelayMs(measured));
	const mean = means.reduce((sum, value) => sum + value, 0) / means.length;
	const variance = means.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (means.length - 1);
	return [
		{
			name: 'between clips',
			halfWidthMs: (studentQuantile(0.95, means.length - 1) / Z_95) * Math.sqrt(3 * variance * share),
			shape: 'rectangular',
			source: `mean delays of ${means.length} fast clips: ${means.map((value) => value.toFixed(1)).join(', ')} ms`,
		},
	];
}

function meanDelayMs({ pieces }: OpticalClip['measured']): number {
	const totalMs = pieces.reduce((sum, { durationMs }) => sum + durationMs, 0);
	return pieces.reduce((sum, { freshDelayMs, durationMs }) => sum + freshDelayMs * durationMs, 0) / totalMs;
}

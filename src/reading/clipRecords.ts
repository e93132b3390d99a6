/**
 * A measured clip as records of the waist: one segment for each piece of steady speed, one after the other on a clock of true time.
 *
 * The pictures stand as presentations (content time, centroid of their light), moved as a whole so that the mean age of their curve is
 * the mean over all frames, which rests on more and needs no event. Slots that were never seen stand as lost, where slots could be counted.
 * The ages of the frames stand beside them; where pictures had no frame to themselves (`coarse`), those are the only ages to trust.
 */
import {
	FATES,
	type ObservationRecord,
	type PresentationRow,
	type Systematic,
} from '../observations/records.ts';
import type { PieceMeasurement } from './clipMeasurement.ts';
import type { ClipMeasurement } from './measureClip.ts';
import type { ShownPicture } from './opticalTypes.ts';

export type ClipPlace = {
	/** Number of the clip's first segment. */
	readonly segment: number;
	/** Where on the run's clock it begins. */
	readonly startMs: number;
	/** Number of its first picture: pictures count on from clip to clip. */
	readonly firstPicture: number;
};

export type ClipRecords = {
	readonly records: readonly ObservationRecord[];
	/** Where the next clip goes. */
	readonly next: ClipPlace;
};

const PRESENTED = FATES.indexOf('presented');
const LOST = FATES.indexOf('lost');
/** Between pieces and clips; metrics do not look across segments. */
const PAUSE_MS = 1000;
/** Of rows in a record, so that no line of the file is long. */
const ROWS = 500;
/** What an exposure may hide of the peaks of age, where only frames' ages are known (estimators.md A3: 1.7 to 6 ms, computed). */
const HIDDEN_PEAK_MS = 6;
/** What the mean over all frames and the rebuilt curve's may be apart beside their uncertainty: ten times what bench/optical.ts sees. */
const MOST_SHIFT_MS = 2;

export function clipRecords({ pieces, orientation }: ClipMeasurement, place: ClipPlace): ClipRecords {
	const records: ObservationRecord[] = [];
	let { segment, startMs, firstPicture } = place;
	for (const piece of pieces) {
		const at = { segment, startMs, firstPicture };
		const rows = presentationRows(piece, at);
		const endMs = startMs + piece.durationMs;
		records.push({ kind: 'segment', segment, startMs, warmUpUntilMs: observedFrom(piece, rows, startMs) });
		for (let from = 0; from < rows.length; from += ROWS)
			records.push({ kind: 'presentations', segment, rows: rows.slice(from, from + ROWS) });
		records.push(...sampleRecords(piece, at));
		const detail = `${orientation.shown}, turned ${Math.round(orientation.turnedDeg)} degrees`;
		records.push({ kind: 'event', segment, atMs: startMs, code: 'orientation', frameNumber: null, detail });
		if (piece.lostSlots !== null)
			records.push({
				...{ kind: 'event', segment, atMs: startMs, code: 'lostCounted', frameNumber: null },
				detail: `${piece.lostSlots} slots of the scope's cadence without a picture`,
			});
		records.push({ kind: 'segmentEnd', segment, endMs, reason: 'clipEnd' });
		segment++;
		startMs = endMs + PAUSE_MS;
		firstPicture += rows.length;
	}
	return { records, next: { segment, startMs, firstPicture } };
}

/** What one clip may be off by, for the run's header. Of several clips take the one with the widest. */
export function clipSystematics({ budget, pieces }: ClipMeasurement): Systematic[] {
	const lines = budget.map(({ name, halfWidthMs, source }) => ({
		name,
		halfWidthMs,
		shape: 'rectangular' as const,
		source,
	}));
	if (pieces.every(isSettled)) return lines;
	return [
		...lines,
		{
			name: 'hidden peaks',
			halfWidthMs: HIDDEN_PEAK_MS / 2,
			shape: 'oneSided',
			source: 'pictures had no frame to themselves: exposure blends the oldest and the newest moments',
		},
	];
}

/**
 * Whether each picture's instant may stand for a delay: the curve was rebuilt, and its mean is that of all frames but for what the clock fit and
 * reading noise explain. A curve further off has lost or misread pictures, and moving it would move every delay.
 */
function isSettled(piece: PieceMeasurement): boolean {
	return (
		piece.shown.curve.kind === 'curve' &&
		Math.abs(shiftOf(piece)) <= MOST_SHIFT_MS + 3 * piece.budget.standardMs
	);
}

function shiftOf({ meanAgeMs, shown: { curve } }: PieceMeasurement): number {
	return curve.kind === 'curve' ? meanAgeMs - curve.meanMs : 0;
}

/** Before the first change seen nobody knows since when its picture stood; frames' own ages begin at once. */
function observedFrom(piece: PieceMeasurement, rows: readonly PresentationRow[], startMs: number): number {
	return isSettled(piece) ? (rows[0]?.[5] ?? startMs) : startMs + (piece.samples[0]?.atMs ?? 0);
}

function presentationRows(piece: PieceMeasurement, { startMs, firstPicture }: ClipPlace): PresentationRow[] {
	const { shown, slotMs, lostSlots } = piece;
	const shiftMs = isSettled(piece) ? shiftOf(piece) : 0;
	const rows: PresentationRow[] = [];
	let before: ShownPicture | null = null;
	for (const picture of shown.pictures) {
		const missing =
			lostSlots === null || before === null || slotMs === null ? 0 : picture.slot - before.slot - 1;
		for (let i = 1; i <= missing; i++) {
			const atMs =
				startMs + before!.contentMs + (i * (picture.contentMs - before!.contentMs)) / (missing + 1);
			rows.push([firstPicture + rows.length, atMs, atMs, LOST, null, null]);
		}
		const contentMs = startMs + picture.contentMs;
		const seenMs = startMs + picture.shownMs + shiftMs;
		rows.push([firstPicture + rows.length, contentMs, contentMs, PRESENTED, null, seenMs]);
		before = picture;
	}
	return rows;
}

function sampleRecords(piece: PieceMeasurement, { segment, startMs }: ClipPlace): ObservationRecord[] {
	const { samples, gapTermMs } = piece;
	const pictures = isSettled(piece) ? 'settled' : 'coarse';
	const records: ObservationRecord[] = [];
	for (let from = 0; from < samples.length; from += ROWS) {
		const rows = samples
			.slice(from, from + ROWS)
			.map(({ atMs, ageMs, halfWidthMs, weightMs }): [number, number, number, number] => [
				startMs + atMs,
				ageMs,
				halfWidthMs,
				weightMs,
			]);
		records.push({ kind: 'ageSamples', segment, pictures, gapTermMs, rows });
	}
	return records;
}

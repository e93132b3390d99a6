/**
 * A recording's timeline as records of the waist. The run's clock is the file's, from its first frame and without its stretch. A
 * stretch between two cuts is a segment. Slots stand at the times that the file's own clock would give them if it ran evenly: how
 * the file's times stray from that is told by events, and no delay is read off a file.
 */
import { FATES, type ObservationRecord, type PresentationRow } from '../../observations/records.ts';
import type { RecordingTimeline, Slot, Stretch } from './recordingTimeline.ts';
import type { CardLook } from './stripRecording.ts';

const ROWS = 500;

export type RecordingEvent = { readonly code: string; readonly detail: string };

type Basis = {
	readonly timeline: RecordingTimeline;
	readonly looks: readonly CardLook[];
	/** The file's time of its first frame. */
	readonly firstMs: number;
	readonly events: readonly RecordingEvent[];
};

export function recordingRecords({ timeline, looks, firstMs, events }: Basis): ObservationRecord[] {
	const records: ObservationRecord[] = [];
	let firstNumber = 0;
	for (const [segment, stretch] of timeline.stretches.entries()) {
		const { startMs, endMs } = stretch;
		records.push({ kind: 'segment', segment, startMs, warmUpUntilMs: startMs });
		const rows = rowsOf(stretch, firstNumber);
		for (let from = 0; from < rows.length; from += ROWS)
			records.push({ kind: 'presentations', segment, rows: rows.slice(from, from + ROWS) });
		records.push(...countedEvents(segment, stretch));
		for (const look of looks) {
			const atMs = (look.atMs - firstMs) / timeline.stretch;
			if (atMs >= startMs && atMs < endMs) records.push({ ...look, segment, atMs });
		}
		const isLast = segment === timeline.stretches.length - 1;
		if (!isLast) {
			const { jumpMs } = timeline.cuts[segment]!;
			const detail = `the card jumps by ${(jumpMs / 1000).toFixed(1)} s that the file does not show`;
			records.push({ kind: 'event', segment, atMs: endMs, code: 'cut', frameNumber: null, detail });
		}
		records.push({ kind: 'segmentEnd', segment, endMs, reason: isLast ? 'fileEnd' : 'cut' });
		firstNumber += rows.length;
	}
	for (const { code, detail } of events)
		records.push({
			kind: 'event',
			segment: 0,
			atMs: timeline.stretches[0]!.startMs,
			code,
			frameNumber: null,
			detail,
		});
	return records;
}

/** In the order seen, slots that never were where they belong. */
function rowsOf({ slots, startMs, endMs }: Stretch, firstNumber: number): PresentationRow[] {
	const shownMs = evenTimes(slots, startMs, endMs);
	return slots
		.map((slot, i): { row: PresentationRow; orderMs: number } => {
			const fate = FATES.indexOf(slot.fate);
			const at = shownMs[i]!;
			return {
				row: [firstNumber + i, at, at, fate, slot.seenMs, slot.seenMs],
				orderMs: slot.seenMs ?? at,
			};
		})
		.sort((a, b) => a.orderMs - b.orderMs)
		.map(({ row }) => row);
}

/** A straight line through the times at which slots were seen, kept inside the segment. */
function evenTimes(slots: readonly Slot[], startMs: number, endMs: number): number[] {
	const seen = slots.flatMap(({ tick, seenMs }) => (seenMs === null ? [] : [{ tick, seenMs }]));
	const meanTick = seen.reduce((sum, { tick }) => sum + tick, 0) / seen.length;
	const meanMs = seen.reduce((sum, { seenMs }) => sum + seenMs, 0) / seen.length;
	let [along, spread] = [0, 0];
	for (const { tick, seenMs } of seen) {
		along += (tick - meanTick) * (seenMs - meanMs);
		spread += (tick - meanTick) ** 2;
	}
	const msPerTick = spread > 0 ? along / spread : 0;
	const lastMs = endMs - 0.01;
	return slots.map(({ tick }) => Math.min(lastMs, Math.max(startMs, meanMs + (tick - meanTick) * msPerTick)));
}

function countedEvents(segment: number, { repeatedAtMs, outOfOrderAtMs }: Stretch): ObservationRecord[] {
	const event =
		(code: string) =>
		(atMs: number): ObservationRecord => ({
			kind: 'event',
			segment,
			atMs,
			code,
			frameNumber: null,
			detail: null,
		});
	return [...repeatedAtMs.map(event('repeated')), ...outOfOrderAtMs.map(event('outOfOrder'))];
}

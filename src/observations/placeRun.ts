/**
 * Records put together into a run, every instant on the reference clock.
 *
 * The viewer's instants of a segment can be placed only when all its pings are known, so they wait until the end. A
 * segment whose clock cannot be fitted has no times: it is left out and named, and the rest of the run stands.
 * What stands in no announced segment is left out and counted too. Nothing is mended without a reading note.
 */
import { OutsideFailure } from '../failure.ts';
import { type FittedClock, fitClock, type Ping, toReferenceMs } from './clock.ts';
import { type Frame, FrameTable } from './frameTable.ts';
import { keptSmall } from './probes.ts';
import {
	FATES,
	type Header,
	type ObservationRecord,
	type PresentationRow,
	type Systematic,
} from './records.ts';
import type {
	AgeSamples,
	Clarity,
	DetailSample,
	HarnessSample,
	PatchSample,
	PictureSample,
	Probes,
	ReadingNote,
	Run,
	RunEvent,
	Segment,
	StreamCounts,
} from './run.ts';

/** The run of records in file order. Throws `OutsideFailure` when the header is missing or not first. */
export function placeRun(records: Iterable<ObservationRecord>): Run {
	const builder = new RunBuilder();
	for (const record of records) builder.add(record);
	return builder.finish();
}

type OpenSegment = {
	readonly segment: number;
	readonly startMs: number;
	readonly warmUpUntilMs: number;
	endMs: number | null;
	endedBy: string;
	quantumMs: number | null;
	readonly pings: Ping[];
};

/** A segment with the means to place its viewer's instants. */
type PlacedSegment = {
	readonly open: OpenSegment;
	readonly clock: FittedClock | null;
	readonly place: (viewerMs: number) => number;
	/** Latest instant in it, for a segment that the file does not end. */
	lastMs: number;
};

/** Takes records one at a time, so that a file need not be in memory as text. */
export class RunBuilder {
	#header: Header | null = null;
	readonly #segments = new Map<number, OpenSegment>();
	/** As in the file, the viewer's instants still on the viewer's clock. */
	readonly #frames = new FrameTable();
	readonly #patches: PatchSample[] = [];
	readonly #pictures: PictureSample[] = [];
	readonly #details: DetailSample[] = [];
	readonly #ageSamples: AgeSamples[] = [];
	readonly #probes: Probes[] = [];
	readonly #streamCounts: StreamCounts[] = [];
	readonly #clarity: Clarity[] = [];
	readonly #harness: HarnessSample[] = [];
	readonly #events: { event: RunEvent; onViewerClock: boolean }[] = [];
	#endedBy: string | null = null;
	readonly #homeless = new Map<number, number>();

	/** Throws `OutsideFailure` for a record before the header, a second header and a segment begun twice. */
	add(record: ObservationRecord): void {
		if (record.kind === 'header') this.#begin(record);
		else if (this.#header === null) throw headerMissing();
		else if (record.kind === 'segment') this.#open(record);
		else if (record.kind === 'harness') this.#harness.push(without(record));
		else if (record.kind === 'end') this.#endedBy = record.reason;
		else this.#addTo(this.#segments.get(record.segment), record);
	}

	/** Throws `OutsideFailure` when no header came. `notes`: what the reader of the text has to say first. */
	finish(notes: readonly ReadingNote[] = []): Run {
		const header = this.#header;
		if (header === null) throw headerMissing();
		const allNotes = [...notes, ...this.#homelessNotes()];
		const placed = this.#placeSegments(header, allNotes);
		const frames = this.#placeFrames(placed, allNotes);
		const patches = placeSamples(this.#patches, placed);
		const pictures = placeSamples(this.#pictures, placed);
		const details = placeSamples(this.#details, placed);
		return {
			header,
			segments: [...placed.values()].map(toSegment),
			frames,
			patches,
			pictures,
			details,
			ageSamples: this.#ageSamples.filter(({ segment }) => placed.has(segment)),
			probes: this.#probes.filter(({ segment }) => placed.has(segment)),
			streamCounts: placeCounts(this.#streamCounts, placed),
			clarity: this.#clarity.filter(({ segment }) => placed.has(segment)),
			harness: this.#harness,
			events: this.#placeEvents(placed),
			systematics: [...header.systematics, ...clockSystematic(placed)],
			endedBy: this.#endedBy,
			readingNotes: allNotes,
		};
	}

	#begin(header: Header): void {
		if (this.#header !== null)
			throw new OutsideFailure(
				'headerRepeated',
				'The observations hold a second header.',
				'Give each run its own file.',
			);
		this.#header = header;
	}

	#open(record: Extract<ObservationRecord, { kind: 'segment' }>): void {
		const { segment, startMs, warmUpUntilMs } = record;
		if (this.#segments.has(segment))
			throw new OutsideFailure(
				'segmentRepeated',
				`The observations begin segment ${segment} twice.`,
				'Use the file as the bench wrote it, or measure again.',
			);
		const still = { endMs: null, endedBy: 'torn', quantumMs: null, pings: [] };
		this.#segments.set(segment, { segment, startMs, warmUpUntilMs, ...still });
	}

	#addTo(
		segment: OpenSegment | undefined,
		record: Exclude<ObservationRecord, { kind: 'header' | 'segment' | 'harness' | 'end' }>,
	): void {
		if (segment === undefined) {
			this.#homeless.set(record.segment, (this.#homeless.get(record.segment) ?? 0) + 1);
			return;
		}
		switch (record.kind) {
			case 'segmentEnd':
				segment.endMs = record.endMs;
				segment.endedBy = record.reason;
				return;
			case 'presentations':
				for (const row of record.rows) this.#frames.add(toFrame(row, segment.segment));
				return;
			case 'pings':
				for (const sample of record.samples) segment.pings.push(sample);
				segment.quantumMs = record.quantumMs;
				return;
			case 'patches':
				this.#patches.push(without(record));
				return;
			case 'picture':
				this.#pictures.push(without(record));
				return;
			case 'detail':
				this.#details.push(without(record));
				return;
			case 'ageSamples':
				this.#ageSamples.push(without(record));
				return;
			case 'probes':
				this.#probes.push(keptSmall(without(record)));
				return;
			case 'clarity':
				this.#clarity.push(without(record));
				return;
			case 'streamCounts':
				this.#streamCounts.push(without(record));
				return;
			case 'event': {
				const { kind: _, clock, ...event } = record;
				this.#events.push({ event, onViewerClock: clock === 'viewer' });
				return;
			}
		}
	}

	#homelessNotes(): ReadingNote[] {
		return [...this.#homeless].map(([segment, count]) => ({
			code: 'segmentUnknown',
			seen: `${count} records of segment ${segment}, whose beginning is missing, were left out`,
			advice: 'The file is damaged before them: measure again if that segment matters.',
		}));
	}

	#placeSegments(header: Header, notes: ReadingNote[]): Map<number, PlacedSegment> {
		const placed = new Map<number, PlacedSegment>();
		for (const open of this.#segments.values()) {
			if (header.viewerClock === 'reference') {
				placed.set(open.segment, { open, clock: null, place: (viewerMs) => viewerMs, lastMs: open.startMs });
				continue;
			}
			const span = { startMs: open.startMs, endMs: Math.max(open.startMs, open.endMs ?? lastPing(open)) };
			const clock = fitClock(open.pings, open.quantumMs, span);
			if (clock.kind === 'fitted') {
				const place = (viewerMs: number) => toReferenceMs(clock, viewerMs);
				placed.set(open.segment, { open, clock, place, lastMs: open.startMs });
			} else notes.push(segmentLeftOut(open.segment, clock.reason, clock.explanation));
		}
		return placed;
	}

	#placeFrames(placed: Map<number, PlacedSegment>, notes: ReadingNote[]): FrameTable {
		const frames = new FrameTable();
		const lastSeenMs = new Map<number, number>();
		let backwards = 0;
		for (const frame of this.#frames) {
			const segment = placed.get(frame.segment);
			if (segment === undefined) continue;
			const seenMs = frame.seenMs === null ? null : segment.place(frame.seenMs);
			const decodedMs = frame.decodedMs === null ? null : segment.place(frame.decodedMs);
			frames.add({ ...frame, decodedMs, seenMs });
			segment.lastMs = Math.max(segment.lastMs, frame.shownMs, seenMs ?? segment.lastMs);
			if (seenMs === null) continue;
			if (seenMs < (lastSeenMs.get(frame.segment) ?? seenMs)) backwards++;
			else lastSeenMs.set(frame.segment, seenMs);
		}
		if (backwards === 0) return frames;
		notes.push({
			code: 'timesOutOfOrder',
			seen: `${backwards} pictures stand in the file after a picture that was seen later; they were put in the order of their times`,
			advice:
				'Times that go back mean a damaged file or an unsteady viewer clock: measure again before trusting rare events.',
		});
		return sortedBySeen(frames);
	}

	#placeEvents(placed: Map<number, PlacedSegment>): RunEvent[] {
		return this.#events.flatMap(({ event, onViewerClock }) => {
			const segment = placed.get(event.segment);
			if (segment === undefined) return [];
			return [onViewerClock ? { ...event, atMs: segment.place(event.atMs) } : event];
		});
	}
}

function headerMissing(): OutsideFailure {
	return new OutsideFailure(
		'headerMissing',
		'The observations do not begin with a header.',
		'Give the observations.jsonl of a run folder, whole from its first line.',
	);
}

function without<T extends { kind: string }>({ kind: _, ...rest }: T): Omit<T, 'kind'> {
	return rest;
}

function toFrame(
	[frameNumber, dueMs, shownMs, fate, decodedMs, seenMs]: PresentationRow,
	segment: number,
): Frame {
	return { segment, frameNumber, dueMs, shownMs, fate: FATES[fate]!, decodedMs, seenMs };
}

function lastPing(open: OpenSegment): number {
	return open.pings.reduce((latest, [, , , t4]) => Math.max(latest, t4), open.startMs);
}

function segmentLeftOut(segment: number, reason: string, explanation: string): ReadingNote {
	return {
		code: 'segmentWithoutClock',
		seen: `segment ${segment} was left out: ${explanation} (${reason})`,
		advice: 'Keep the viewer awake and in front for the whole run, then measure again.',
	};
}

function placeSamples<T extends { segment: number; atMs: number }>(
	samples: readonly T[],
	placed: Map<number, PlacedSegment>,
): T[] {
	return samples.flatMap((sample) => {
		const segment = placed.get(sample.segment);
		return segment === undefined ? [] : [{ ...sample, atMs: segment.place(sample.atMs) }];
	});
}

function placeCounts(counts: readonly StreamCounts[], placed: Map<number, PlacedSegment>): StreamCounts[] {
	return counts.flatMap((record) => {
		const segment = placed.get(record.segment);
		if (segment === undefined) return [];
		if (record.end === 'sender') return [record];
		return [{ ...record, rows: record.rows.map(([atMs, ...rest]) => [segment.place(atMs), ...rest]) }];
	});
}

/** Presented frames of each segment in the order of their times; every other frame stays where it is. */
function sortedBySeen(frames: FrameTable): FrameTable {
	const bySegment = new Map<number, Frame[]>();
	for (const frame of frames) {
		if (frame.seenMs === null) continue;
		const presented = bySegment.get(frame.segment);
		if (presented === undefined) bySegment.set(frame.segment, [frame]);
		else presented.push(frame);
	}
	// Latest first, so that each is taken from the end.
	for (const presented of bySegment.values()) presented.sort((a, b) => a.seenMs! - b.seenMs!).reverse();
	const sorted = new FrameTable();
	for (const frame of frames)
		sorted.add(frame.seenMs === null ? frame : bySegment.get(frame.segment)!.pop()!);
	return sorted;
}

function toSegment({ open, clock, lastMs }: PlacedSegment): Segment {
	const { segment, startMs, warmUpUntilMs, endedBy } = open;
	return { segment, startMs, warmUpUntilMs, endMs: open.endMs ?? lastMs, endedBy, clock };
}

function clockSystematic(placed: Map<number, PlacedSegment>): Systematic[] {
	const bounds = [...placed.values()].flatMap(({ clock }) => (clock === null ? [] : [clock.boundMs]));
	if (bounds.length === 0) return [];
	const source = "half the least round trip, the viewer's clock step and the drift that pings leave open";
	return [{ name: 'clock', halfWidthMs: Math.max(...bounds), shape: 'rectangular', source }];
}

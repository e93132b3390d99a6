/**
 * A run as metrics see it: every instant on the reference clock, whichever rig made it.
 * Frames are columns of numbers, so that eight hours fit in memory; the text they came from is streamed.
 */
import type { ClockFit } from './clock.ts';
import type { FrameTable } from './frameTable.ts';
import type { Header, ObservationRecord, Systematic } from './records.ts';

export type Segment = {
	readonly segment: number;
	readonly startMs: number;
	readonly warmUpUntilMs: number;
	readonly endMs: number;
	/** Why it ended; `torn` when the file stops before saying so. */
	readonly endedBy: string;
	/** Null when the viewer's clock is the reference clock. */
	readonly clock: ClockFit | null;
};

type RecordOf<K extends ObservationRecord['kind']> = Extract<ObservationRecord, { kind: K }>;
export type PatchSample = Omit<RecordOf<'patches'>, 'kind'>;
export type PictureSample = Omit<RecordOf<'picture'>, 'kind'>;
export type DetailSample = Omit<RecordOf<'detail'>, 'kind'>;
export type AgeSamples = Omit<RecordOf<'ageSamples'>, 'kind'>;
/** As the record, its columns in whichever arrays hold them (`keptSmall` of `probes.ts`); read them by `unpackProbes`. */
export type Probes = Omit<RecordOf<'probes'>, 'kind' | 'sentAfterUs' | 'beyondUs'> & {
	readonly sentAfterUs: ArrayLike<number>;
	readonly beyondUs: ArrayLike<number | null>;
};
export type Clarity = Omit<RecordOf<'clarity'>, 'kind'>;
export type StreamCounts = Omit<RecordOf<'streamCounts'>, 'kind'>;
export type HarnessSample = Omit<RecordOf<'harness'>, 'kind'>;
export type RunEvent = Omit<RecordOf<'event'>, 'kind' | 'clock'>;

export type Run = {
	readonly header: Header;
	readonly segments: readonly Segment[];
	/** In file order: presented frames in the order seen. */
	readonly frames: FrameTable;
	readonly patches: readonly PatchSample[];
	readonly pictures: readonly PictureSample[];
	readonly details: readonly DetailSample[];
	/** Of filmed clips only; viewer's instants are on the reference clock as written. */
	readonly ageSamples: readonly AgeSamples[];
	/** As written, each end's instants on its own clock: `probePackets` puts them on the reference clock. Empty: none were sent. */
	readonly probes: readonly Probes[];
	/** Of WebRTC streams only; the viewer's instants on the reference clock. */
	readonly streamCounts: readonly StreamCounts[];
	/** Of clips of a smeared and flushed lens only; empty else. */
	readonly clarity: readonly Clarity[];
	readonly harness: readonly HarnessSample[];
	readonly events: readonly RunEvent[];
	/** The header's own, and the bound of the clock where it was pinged. */
	readonly systematics: readonly Systematic[];
	/** Why the run ended; null when the file is torn. */
	readonly endedBy: string | null;
	/** What was mended or left aside on reading, in words: torn last line, unknown kinds, rows out of order. */
	readonly readingNotes: readonly ReadingNote[];
};

export type ReadingNote = { readonly code: string; readonly seen: string; readonly advice: string };

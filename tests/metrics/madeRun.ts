/** Runs put together by hand, so that the truth of every figure is known by construction. All instants in ms. */
import type { Thresholds } from '../../src/metrics/metric.ts';
import type { ClockFit } from '../../src/observations/clock.ts';
import { FrameTable } from '../../src/observations/frameTable.ts';
import type { Fate, Header } from '../../src/observations/records.ts';
import type { Run, Segment } from '../../src/observations/run.ts';

export const standardThresholds: Thresholds = {
	ageLimitMs: 240,
	delayLimitMs: 200,
	halfSecondMs: 500,
	slowRateHz: 15,
	allowedRatio: 0.05,
};

export type MadeFrame = {
	readonly shownMs: number;
	/** Null: never presented. */
	readonly delayMs: number | null;
	/** `presented` or `lost`, by the delay, when left out. */
	readonly fate?: Fate;
	readonly dueMs?: number;
	readonly segment?: number;
};

export type MadeRun = Partial<Omit<Run, 'header' | 'frames' | 'segments'>> & {
	readonly frames: readonly MadeFrame[];
	readonly segments?: readonly Segment[];
	/** Laid over a plain link run at 25 frames/s. */
	readonly header?: Partial<Header>;
};

/** One frame each 40 ms from 0 on; `delayMs` says when it is presented after that, or null. */
export function steadyFrames(
	count: number,
	delayMs: (i: number) => number | null,
	periodMs = 40,
): MadeFrame[] {
	return Array.from({ length: count }, (_, i) => ({ shownMs: i * periodMs, delayMs: delayMs(i) }));
}

export function madeSegment(over: Partial<Segment> & { readonly endMs: number }): Segment {
	return { segment: 0, startMs: 0, warmUpUntilMs: 0, endedBy: 'runEnd', clock: null, ...over };
}

export function madeClock(boundMs: number): ClockFit {
	return { anchorMs: 0, offsetMs: 0, driftPpm: 0, boundMs, leastRoundTripMs: 2 * boundMs, pingCount: 100 };
}

/** Without `segments`: one, without warm-up, that ends one period after the last frame was shown. */
export function madeRun({ frames, segments, header, ...over }: MadeRun): Run {
	const rateHz = header?.source?.rateHz ?? 25;
	const lastShownMs = frames.reduce((last, { shownMs }) => Math.max(last, shownMs), 0);
	return {
		header: { ...plainHeader(), ...header },
		segments: segments ?? [madeSegment({ endMs: lastShownMs + 1000 / rateHz })],
		frames: tableOf(frames),
		patches: [],
		pictures: [],
		probes: [],
		streamCounts: [],
		clarity: [],
		harness: [],
		ageSamples: [],
		events: [],
		systematics: [],
		endedBy: 'completed',
		details: [],
		readingNotes: [],
		...over,
	};
}

export function sourceAt(rateHz: number): Header['source'] {
	return { ...plainHeader().source, rateHz };
}

function tableOf(frames: readonly MadeFrame[]): FrameTable {
	const table = new FrameTable();
	const seenMs = ({ shownMs, delayMs }: MadeFrame) => shownMs + (delayMs ?? 5000);
	const inFileOrder = [...frames.entries()].sort(([, a], [, b]) => seenMs(a) - seenMs(b));
	for (const [frameNumber, { shownMs, delayMs, fate, dueMs, segment }] of inFileOrder) {
		const presented = delayMs !== null;
		table.add({
			segment: segment ?? 0,
			frameNumber,
			dueMs: dueMs ?? shownMs,
			shownMs,
			fate: fate ?? (presented ? 'presented' : 'lost'),
			decodedMs: presented ? shownMs + delayMs : null,
			seenMs: presented ? shownMs + delayMs : null,
		});
	}
	return table;
}

function plainHeader(): Header {
	return {
		kind: 'header',
		format: 'steerworthy-observations',
		version: 1,
		toolVersion: '0.0.0',
		runId: 'made',
		rig: 'link',
		subject: { kind: 'link', name: 'a made link', invented: false },
		place: null,
		joined: null,
		profile: 'demo',
		startedAt: '2026-01-01T00:00:00Z',
		measuringPoints: { source: 'generated', viewer: 'presented' },
		viewerClock: 'reference',
		source: { layout: 'link', widthPx: 1280, heightPx: 720, rateHz: 25, seed: 1, difficulty: 'easy' },
		path: null,
		displayPeriodMs: null,
		lostAfterMs: 5000,
		systematics: [],
		patches: [],
	};
}

import type { Header, ObservationRecord, PresentationRow } from '../../src/observations/records.ts';

export const madeHeader: Header = {
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
	startedAt: '2030-01-01T00:00:00Z',
	measuringPoints: { source: 'generated', viewer: 'presented' },
	viewerClock: 'reference',
	source: { layout: 'link', widthPx: 1280, heightPx: 720, rateHz: 25, seed: 1, difficulty: 'easy' },
	path: null,
	displayPeriodMs: 1000 / 60,
	lostAfterMs: 30_000,
	systematics: [],
	patches: [],
};

export function segment(number = 0, startMs = 0): ObservationRecord {
	return { kind: 'segment', segment: number, startMs, warmUpUntilMs: startMs + 100 };
}

export function presentations(rows: PresentationRow[], number = 0): ObservationRecord {
	return { kind: 'presentations', segment: number, rows };
}

/** A presented frame: number, shown, seen. */
export function seenRow(frameNumber: number, shownMs: number, seenMs: number): PresentationRow {
	return [frameNumber, shownMs, shownMs, 0, seenMs - 1, seenMs];
}

export const ending: ObservationRecord[] = [
	{ kind: 'segmentEnd', segment: 0, endMs: 1000, reason: 'runEnd' },
	{ kind: 'end', atMs: 1000, reason: 'completed' },
];

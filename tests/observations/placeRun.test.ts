import { expect, test } from 'vitest';
import { placeRun } from '../../src/observations/placeRun.ts';
import { packProbes, unpackProbes } from '../../src/observations/probes.ts';
import type { ObservationRecord } from '../../src/observations/records.ts';
import { ending, madeHeader, presentations, seenRow, segment } from './madeRecords.ts';

const pinged = { ...madeHeader, viewerClock: 'pinged' as const };
/** The viewer 50 ahead, round trip 20. */
const pings: ObservationRecord = { kind: 'pings', segment: 0, samples: [[100, 160, 165, 125]], quantumMs: 0 };
const likeness = { meanSquaredError: 1, ssim: 1, ssimVariant: 'x', mismatchRatio: null, evidence: null };
const event = {
	kind: 'event',
	segment: 0,
	atMs: 110,
	code: 'repeated',
	frameNumber: 0,
	detail: null,
} as const;

test("a pinged viewer's instants go to the reference clock, the source's stay", () => {
	const run = placeRun([
		pinged,
		segment(),
		presentations([seenRow(0, 0, 110)]),
		{ kind: 'patches', segment: 0, frameNumber: 0, atMs: 110, path: 'decoded', rgb: [] },
		{ kind: 'picture', segment: 0, frameNumber: 0, atMs: 110, ...likeness },
		{ ...event, clock: 'viewer' },
		event,
		pings,
		...ending,
	]);
	expect(run.frames.at(0)).toMatchObject({ shownMs: 0, decodedMs: 59, seenMs: 60 });
	expect([run.patches[0]?.atMs, run.pictures[0]?.atMs]).toEqual([60, 60]);
	expect(run.events.map(({ atMs }) => atMs)).toEqual([60, 110]);
	expect(run.segments[0]?.clock?.offsetMs).toBe(-50);
});

test('the bound of the clock becomes a systematic of the run, the greatest of its segments', () => {
	const run = placeRun([pinged, segment(), pings, ...ending]);
	expect(run.systematics).toMatchObject([{ name: 'clock', shape: 'rectangular' }]);
	// Half the round trip, and 100 ppm over the 887.5 ms from the ping to the end of the segment.
	expect(run.systematics[0]?.halfWidthMs).toBeCloseTo(10 + 0.08875, 9);
	expect(placeRun([madeHeader, segment(), ...ending]).systematics).toEqual([]);
});

test('a pinged segment without a usable ping is left out by name, and the others stand', () => {
	const run = placeRun([
		pinged,
		segment(),
		presentations([seenRow(0, 0, 110)]),
		pings,
		...ending.slice(0, 1),
		segment(1, 2000),
		presentations([seenRow(0, 2000, 2100)], 1),
		...ending.slice(1),
	]);
	expect(run.segments.map((s) => s.segment)).toEqual([0]);
	expect(run.frames.count).toBe(1);
	expect(run.readingNotes).toMatchObject([
		{ code: 'segmentWithoutClock', seen: expect.stringContaining('segment 1') },
	]);
});

test('pictures whose times go back are put in order of time and counted', () => {
	const rows = [seenRow(0, 0, 60), seenRow(2, 80, 140), seenRow(1, 40, 100), seenRow(3, 120, 180)];
	const run = placeRun([madeHeader, segment(), presentations(rows), ...ending]);
	expect([...run.frames].map(({ frameNumber }) => frameNumber)).toEqual([0, 1, 2, 3]);
	expect(run.readingNotes).toMatchObject([{ code: 'timesOutOfOrder', seen: expect.stringMatching(/^1 /) }]);
});

test('a segment that begins again later than another is no going back', () => {
	const run = placeRun([
		madeHeader,
		segment(0),
		segment(1, 500),
		presentations([seenRow(9, 600, 660)], 1),
		presentations([seenRow(0, 0, 60)], 0),
		...ending,
	]);
	expect(run.readingNotes).toEqual([]);
	expect(run.frames.count).toBe(2);
});

test('records of a segment that was never begun are left out and counted', () => {
	const run = placeRun([madeHeader, segment(), presentations([seenRow(0, 0, 60)], 7), ...ending]);
	expect(run.frames.count).toBe(0);
	expect(run.readingNotes).toMatchObject([
		{ code: 'segmentUnknown', seen: expect.stringContaining('segment 7') },
	]);
});

test('a viewer that vanishes and returns leaves two segments and loses nothing', () => {
	const run = placeRun([
		madeHeader,
		segment(0),
		presentations([seenRow(0, 0, 60)]),
		{ kind: 'segmentEnd', segment: 0, endMs: 400, reason: 'viewerLeft' },
		{ kind: 'event', segment: 0, atMs: 400, code: 'viewerLeft', frameNumber: null, detail: null },
		segment(1, 5000),
		presentations([seenRow(100, 5000, 5070)], 1),
		{ kind: 'segmentEnd', segment: 1, endMs: 6000, reason: 'runEnd' },
		{ kind: 'end', atMs: 6000, reason: 'completed' },
	]);
	expect(run.segments.map(({ endedBy, endMs }) => [endedBy, endMs])).toEqual([
		['viewerLeft', 400],
		['runEnd', 6000],
	]);
	expect(run.frames.count).toBe(2);
	expect(run.events).toHaveLength(1);
});

test('the probes of a run are held in small columns, and are the packets of the file', () => {
	const packets = [0, 1, 2].map((sequence) => ({
		...{ sequence, sentMs: 10 * sequence },
		receivedMs: sequence === 1 ? null : 10 * sequence + 7,
	}));
	const record = packProbes(packets, { segment: 0, way: 'toViewer' });
	const { probes } = placeRun([madeHeader, segment(), record, ...ending]);
	const [held] = probes;
	expect(held?.sentAfterUs).toBeInstanceOf(Int32Array);
	expect(held?.beyondUs).toBeInstanceOf(Int32Array);
	expect([...unpackProbes(held ?? record)]).toEqual(packets);
});

import { expect, test } from 'vitest';
import { streamWarnings } from '../../src/metrics/stream.ts';
import type { StreamCounts } from '../../src/observations/run.ts';
import { type MadeRun, madeRun, madeSegment, steadyFrames } from './madeRun.ts';

const RATE_HZ = 25;
const path = { transport: 'webrtc', codec: 'VP8', bitrateKbps: 4000, keyEveryFrames: null, air: null };

/** Counts four times a second: `decodedAt` says how many pictures the decoder had counted by then. */
function counts(untilMs: number, decodedAt: (atMs: number) => number, bufferMs = 20): StreamCounts {
	const rows: StreamCounts['rows'] = [];
	for (let atMs = 0; atMs <= untilMs; atMs += 250) {
		const decoded = Math.max(0, decodedAt(atMs));
		rows.push([atMs, decoded, decoded, 0, 0, decoded * bufferMs, decoded]);
	}
	return { segment: 0, end: 'viewer', rows };
}

function warningsOf(over: Partial<MadeRun>) {
	const frames = over.frames ?? steadyFrames(1500, () => 80);
	const segments = [madeSegment({ startMs: 0, warmUpUntilMs: 5000, endMs: 60_000 })];
	return streamWarnings(madeRun({ frames, segments, header: { path }, ...over }));
}

const everyPicture = (atMs: number): number => Math.floor(((atMs - 80) * RATE_HZ) / 1000);

test('counts that agree with the codes are no warning, and the jitter buffer is told with what it held', () => {
	const [held, ...others] = warningsOf({ streamCounts: [counts(60_000, everyPicture)] });
	expect(others).toEqual([]);
	expect(held).toMatchObject({ code: 'bufferHeld' });
	expect(held?.seen).toContain('20 ms on average');
});

test('pictures that the decoder counted and no code told of are warned of: they were seen, and are called lost', () => {
	const half = steadyFrames(1500, (i) => (i % 2 === 0 ? 80 : null));
	const warnings = warningsOf({ frames: half, streamCounts: [counts(60_000, everyPicture)] });
	expect(warnings.map(({ code }) => code)).toContain('countsDisagree');
});

test('a connection that began anew in the middle counts from nothing and disagrees with nothing', () => {
	const anew = counts(60_000, (atMs) => everyPicture(atMs) - (atMs > 30_000 ? everyPicture(30_000) : 0));
	expect(warningsOf({ streamCounts: [anew] }).map(({ code }) => code)).toEqual(['bufferHeld']);
});

test('a buffer that never came to rest is told as that, and a WebSocket run is told nothing of buffers', () => {
	const event = { segment: 0, atMs: 0, code: 'bufferNotAtRest', frameNumber: null, detail: '40.2 s waited' };
	const [told] = warningsOf({ events: [event], streamCounts: [counts(60_000, everyPicture)] });
	expect(told).toMatchObject({ code: 'bufferNotAtRest' });
	expect(told?.seen).toContain('40.2 s waited');
	const websocket = { ...path, transport: 'websocket' };
	expect(warningsOf({ header: { path: websocket }, events: [event] })).toEqual([]);
});

test('where a browser does not say when it decoded, what was drawn stands for it; one that does not count is told', () => {
	const streamCounts = [counts(60_000, everyPicture)];
	const drawn = steadyFrames(1500, () => 80).map((frame) => ({ ...frame, decodedMs: null }));
	expect(warningsOf({ frames: drawn, streamCounts }).map(({ code }) => code)).toEqual(['bufferHeld']);
	// Counted by the browser and never shown to the page: that many were told of all the same.
	const never = drawn.map((frame, i) =>
		i % 3 === 0 ? { ...frame, fate: 'notDrawn' as const, seenMs: null } : frame,
	);
	expect(warningsOf({ frames: never, streamCounts }).map(({ code }) => code)).toEqual(['bufferHeld']);
	const event = { segment: 0, atMs: 0, code: 'arrivalsUncounted', frameNumber: null, detail: null };
	expect(warningsOf({ frames: drawn, events: [event], streamCounts })[0]).toMatchObject({
		code: 'arrivalsUncounted',
	});
});

import { expect, test } from 'vitest';
import { placeRun } from '../../src/observations/placeRun.ts';
import { formatRecord, parseRecord } from '../../src/observations/recordText.ts';
import { stillAir } from '../../src/simulation/airSpec.ts';
import { virtualFrames } from '../../src/simulation/virtualFrames.ts';
import { simulateLinkRun } from '../../src/simulation/virtualLink.ts';
import type { VirtualLinkSpec } from '../../src/simulation/virtualLinkSpec.ts';
import { madeLink, roughLink } from './madeLink.ts';

function framesOf(spec: Partial<VirtualLinkSpec>) {
	return [...virtualFrames({ ...madeLink, ...spec })];
}

function fatesOf(spec: Partial<VirtualLinkSpec>): Map<number, string> {
	return new Map(framesOf(spec).map(({ frameNumber, fate }) => [frameNumber, fate]));
}

test('stated delays add up: scope, encoder, air and decoder', () => {
	const frames = framesOf({});
	expect(frames).toHaveLength(525);
	for (const { shownMs, seenMs, fate } of frames) {
		expect(fate).toBe('presented');
		expect(seenMs! - shownMs).toBeCloseTo(50, 9);
	}
});

test('a display shows a picture at the first refresh after it was decoded', () => {
	const display = { periodMs: 30, phaseMs: 7 };
	for (const { decodedMs, seenMs } of framesOf({ display, source: { ...madeLink.source, rateHz: 24 } })) {
		expect(seenMs! - decodedMs!).toBeGreaterThanOrEqual(-1e-9);
		expect(seenMs! - decodedMs!).toBeLessThan(30);
		expect(Math.abs(((seenMs! - 7) / 30) % 1)).toBeCloseTo(0, 6);
	}
});

test('of two pictures decoded between refreshes only the later is drawn', () => {
	// Refreshes every 60 ms, pictures decoded at 50, 90, 130, 170, …: those at 50, 170, 210, 290, … fall as follows.
	const fates = fatesOf({ display: { periodMs: 60, phaseMs: 0 }, warmUpMs: 0, observedMs: 400 });
	// Decoded at 50 + 40 n; refresh 60 ceil((50 + 40 n) / 60): 60, 120, 180, 180, 240, 300, 300, 360, 420, 420.
	expect([...fates].map(([, fate]) => fate === 'presented')).toEqual([
		true,
		true,
		false,
		true,
		true,
		false,
		true,
		true,
		false,
		true,
	]);
	expect(fates.get(2)).toBe('notDrawn');
});

test('a frozen viewer draws only the newest picture, once the freeze is over', () => {
	const freezes = { scheduled: [{ atMs: 200, lengthMs: 200 }], random: null };
	const display = { periodMs: 10, phaseMs: 0 };
	const frames = framesOf({ freezes, display, warmUpMs: 0, observedMs: 600 });
	// Decoded at 50 + 40 n: numbers 4 to 8 (210 to 370) fall into the freeze; number 9 (410) after it.
	expect(frames.filter(({ fate }) => fate === 'notDrawn').map(({ frameNumber }) => frameNumber)).toEqual([
		4, 5, 6, 7,
	]);
	expect(frames.find(({ frameNumber }) => frameNumber === 8)?.seenMs).toBe(400);
});

test('a picture that comes after a newer one is overtaken', () => {
	const air = {
		...stillAir,
		delayMs: 10,
		keepOrder: false,
		periodic: { everyMs: 100_000, lengthMs: 20, phaseMs: 220, extraMs: 100 },
	};
	// Packets leave at 25 + 40 n: number 5 at 225, within the stretch; it comes 60 ms after number 6.
	const fates = fatesOf({ air, warmUpMs: 0, observedMs: 600 });
	expect([...fates].filter(([, fate]) => fate !== 'presented')).toEqual([[5, 'overtaken']]);
});

test('a picture with one packet lost is lost; one slower than the limit is late', () => {
	const dropped = { scheduled: [{ atMs: 220, lengthMs: 20 }], random: null, packets: 'dropped' } as const;
	const lost = fatesOf({ air: { ...madeLink.air, outages: dropped }, warmUpMs: 0, observedMs: 600 });
	expect([...lost].filter(([, fate]) => fate !== 'presented')).toEqual([[5, 'lost']]);
	const held = { scheduled: [{ atMs: 220, lengthMs: 200 }], random: null, packets: 'held' } as const;
	const outage = { air: { ...madeLink.air, outages: held }, lostAfterMs: 150 };
	const late = fatesOf({ ...outage, warmUpMs: 0, observedMs: 600 });
	// Numbers 5 to 9 leave at 225 to 385 and pass at 420; seen at 445, 449, … 5 to 7 are then older than 150 ms.
	expect([...late].filter(([, fate]) => fate === 'late').map(([number]) => number)).toEqual([5, 6, 7]);
});

test('every sent frame is in exactly one class, and presented ones come in the order seen', () => {
	for (let seed = 1; seed <= 5; seed++) {
		const frames = framesOf({ ...roughLink, seed, observedMs: 60_000 });
		expect(new Set(frames.map(({ frameNumber }) => frameNumber)).size).toBe(frames.length);
		expect(frames).toHaveLength(61 * 30);
		const fates = new Set(frames.map(({ fate }) => fate));
		expect(fates).toEqual(new Set(['presented', 'notDrawn', 'overtaken', 'lost']));
		const seen = frames.flatMap(({ seenMs }) => (seenMs === null ? [] : [seenMs]));
		expect(seen.every((ms, i) => i === 0 || ms > seen[i - 1]!)).toBe(true);
		for (const { fate, seenMs } of frames) expect(fate === 'presented').toBe(seenMs !== null);
	}
});

test('the same spec gives the same records, and they come back from their text', () => {
	const spec = { ...roughLink, viewerClock: null };
	const lines = [...simulateLinkRun(spec)].map(formatRecord);
	expect([...simulateLinkRun(spec)].map(formatRecord)).toEqual(lines);
	expect([...simulateLinkRun({ ...spec, seed: 2 })].map(formatRecord)).not.toEqual(lines);
	for (const line of lines)
		expect(formatRecord(parseRecord(line) as Parameters<typeof formatRecord>[0])).toBe(line);
});

test('a run seen by a pinged viewer gives the same instants within the clock bound', () => {
	const air = { ...stillAir, delayMs: 3, spread: { kind: 'gamma', shape: 1, scaleMs: 4 } as const };
	const viewerClock = {
		aheadMs: 98_765,
		fastPpm: 35,
		quantumMs: 0.1,
		burstEveryMs: 10_000,
		pingsPerBurst: 10,
		toViewer: air,
		fromViewer: { ...air, delayMs: 6 },
	};
	const spec = { ...roughLink, observedMs: 120_000 };
	const truth = placeRun(simulateLinkRun(spec));
	const read = placeRun(simulateLinkRun({ ...spec, viewerClock }));
	const bound = read.systematics.find(({ name }) => name === 'clock')!.halfWidthMs;
	expect(bound).toBeLessThan(15);
	expect(read.frames.count).toBe(truth.frames.count);
	for (let i = 0; i < truth.frames.count; i++) {
		const { seenMs } = truth.frames.at(i);
		if (seenMs !== null) expect(Math.abs(read.frames.at(i).seenMs! - seenMs)).toBeLessThanOrEqual(bound);
	}
});

test('patches are seen through the stated colour model', () => {
	const spec: VirtualLinkSpec = {
		...madeLink,
		observedMs: 200_000,
		patches: [
			{ name: 'grey', role: 'neutral', rgb: [100, 100, 100] },
			{ name: 'bright', role: 'other', rgb: [250, 10, 10] },
		],
		colour: {
			matrix: [
				[0.9, 0.1, 0],
				[0, 1, 0],
				[0, 0, 1],
			],
			gain: [1.1, 1, 0.5],
			offset: [0, -3, 2],
			noiseSd: 0.5,
		},
		likeness: { medianSquaredError: 6, sigma: 0.2, meanSsim: 0.98, ssimSd: 0.01 },
	};
	const run = placeRun(simulateLinkRun(spec));
	const meanOf = (patch: number, channel: 0 | 1 | 2) =>
		run.patches.reduce((sum, { rgb }) => sum + rgb[patch]![channel], 0) / run.patches.length;
	expect(run.patches.length).toBeGreaterThan(180);
	expect([meanOf(0, 0), meanOf(0, 1), meanOf(0, 2)].map((value) => Math.round(value))).toEqual([110, 97, 52]);
	expect(meanOf(1, 0)).toBeCloseTo(1.1 * (0.9 * 250 + 1), 0);
	expect(run.pictures.length).toBe(run.patches.length);
	expect(run.pictures.every(({ ssim }) => ssim <= 1)).toBe(true);
});

test('an hour of pictures is streamed with nothing kept but what is under way', () => {
	const spec = { ...roughLink, observedMs: 3_600_000 };
	let frames = 0;
	let longest = 0;
	for (const record of simulateLinkRun(spec)) {
		if (record.kind !== 'presentations') continue;
		frames += record.rows.length;
		longest = Math.max(longest, record.rows.length);
	}
	expect(frames).toBe(3601 * 30);
	expect(longest).toBe(30);
});

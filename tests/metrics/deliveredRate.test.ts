import { expect, test } from 'vitest';
import { measureDeliveredRate } from '../../src/metrics/deliveredRate.ts';
import type { DeliveredRate } from '../../src/metrics/metric.ts';
import { gatherPictures } from '../../src/metrics/presentedPictures.ts';
import { measureFacts } from '../../src/metrics/runFacts.ts';
import { gatherSent } from '../../src/metrics/sentFrames.ts';
import type { Run } from '../../src/observations/run.ts';
import { madeRun, madeSegment, sourceAt, standardThresholds, steadyFrames } from './madeRun.ts';

function measure(run: Run) {
	const basis = { pictures: gatherPictures(run), sent: gatherSent(run) };
	return measureDeliveredRate(basis, measureFacts(run), standardThresholds);
}

function measured(run: Run): DeliveredRate {
	const rate = measure(run);
	if (rate.kind === 'notMeasured') throw new Error(rate.explanation);
	return rate;
}

/** A minute after two seconds of warm-up. */
const minute = [madeSegment({ warmUpUntilMs: 2000, endMs: 62_000 })];

test('a whole link at 25/s delivers 25 in every second', () => {
	const rate = measured(madeRun({ frames: steadyFrames(1550, () => 80), segments: minute }));
	expect(rate).toMatchObject({ meanHz: 25, medianHz: 25, p5Hz: 25, sourceHz: 25, windowCount: 60 });
	expect(rate.decodedShareRatio).toBe(1);
	expect(rate.slowWindows).toMatchObject({ limit: 15, shareRatio: 0 });
});

test('a second with fewer than 15 of 25 pictures is slow, one with 15 is not', () => {
	// In every tenth second, `missing` of the 25 pictures.
	const losing = (missing: number) =>
		measured(
			madeRun({
				frames: steadyFrames(1550, (i) => (i % 250 < missing ? null : 0)),
				segments: minute,
			}),
		);
	expect(losing(10).slowWindows.shareRatio).toBe(0);
	expect(losing(11).slowWindows.shareRatio).toBeCloseTo(0.1, 12);
	expect(losing(11).p5Hz).toBe(14);
});

test('fewer than 15 in a second are slow even where the source sends no more', () => {
	const rate = measured(
		madeRun({
			frames: steadyFrames(620, () => 80, 100),
			segments: minute,
			header: { source: sourceAt(10) },
		}),
	);
	expect(rate).toMatchObject({ meanHz: 10, sourceHz: 10 });
	expect(rate.slowWindows).toMatchObject({ limit: 15, shareRatio: 1, lowerRatio: expect.any(Number) });
	expect(rate.slowWindows.lowerRatio).toBeGreaterThan(0.05);
});

test('a source of 16 a second may have 15 in a window, and 14 are slow', () => {
	const frames = (everyMs: number) => steadyFrames(990, () => 80, everyMs);
	const header = { source: sourceAt(16) };
	expect(measured(madeRun({ frames: frames(62.5), segments: minute, header })).slowWindows).toMatchObject({
		limit: 14.4,
		shareRatio: 0,
	});
	expect(
		measured(madeRun({ frames: frames(1000 / 14), segments: minute, header })).slowWindows.shareRatio,
	).toBe(1);
});

test('systematics of delay do not touch a rate', () => {
	const frames = steadyFrames(1550, () => 80);
	const clock = { name: 'clock', halfWidthMs: 50, shape: 'oneSided' as const, source: 'made' };
	expect(measured(madeRun({ frames, segments: minute, systematics: [clock] }))).toEqual(
		measured(madeRun({ frames, segments: minute })),
	);
});

test('nothing presented is a rate of nothing, in every second', () => {
	const rate = measured(madeRun({ frames: steadyFrames(1550, () => null), segments: minute }));
	expect(rate).toMatchObject({ meanHz: 0, p5Hz: 0, decodedShareRatio: 0 });
	expect(rate.slowWindows.shareRatio).toBe(1);
});

test('a source that showed far fewer frames than declared is told by what it showed', () => {
	const rate = measured(madeRun({ frames: steadyFrames(1240, () => 80, 50), segments: minute }));
	expect(rate.sourceHz).toBeCloseTo(20, 6);
	expect(rate.slowWindows).toMatchObject({ limit: 15, shareRatio: 0 });
});

test('what is left over at a segment’s end is in no window, and nine windows are too few', () => {
	const lasting = (endMs: number) =>
		measure(madeRun({ frames: steadyFrames(400, () => 0), segments: [madeSegment({ endMs })] }));
	expect(lasting(10_999)).toMatchObject({ windowCount: 10, meanHz: 25 });
	expect(lasting(9900)).toMatchObject({ reason: 'tooShort' });
});

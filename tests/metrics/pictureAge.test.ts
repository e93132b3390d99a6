import fc from 'fast-check';
import { expect, test } from 'vitest';
import type { PictureAge } from '../../src/metrics/metric.ts';
import { measurePictureAge } from '../../src/metrics/pictureAge.ts';
import { gatherPictures } from '../../src/metrics/presentedPictures.ts';
import { measureFacts } from '../../src/metrics/runFacts.ts';
import type { Run } from '../../src/observations/run.ts';
import { type MadeFrame, madeRun, madeSegment, standardThresholds, steadyFrames } from './madeRun.ts';

function measure(run: Run) {
	return measurePictureAge(gatherPictures(run), measureFacts(run), standardThresholds);
}

function measured(run: Run): PictureAge {
	const age = measure(run);
	if (age.kind === 'notMeasured') throw new Error(age.explanation);
	return age;
}

test('a steady link of 80 ms at 25/s has ages from 80 to 120 ms, evenly', () => {
	const segments = [madeSegment({ warmUpUntilMs: 2000, endMs: 62_000 })];
	const age = measured(madeRun({ frames: steadyFrames(1550, () => 80), segments }));
	expect(age.meanMs).toBeCloseTo(100, 9);
	expect(age.medianMs).toBeCloseTo(100, 9);
	expect(age.p95Ms).toBeCloseTo(118, 6);
	expect(age.maxMs).toBeCloseTo(120, 9);
	expect(age.shareOverLimitRatio).toBe(0);
	// The picture that stood when the minute began was replaced at that very instant.
	expect(age.count).toBe(1500);
});

test('the picture that stands when warm-up ends counts, with the age it has by then', () => {
	const segments = [madeSegment({ warmUpUntilMs: 1000, endMs: 2000 })];
	// Shown at 0, seen at 80; nothing more before 1500.
	const frames: MadeFrame[] = [
		{ shownMs: 0, delayMs: 80 },
		{ shownMs: 1400, delayMs: 100 },
	];
	const age = measured(madeRun({ frames, segments }));
	expect(age.meanMs).toBeCloseTo((1250 + 350) / 2, 9);
	expect(age.maxMs).toBe(1500);
	expect(age.count).toBe(2);
});

test('a freeze that lasts to the end counts to the end', () => {
	const frames = steadyFrames(1500, (i) => (i < 1250 ? 80 : null));
	const age = measured(madeRun({ frames }));
	// Picture 1249 was shown at 49,960 and stands to 60,000.
	expect(age.maxMs).toBe(10_040);
	expect(age.shareOverLimitRatio).toBeCloseTo((60_000 - 49_960 - 240) / 60_000, 9);
});

test('with nothing presented, age grows from the first frame shown and is anything but fine', () => {
	const segments = [madeSegment({ startMs: 0, warmUpUntilMs: 3000, endMs: 63_000 })];
	const frames = steadyFrames(1500, () => null).map((frame) => ({ ...frame, shownMs: frame.shownMs + 500 }));
	const age = measured(madeRun({ frames, segments }));
	expect(age).toMatchObject({ count: 0, maxMs: 62_500, shareOverLimitRatio: 1 });
	expect(age.meanMs).toBeCloseTo(32_500, 6);
	expect(age.overLimit.upperRatio).toBe(1);
});

test('a source that showed nothing at all is not a fresh picture either', () => {
	const age = measured(madeRun({ frames: [], segments: [madeSegment({ endMs: 60_000 })] }));
	expect(age.maxMs).toBe(60_000);
});

test('a frame that comes after a newer one changes nothing on the viewer', () => {
	const plain = steadyFrames(100, (i) => (i === 50 ? null : 80));
	const overtaken = plain.map((frame, i): MadeFrame => (i === 50 ? { ...frame, fate: 'overtaken' } : frame));
	const steppingBack = plain.map((frame, i): MadeFrame => (i === 50 ? { ...frame, delayMs: 200 } : frame));
	const truth = measured(madeRun({ frames: plain }));
	expect(measured(madeRun({ frames: overtaken }))).toEqual(truth);
	expect(measured(madeRun({ frames: steppingBack }))).toEqual(truth);
});

test('age is no younger for pictures seen only after the end', () => {
	const segments = [madeSegment({ endMs: 4000 })];
	const age = measured(
		madeRun({ frames: steadyFrames(100, (i) => (i < 50 ? 80 : 3000 - (i - 50) * 20)), segments }),
	);
	expect(age.maxMs).toBe(4000 - 49 * 40);
});

test('time between segments is no time, and the next one begins anew', () => {
	const again = steadyFrames(100, () => 80).map((f) => ({ ...f, shownMs: f.shownMs + 90_000, segment: 1 }));
	const segments = [
		madeSegment({ warmUpUntilMs: 1000, endMs: 4000, endedBy: 'viewerLeft' }),
		madeSegment({ segment: 1, startMs: 90_000, warmUpUntilMs: 91_000, endMs: 94_000 }),
	];
	const run = madeRun({ frames: [...steadyFrames(100, () => 80), ...again], segments });
	const age = measured(run);
	expect(age.maxMs).toBeCloseTo(120, 9);
	expect(age.overLimit.observedMs).toBeCloseTo(6000, 9);
});

test('age is never younger than the delay of the picture that stands, however pictures come', () => {
	const delays = fc.array(fc.integer({ min: 0, max: 600 }), { minLength: 31, maxLength: 60 });
	fc.assert(
		fc.property(delays, fc.integer({ min: 1, max: 500 }), (drawn, shiftMs) => {
			// The source goes on for as long as the shift, so that both runs are seen to their last picture.
			const segments = [madeSegment({ warmUpUntilMs: 1000, endMs: 8000 })];
			const later = [madeSegment({ startMs: shiftMs, warmUpUntilMs: 1000 + shiftMs, endMs: 8000 + shiftMs })];
			const before = measured(madeRun({ frames: steadyFrames(drawn.length, (i) => drawn[i]!), segments }));
			const after = measured(
				madeRun({ frames: steadyFrames(drawn.length, (i) => drawn[i]! + shiftMs), segments: later }),
			);
			for (const figure of ['meanMs', 'medianMs', 'p95Ms', 'maxMs'] as const)
				expect(after[figure]! - before[figure]!).toBeCloseTo(shiftMs, 6);
		}),
	);
});

test('a run that ends in its warm-up observed nothing', () => {
	const segments = [madeSegment({ warmUpUntilMs: 5000, endMs: 4000 })];
	expect(measure(madeRun({ frames: steadyFrames(100, () => 80), segments }))).toMatchObject({
		reason: 'nothingObserved',
	});
});

test('clocks that disagree by more than their bound spoil age too', () => {
	expect(measure(madeRun({ frames: steadyFrames(100, (i) => (i === 3 ? -5 : 80)) }))).toMatchObject({
		kind: 'notMeasured',
		reason: 'seenBeforeShown',
	});
});

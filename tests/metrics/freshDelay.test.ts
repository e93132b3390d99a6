import fc from 'fast-check';
import { expect, test } from 'vitest';
import { freshDelayCurve, measureFreshDelay } from '../../src/metrics/freshDelay.ts';
import type { FreshDelay } from '../../src/metrics/metric.ts';
import { pictureAgeCurve } from '../../src/metrics/pictureAge.ts';
import { gatherPictures } from '../../src/metrics/presentedPictures.ts';
import { measureFacts } from '../../src/metrics/runFacts.ts';
import type { Run } from '../../src/observations/run.ts';
import { meanLevel } from '../../src/statistics/levelCurve.ts';
import { createRandom } from '../../src/statistics/random.ts';
import {
	type MadeFrame,
	madeClock,
	madeRun,
	madeSegment,
	standardThresholds,
	steadyFrames,
} from './madeRun.ts';

function measure(run: Run) {
	return measureFreshDelay(gatherPictures(run), measureFacts(run), standardThresholds);
}

function measured(run: Run): FreshDelay {
	const delay = measure(run);
	if (delay.kind === 'notMeasured') throw new Error(delay.explanation);
	return delay;
}

test('pictures that all take 80 ms have every figure at 80 ms and no random doubt', () => {
	const delay = measured(madeRun({ frames: steadyFrames(1500, () => 80) }));
	expect(delay).toMatchObject({ meanMs: 80, minMs: 80, medianMs: 80, p95Ms: 80, maxMs: 80, count: 1500 });
	expect(delay.p95UpperMs).toBeCloseTo(80, 5);
	expect(delay.uncertaintyMs).toBe(0);
	expect(delay.overLimit.shareRatio).toBe(0);
	expect(delay.overLimit.upperRatio).toBeLessThan(0.05);
});

test('a picture after a gap weighs as much as the content it stands for', () => {
	// 40 pictures at 100 ms, ten lost, one at 320 ms that stands for eleven periods, seven lost, 42 at 100 ms.
	const frames = steadyFrames(100, (i) => (i === 50 ? 320 : i >= 40 && i < 58 ? null : 100));
	const delay = measured(madeRun({ frames }));
	expect(delay.meanMs).toBeCloseTo((89 * 100 + 11 * 320) / 100, 9);
	expect(delay.overLimit.shareRatio).toBeCloseTo(0.11, 12);
	expect(delay.overHalfSecond.shareRatio).toBe(0);
	expect(delay.count).toBe(83);
});

test('content from before the end of warm-up weighs one source period at most', () => {
	const frames = steadyFrames(100, (i) => (i === 50 ? 300 : i > 10 && i < 58 ? null : 100));
	const delay = measured(madeRun({ frames, segments: [madeSegment({ endMs: 4000, warmUpUntilMs: 2000 })] }));
	expect(delay.meanMs).toBeCloseTo((300 + 49 * 100) / 50, 9);
	expect(delay.count).toBe(43);
});

test('warm-up pictures and pictures shown after the end are in no figure', () => {
	const frames = steadyFrames(200, (i) => (i < 50 || i >= 150 ? 900 : 100));
	const segments = [madeSegment({ endMs: 6000, warmUpUntilMs: 2000 })];
	expect(measured(madeRun({ frames, segments })).maxMs).toBe(100);
});

test('a picture seen only after the segment ended still has its delay', () => {
	const frames = steadyFrames(100, (i) => (i === 99 ? 700 : 100));
	expect(measured(madeRun({ frames })).maxMs).toBeCloseTo(700, 9);
});

/** Pictures with positive content gaps and in the order shown, whatever their delays. */
const randomPictures = fc
	.array(fc.record({ gapMs: fc.integer({ min: 1, max: 300 }), delayMs: fc.integer({ min: 0, max: 400 }) }), {
		minLength: 31,
		maxLength: 80,
	})
	.map((drawn) => {
		let shownMs = 0;
		let seenMs = 0;
		return drawn.map(({ gapMs, delayMs }): MadeFrame => {
			shownMs += gapMs;
			seenMs = Math.max(seenMs, shownMs + delayMs);
			return { shownMs, delayMs: seenMs - shownMs };
		});
	});

test('mean age less the gap term is the content-weighted mean delay, whatever is late or lost', () => {
	fc.assert(
		fc.property(randomPictures, (frames) => {
			const first = frames[0]!;
			const last = frames.at(-1)!;
			// From the first picture's appearance to the last one's the area of age can be cut both ways (A1).
			const segment = madeSegment({
				startMs: first.shownMs - 40,
				warmUpUntilMs: first.shownMs + 0.5,
				endMs: last.shownMs + 0.5,
			});
			const [pictures] = gatherPictures(madeRun({ frames, segments: [segment] }));
			const seenFirstMs = first.shownMs + first.delayMs!;
			const seenLastMs = last.shownMs + last.delayMs!;
			if (!(seenLastMs > seenFirstMs)) return;
			const age = pictureAgeCurve([{ ...pictures!, fromMs: seenFirstMs, endMs: seenLastMs }]);
			const delay = freshDelayCurve([{ ...pictures!, fromMs: first.shownMs }]);
			const gapSquares = delay.lengthsMs.reduce((sum, gap) => sum + gap * gap, 0);
			// The two cuts differ by the triangles at the ends.
			const ends = (last.delayMs! ** 2 - first.delayMs! ** 2) / 2;
			const area = meanLevel(age) * age.totalMs - ends;
			expect(area / delay.totalMs - gapSquares / (2 * delay.totalMs)).toBeCloseTo(meanLevel(delay), 9);
		}),
	);
});

test('with 5 % of pictures lost, mean age less half the mean hold is wrong by more than 0.7 ms', () => {
	const random = createRandom(5);
	const periodMs = 1000 / 30;
	const frames = steadyFrames(36_000, () => (random.next() < 0.05 ? null : 100), periodMs);
	const segments = [madeSegment({ warmUpUntilMs: 1000, endMs: 36_000 * periodMs })];
	const pictures = gatherPictures(madeRun({ frames, segments }));
	const age = pictureAgeCurve(pictures);
	const delay = freshDelayCurve(pictures);
	const meanHoldMs = age.totalMs / age.count;
	const byHold = meanLevel(age) - meanHoldMs / 2;
	const byContent =
		meanLevel(age) - delay.lengthsMs.reduce((sum, gap) => sum + gap * gap, 0) / (2 * delay.totalMs);
	expect(meanLevel(delay)).toBeCloseTo(100, 9);
	expect(Math.abs(byContent - 100)).toBeLessThan(0.3);
	expect(byHold - 100).toBeGreaterThan(0.7);
});

test('a constant added to every delay is added to every figure', () => {
	fc.assert(
		fc.property(randomPictures, fc.integer({ min: 1, max: 1000 }), (frames, shiftMs) => {
			const later = frames.map((frame) => ({ ...frame, delayMs: frame.delayMs! + shiftMs }));
			const before = measured(madeRun({ frames }));
			const after = measured(madeRun({ frames: later }));
			for (const figure of ['meanMs', 'minMs', 'medianMs', 'p95Ms', 'maxMs'] as const)
				expect(after[figure]! - before[figure]!).toBeCloseTo(shiftMs, 8);
			expect(after.uncertaintyMs).toBeCloseTo(before.uncertaintyMs, 8);
		}),
	);
});

test('least, median, P95 and greatest come in this order', () => {
	fc.assert(
		fc.property(randomPictures, (frames) => {
			const { minMs, medianMs, p95Ms, maxMs, meanMs } = measured(madeRun({ frames }));
			expect(minMs).toBeLessThanOrEqual(medianMs!);
			expect(medianMs).toBeLessThanOrEqual(p95Ms!);
			expect(p95Ms).toBeLessThanOrEqual(maxMs);
			expect(meanMs).toBeLessThanOrEqual(maxMs + 1e-9);
			expect(meanMs).toBeGreaterThanOrEqual(minMs - 1e-9);
		}),
	);
});

test('nothing presented is no delay, and never a fine one', () => {
	expect(measure(madeRun({ frames: steadyFrames(1000, () => null) }))).toMatchObject({
		kind: 'notMeasured',
		reason: 'nothingPresented',
	});
});

test('twenty-nine pictures are too few, thirty are enough', () => {
	expect(measure(madeRun({ frames: steadyFrames(29, () => 80) }))).toMatchObject({
		reason: 'tooFewPictures',
	});
	expect(measure(madeRun({ frames: steadyFrames(30, () => 80) }))).toMatchObject({ kind: 'measured' });
});

test('one picture seen before it was shown, by more than the clocks may disagree, spoils the run', () => {
	const withOne = (delayMs: number) =>
		measure(
			madeRun({
				frames: steadyFrames(400, (i) => (i === 200 ? delayMs : 80)),
				segments: [madeSegment({ endMs: 16_000, clock: madeClock(2) })],
			}),
		);
	expect(withOne(-1.5)).toMatchObject({ kind: 'measured', minMs: -1.5 });
	expect(withOne(-2.5)).toMatchObject({ kind: 'notMeasured', reason: 'seenBeforeShown' });
});

test('a clock that may be off by 6 ms adds its doubt to the mean, and raises the bound of the P95', () => {
	const frames = steadyFrames(1500, () => 80);
	const clock = {
		name: 'clock',
		halfWidthMs: 6,
		shape: 'rectangular' as const,
		source: 'half the least round trip',
	};
	const delay = measured(madeRun({ frames, systematics: [clock] }));
	expect(delay.uncertaintyMs).toBeCloseTo((2 * 6) / Math.sqrt(3), 9);
	expect(delay.p95UpperMs).toBeGreaterThan(80 + (1.6 * 6) / Math.sqrt(3));
	expect(delay.p95UpperMs).toBeLessThan(80 + (1.7 * 6) / Math.sqrt(3));
});

test('a one-sided way to the glass moves the limit by its middle, and the reading not at all', () => {
	const frames = steadyFrames(1500, () => 190);
	const glass = {
		name: 'way to the glass',
		halfWidthMs: 16,
		shape: 'oneSided' as const,
		source: 'two display periods',
	};
	const delay = measured(madeRun({ frames, systematics: [glass] }));
	expect(delay.medianMs).toBeCloseTo(190, 9);
	expect(delay.overLimit).toMatchObject({ shareRatio: 0, centralShareRatio: 1, shareIfReadLowRatio: 1 });
	expect(delay.overLimit.shareIfReadHighRatio).toBe(0);
	expect(delay.uncertaintyMs).toBeCloseTo(2 * Math.hypot(16, 16 / Math.sqrt(3)), 9);
});

test('two segments add up, and the break between them weighs nothing', () => {
	const first = steadyFrames(100, () => 60);
	const second = steadyFrames(300, () => 100).map((f) => ({
		...f,
		shownMs: f.shownMs + 60_000,
		segment: 1,
	}));
	const delay = measured(
		madeRun({
			frames: [...first, ...second],
			segments: [
				madeSegment({ endMs: 4000, endedBy: 'viewerLeft' }),
				madeSegment({ segment: 1, startMs: 60_000, warmUpUntilMs: 60_000, endMs: 72_000 }),
			],
		}),
	);
	expect(delay.meanMs).toBeCloseTo(90, 9);
	expect(delay.count).toBe(400);
});

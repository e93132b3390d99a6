import { expect, test } from 'vitest';
import { measureHarness } from '../../src/metrics/harnessHealth.ts';
import type { HarnessHealth } from '../../src/metrics/metric.ts';
import { gatherSent } from '../../src/metrics/sentFrames.ts';
import type { Run } from '../../src/observations/run.ts';
import {
	type MadeFrame,
	madeClock,
	madeRun,
	madeSegment,
	standardThresholds,
	steadyFrames,
} from './madeRun.ts';

function measured(run: Run): HarnessHealth {
	const harness = measureHarness(run, gatherSent(run), standardThresholds);
	if (harness.kind === 'notMeasured') throw new Error(harness.explanation);
	return harness;
}

/** Frames shown that much after they were due; due each 40 ms. */
function lateFrames(count: number, latenessMs: (i: number) => number): MadeFrame[] {
	return Array.from({ length: count }, (_, i) => ({
		dueMs: i * 40,
		shownMs: i * 40 + latenessMs(i),
		delayMs: 80,
	}));
}

const minute = [madeSegment({ endMs: 60_000 })];

test('a source that keeps its time uses up no line’s room', () => {
	const harness = measured(madeRun({ frames: lateFrames(1500, () => 0.4), segments: minute }));
	expect(harness.lateSharePerLine).toEqual({ age: 0, delay: 0, rate: 0, gaps: 0 });
	expect(harness.latenessMaxMs).toBeCloseTo(0.4, 6);
	expect(harness).toMatchObject({ busyMedianRatio: null, busyMaxRatio: null, clockBoundMs: null });
});

test('lateness comes as median, P95 and greatest', () => {
	const harness = measured(
		madeRun({ frames: lateFrames(1500, (i) => (i % 10 === 0 ? 20 : 1)), segments: minute }),
	);
	expect(harness.latenessMedianMs).toBeCloseTo(1, 9);
	expect(harness.latenessP95Ms).toBeCloseTo(20, 9);
	expect(harness.latenessMaxMs).toBeCloseTo(20, 9);
});

test('a source that stands still for 2 s spends it on every line', () => {
	// Nothing shown from 20,000 to 22,000; the frames due then were never shown.
	const frames = lateFrames(1500, () => 0).filter(({ shownMs }) => shownMs <= 20_000 || shownMs >= 22_000);
	const { age, delay, rate, gaps } = measured(madeRun({ frames, segments: minute })).lateSharePerLine;
	expect(age).toBeCloseTo((2000 - 240) / 60_000, 9);
	expect(gaps).toBeCloseTo(2000 / 60_000, 9);
	expect(rate).toBeCloseTo(2 / 60, 9);
	expect(delay).toBe(0);
});

test('frames that the source itself shows 250 ms late count against age and delay', () => {
	const frames = lateFrames(1500, (i) => (i >= 500 && i < 650 ? 250 : 0)).filter(
		(_, i) => i < 650 || i > 656,
	);
	const { age, delay } = measured(madeRun({ frames, segments: minute })).lateSharePerLine;
	expect(age).toBeGreaterThan(0.09);
	expect(delay).toBeCloseTo(0.1, 2);
});

test('a source that sends nothing at the start or the end is out for that time', () => {
	const frames = lateFrames(1500, () => 0).filter(({ shownMs }) => shownMs >= 3000 && shownMs <= 54_000);
	expect(measured(madeRun({ frames, segments: minute })).lateSharePerLine.gaps).toBeCloseTo(9000 / 60_000, 9);
});

test('busy shares are taken where the machine tells them, and the clock’s worst bound is told', () => {
	const sample = (busyRatio: number | null) => ({ atMs: 0, busyRatio, loopDelayMs: null, encodeMs: null });
	const segments = [
		madeSegment({ endMs: 20_000, clock: madeClock(0.8) }),
		madeSegment({ segment: 1, startMs: 30_000, warmUpUntilMs: 30_000, endMs: 40_000, clock: madeClock(2.5) }),
	];
	const harness = [sample(0.2), sample(null), sample(0.9), sample(0.3)];
	expect(measured(madeRun({ frames: steadyFrames(500, () => 80), segments, harness }))).toMatchObject({
		busyMedianRatio: 0.3,
		busyMaxRatio: 0.9,
		clockBoundMs: 2.5,
	});
});

test('a source that showed nothing has no health to tell', () => {
	const run = madeRun({ frames: [], segments: minute });
	expect(measureHarness(run, gatherSent(run), standardThresholds)).toMatchObject({ reason: 'nothingSent' });
});

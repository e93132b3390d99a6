import { expect, test } from 'vitest';
import { measureRun } from '../../src/metrics/measureRun.ts';
import { laterBy } from '../../src/observations/laterBy.ts';
import { madeRun, standardThresholds, steadyFrames } from '../metrics/madeRun.ts';

const figures = (run: ReturnType<typeof madeRun>) => {
	const { freshDelay, pictureAge, gaps } = measureRun(run, standardThresholds);
	if (freshDelay.kind === 'notMeasured' || pictureAge.kind === 'notMeasured' || gaps.kind === 'notMeasured')
		throw new Error('not measured');
	return { freshDelay, pictureAge, gaps };
};

test('every picture is as much older as it comes later; gaps stay what they were', () => {
	const run = madeRun({ frames: steadyFrames(900, (i) => (i % 100 > 80 ? null : 50 + (i % 3))) });
	const [before, after] = [figures(run), figures(laterBy(run, 120))];
	expect(after.freshDelay.medianMs! - before.freshDelay.medianMs!).toBeCloseTo(120, 9);
	expect(after.pictureAge.p95Ms! - before.pictureAge.p95Ms!).toBeCloseTo(120, 0);
	expect(after.pictureAge.maxMs - before.pictureAge.maxMs).toBeCloseTo(120, 9);
	expect(after.gaps.longestMs).toBeCloseTo(before.gaps.longestMs, 9);
	expect(after.gaps.over500.count).toBe(before.gaps.over500.count);
});

test('the ages of filmed frames grow too, and the run given stays as it was', () => {
	const row = [500, 140, 5, 33] as [number, number, number, number];
	const run = madeRun({
		frames: steadyFrames(100, () => 50),
		ageSamples: [{ segment: 0, pictures: 'coarse', gapTermMs: 17, rows: [row] }],
	});
	expect(laterBy(run, 40).ageSamples[0]!.rows[0]).toEqual([500, 180, 5, 33]);
	expect(run.ageSamples[0]!.rows[0]).toEqual([500, 140, 5, 33]);
	expect(run.frames.at(3).shownMs).toBe(120);
});

test('pictures that come sooner are refused', () => {
	const run = madeRun({ frames: steadyFrames(100, () => 50) });
	for (const ms of [-1, Number.NaN, Number.POSITIVE_INFINITY])
		expect(() => laterBy(run, ms)).toThrow(RangeError);
});

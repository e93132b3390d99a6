import { expect, test } from 'vitest';
import { measureRun } from '../../src/metrics/measureRun.ts';
import type { FreshDelay, PictureAge } from '../../src/metrics/metric.ts';
import { measureSeries } from '../../src/metrics/series.ts';
import { createRandom } from '../../src/statistics/random.ts';
import { madeRun, madeSegment, standardThresholds, steadyFrames } from './madeRun.ts';

test('no extreme is hidden: the bins’ greatest delay and age are the run’s, the least likewise', () => {
	const random = createRandom(21);
	const frames = steadyFrames(3000, (i) =>
		i === 1701 ? 700 : random.next() < 0.03 ? null : 80 + 30 * random.next(),
	);
	const run = madeRun({ frames, segments: [madeSegment({ warmUpUntilMs: 2000, endMs: 120_000 })] });
	const { bins } = measureSeries(run, 37);
	const metrics = measureRun(run, standardThresholds);
	const delay = metrics.freshDelay as unknown as FreshDelay;
	const age = metrics.pictureAge as unknown as PictureAge;
	expect(Math.max(...bins.flatMap(({ delayMs }) => delayMs?.max ?? []))).toBeCloseTo(delay.maxMs, 9);
	expect(Math.min(...bins.flatMap(({ delayMs }) => delayMs?.min ?? []))).toBeCloseTo(delay.minMs, 9);
	expect(Math.max(...bins.flatMap(({ ageMs }) => ageMs?.max ?? []))).toBeCloseTo(age.maxMs, 9);
	expect(bins).toHaveLength(37);
	expect(bins.at(-1)!.toMs).toBeCloseTo(120_000, 6);
});

test('age grows through every bin of a freeze, and the bins without a picture have no delay', () => {
	const run = madeRun({ frames: steadyFrames(500, (i) => (i >= 250 && i < 375 ? null : 80)) });
	const { bins } = measureSeries(run, 20);
	const frozen = bins[12]!;
	// Picture 249 was shown at 9,960.
	expect(frozen).toMatchObject({
		fromMs: 12_000,
		delayMs: null,
		ageMs: { min: 2040, max: 3040 },
		notPresented: 25,
	});
	expect(bins.reduce((sum, { notPresented }) => sum + notPresented, 0)).toBe(125);
});

test('bins of warm-up and of a break between segments are empty', () => {
	const again = steadyFrames(250, () => 80).map((f) => ({ ...f, shownMs: f.shownMs + 30_000, segment: 1 }));
	const segments = [
		madeSegment({ warmUpUntilMs: 2000, endMs: 10_000 }),
		madeSegment({ segment: 1, startMs: 30_000, warmUpUntilMs: 30_000, endMs: 40_000 }),
	];
	const { bins } = measureSeries(
		madeRun({ frames: [...steadyFrames(250, () => 80), ...again], segments }),
		40,
	);
	expect(bins[0]).toMatchObject({ delayMs: null, ageMs: null, notPresented: 0 });
	expect(bins[20]).toMatchObject({ delayMs: null, ageMs: null });
	expect(bins[5]!.delayMs).not.toBeNull();
	expect(bins[35]!.delayMs).not.toBeNull();
});

test('the classes hold all content, each delay in its own', () => {
	const run = madeRun({ frames: steadyFrames(1000, (i) => (i === 999 ? 2000 : i % 2 === 0 ? 85 : 95)) });
	const { delayClasses } = measureSeries(run, 10);
	expect(delayClasses.reduce((sum, { shareRatio }) => sum + shareRatio, 0)).toBeCloseTo(1, 9);
	expect(delayClasses.find(({ fromMs }) => fromMs === 80)!.shareRatio).toBeCloseTo(0.5, 9);
	expect(delayClasses.find(({ fromMs }) => fromMs === 90)!.shareRatio).toBeCloseTo(0.499, 9);
	expect(delayClasses.at(-1)).toMatchObject({ fromMs: 600, toMs: 2000 });
	expect(delayClasses.at(-1)!.shareRatio).toBeCloseTo(0.001, 9);
});

test('nothing presented has bins of growing age and no classes', () => {
	const series = measureSeries(madeRun({ frames: steadyFrames(500, () => null) }), 4);
	expect(series.delayClasses).toEqual([]);
	expect(series.bins.map(({ ageMs }) => ageMs!.max)).toEqual([5000, 10_000, 15_000, 20_000]);
});

test('a series needs at least one bin', () => {
	const run = madeRun({ frames: steadyFrames(50, () => 80) });
	expect(() => measureSeries(run, 0)).toThrow(RangeError);
	expect(() => measureSeries(run, 1.5)).toThrow(RangeError);
});

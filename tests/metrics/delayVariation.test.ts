import { expect, test } from 'vitest';
import { measureDelayVariation } from '../../src/metrics/delayVariation.ts';
import type { DelayVariation, Metric } from '../../src/metrics/metric.ts';
import { gatherPictures } from '../../src/metrics/presentedPictures.ts';
import { measureFacts } from '../../src/metrics/runFacts.ts';
import type { Run } from '../../src/observations/run.ts';
import { createRandom } from '../../src/statistics/random.ts';
import { jitterExample, variationExample } from '../vectors/metricsTiming.ts';
import { type MadeFrame, madeRun, madeSegment, sourceAt, steadyFrames } from './madeRun.ts';

function measure(run: Run): Metric<DelayVariation> {
	return measureDelayVariation(gatherPictures(run), measureFacts(run));
}

function measured(run: Run): DelayVariation {
	const variation = measure(run);
	if (variation.kind === 'notMeasured') throw new Error(variation.explanation);
	return variation;
}

test('delays that all agree vary by nothing, and the bound says so', () => {
	const variation = measured(madeRun({ frames: steadyFrames(1500, () => 80) }));
	expect(variation).toMatchObject({
		spreadMs: 0,
		pdvMaxMs: 0,
		ipdvP95Ms: 0,
		interarrivalJitterMaxMs: 0,
		steps: [],
	});
	expect(variation.spreadUpperMs).toBeCloseTo(0, 4);
	expect(variation.spreadLowerMs).toBeCloseTo(0, 4);
});

test('the bounds hold the spread of evenly spread delays, 0.9 of their range', () => {
	const random = createRandom(3);
	const frames = steadyFrames(7500, () => 100 + 30 * random.next());
	const { spreadMs, spreadLowerMs, spreadUpperMs } = measured(madeRun({ frames }));
	expect(spreadMs).toBeCloseTo(27, 0);
	expect(spreadLowerMs).toBeLessThan(27);
	expect(spreadUpperMs).toBeGreaterThan(27);
	expect(spreadUpperMs! - spreadLowerMs!).toBeLessThan(3);
});

test('systematics of the rig move both ends alike and leave the spread as it is', () => {
	const frames = steadyFrames(1500, (i) => 80 + (i % 7));
	const shared = { name: 'clock', halfWidthMs: 20, shape: 'oneSided' as const, source: 'made' };
	expect(measured(madeRun({ frames, systematics: [shared] }))).toEqual(measured(madeRun({ frames })));
});

test('ninety-nine pictures at 2 ms and one at 40: P95 of PDV is nothing, its greatest is 38', () => {
	const variation = measured(madeRun({ frames: steadyFrames(100, (i) => (i === 99 ? 40 : 2)) }));
	expect(variation).toMatchObject({ pdvMedianMs: 0, pdvP95Ms: 0, pdvMaxMs: 38, ipdvMedianMs: 0 });
});

test('the worked series of RFC 3393 and RFC 5481 repeats itself in a longer one', () => {
	const { timestampsMs, arrivalsMs } = jitterExample;
	const transits = arrivalsMs.map((arrival, i) => arrival - timestampsMs[i]!);
	// Far enough apart in time that none overtakes another; six times over makes 36 pictures.
	const frames = steadyFrames(36, (i) => transits[i % 6]!);
	const variation = measured(madeRun({ frames }));
	expect(variation.pdvMaxMs).toBe(Math.max(...variationExample.pdvMs));
	const sizes = [...Array(6).fill(variationExample.ipdvMs).flat(), ...Array(5).fill(33)].map(Math.abs);
	sizes.sort((a, b) => a - b);
	expect(variation.ipdvMedianMs).toBe(sizes[(sizes.length - 1) / 2]);
});

test('jitter begins anew in a new segment; a jump across the break is nobody’s', () => {
	const again = steadyFrames(50, () => 300).map((f) => ({ ...f, shownMs: f.shownMs + 60_000, segment: 1 }));
	const segments = [
		madeSegment({ endMs: 2000 }),
		madeSegment({ segment: 1, startMs: 60_000, warmUpUntilMs: 60_000, endMs: 62_000 }),
	];
	const variation = measured(madeRun({ frames: [...steadyFrames(50, () => 80), ...again], segments }));
	expect(variation).toMatchObject({ interarrivalJitterMs: 0, interarrivalJitterMaxMs: 0, ipdvP95Ms: 0 });
	expect(variation.steps).toEqual([]);
});

test('a level that rises by 80 ms and stays is one step, timed to a second', () => {
	const { steps } = measured(madeRun({ frames: steadyFrames(500, (i) => (i < 250 ? 80 : 160)) }));
	expect(steps).toHaveLength(1);
	expect(steps[0]).toMatchObject({ fromMs: 80, toMs: 160 });
	expect(Math.abs(steps[0]!.atMs - 10_160)).toBeLessThanOrEqual(1000);
});

test('there and back again are two steps', () => {
	const { steps } = measured(madeRun({ frames: steadyFrames(750, (i) => (i >= 250 && i < 500 ? 160 : 80)) }));
	expect(steps.map(({ fromMs, toMs }) => toMs - fromMs)).toEqual([80, -80]);
});

test.each([
	['a rise of 45 ms', (i: number) => (i < 250 ? 80 : 125)],
	['a spell of under a second', (i: number) => (i >= 250 && i < 270 ? 200 : 80)],
	['a drift of 10 ms a second', (i: number) => 80 + (i * 10) / 25],
])('%s is no step', (_, delayMs) => {
	expect(measured(madeRun({ frames: steadyFrames(500, delayMs) })).steps).toEqual([]);
});

test('pictures none of which has a neighbour say nothing of unevenness', () => {
	const frames = Array.from(
		{ length: 40 },
		(_, i): MadeFrame => ({
			shownMs: i * 10_000,
			delayMs: 80,
			segment: i,
		}),
	);
	const segments = frames.map(({ shownMs }, i) =>
		madeSegment({ segment: i, startMs: shownMs, warmUpUntilMs: shownMs, endMs: shownMs + 1000 }),
	);
	expect(measure(madeRun({ frames, segments, header: { source: sourceAt(25) } }))).toMatchObject({
		reason: 'noNeighbours',
	});
});

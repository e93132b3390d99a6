import { expect, test } from 'vitest';
import { measureGaps } from '../../src/metrics/gaps.ts';
import type { Gaps } from '../../src/metrics/metric.ts';
import { gatherPictures } from '../../src/metrics/presentedPictures.ts';
import { measureFacts } from '../../src/metrics/runFacts.ts';
import type { Run } from '../../src/observations/run.ts';
import { madeRun, madeSegment, steadyFrames } from './madeRun.ts';

function measured(run: Run): Gaps {
	const gaps = measureGaps(gatherPictures(run), measureFacts(run).observedMs);
	if (gaps.kind === 'notMeasured') throw new Error(gaps.explanation);
	return gaps;
}

test('200 ms between two pictures is no gap over 200 ms, one more lost picture makes it one', () => {
	const losing = (count: number) =>
		measured(madeRun({ frames: steadyFrames(500, (i) => (i >= 50 && i < 50 + count ? null : 80)) }));
	expect(losing(4)).toMatchObject({ over200: { count: 0 }, longestMs: 200 });
	expect(losing(5)).toMatchObject({ over200: { count: 1 }, over500: { count: 0 }, longestMs: 240 });
	expect(losing(12)).toMatchObject({ over200: { count: 1 }, over500: { count: 1 }, longestMs: 520 });
});

test('late pictures make a gap without one being lost', () => {
	// Pictures 100 to 112 are held for 560 ms and come at once.
	const frames = steadyFrames(500, (i) => (i >= 100 && i < 113 ? 80 + (113 - i) * 40 : 80));
	expect(measured(madeRun({ frames }))).toMatchObject({ over500: { count: 1 }, longestMs: 560 });
});

test('gaps at the start and at the end of the run count', () => {
	const segments = [madeSegment({ warmUpUntilMs: 1000, endMs: 20_000 })];
	const run = madeRun({ frames: steadyFrames(500, (i) => (i < 40 || i >= 480 ? null : 80)), segments });
	// The first picture came at 1,680, the source had begun at 0; the last one came at 19,240.
	expect(measured(run)).toMatchObject({ over500: { count: 2 }, longestMs: 1680 });
});

test('a break between segments is no gap', () => {
	const again = steadyFrames(100, () => 80).map((f) => ({ ...f, shownMs: f.shownMs + 90_000, segment: 1 }));
	const segments = [
		madeSegment({ warmUpUntilMs: 1000, endMs: 4000 }),
		madeSegment({ segment: 1, startMs: 90_000, warmUpUntilMs: 91_000, endMs: 94_000 }),
	];
	const gaps = measured(madeRun({ frames: [...steadyFrames(100, () => 80), ...again], segments }));
	expect(gaps).toMatchObject({ over200: { count: 0, observedMs: 6000 }, longestMs: 40 });
});

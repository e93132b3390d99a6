import { expect, test } from 'vitest';
import { measureFreezes } from '../../src/metrics/freezes.ts';
import type { Freezes } from '../../src/metrics/metric.ts';
import { gatherPictures } from '../../src/metrics/presentedPictures.ts';
import { measureFacts } from '../../src/metrics/runFacts.ts';
import type { Run } from '../../src/observations/run.ts';
import { freezesWithoutCurrent, libwebrtcFreezes, steadyFreezeLimits } from '../vectors/metricsTiming.ts';
import { type MadeFrame, madeRun, madeSegment, sourceAt, steadyFrames } from './madeRun.ts';

function measured(run: Run): Freezes {
	const freezes = measureFreezes(gatherPictures(run), measureFacts(run).observedMs);
	if (freezes.kind === 'notMeasured') throw new Error(freezes.explanation);
	return freezes;
}

/** Forty intervals of the usual length, one other, and again forty usual ones. */
function oneInterval(usualMs: number, intervalMs: number): Run {
	const frames = Array.from(
		{ length: 82 },
		(_, i): MadeFrame => ({
			shownMs: i <= 40 ? i * usualMs : 40 * usualMs + intervalMs + (i - 41) * usualMs,
			delayMs: 50,
		}),
	);
	const header = { source: sourceAt(1000 / usualMs) };
	return madeRun({ frames, header });
}

test.each(steadyFreezeLimits)(
	'at $rateHz/s, $limitMs ms without a new picture is a freeze',
	({ rateHz, limitMs }) => {
		expect(measured(oneInterval(1000 / rateHz, limitMs + 0.05)).freezes.count).toBe(1);
		expect(measured(oneInterval(1000 / rateHz, limitMs - 0.05)).freezes.count).toBe(0);
	},
);

test.each(libwebrtcFreezes)('$intervalMs ms among $usualMs ms freezes by the average before it', (vector) => {
	// All four lie over the limits of the declared rule, also the two that are no freeze where the interval itself is averaged.
	expect(measured(oneInterval(vector.usualMs, vector.intervalMs)).freezes.count).toBe(1);
});

test.each(freezesWithoutCurrent)(
	'among $usualMs ms the limit is exactly $limitMs ms',
	({ usualMs, limitMs }) => {
		expect(measured(oneInterval(usualMs, limitMs)).freezes.count).toBe(1);
		expect(measured(oneInterval(usualMs, limitMs - 1)).freezes.count).toBe(0);
	},
);

test('a freeze that is still open at the end counts, and so does the pause it has become', () => {
	const open = (lostFrom: number) =>
		measured(madeRun({ frames: steadyFrames(500, (i) => (i < lostFrom ? 80 : null)) }));
	expect(open(495)).toMatchObject({ freezes: { count: 0 }, pauses: { count: 0 } });
	expect(open(490)).toMatchObject({ freezes: { count: 1 }, pauses: { count: 0 } });
	const paused = open(300);
	expect(paused).toMatchObject({ freezes: { count: 1 }, pauses: { count: 1 } });
	// Picture 299 was seen at 12,040; the run ended at 20,000.
	expect(paused.longestFreezeMs).toBe(7960);
	expect(paused.totalFreezeMs).toBe(7960);
});

test('with nothing presented the whole run is one freeze and one pause', () => {
	const freezes = measured(madeRun({ frames: steadyFrames(500, () => null) }));
	expect(freezes).toMatchObject({ freezes: { count: 1 }, pauses: { count: 1 }, longestFreezeMs: 20_000 });
});

test('a freeze over the end of warm-up counts with all its length; one wholly before does not count', () => {
	const segments = [madeSegment({ warmUpUntilMs: 10_000, endMs: 20_000 })];
	const lostBetween = (from: number, until: number) =>
		measured(madeRun({ frames: steadyFrames(500, (i) => (i >= from && i < until ? null : 80)), segments }));
	expect(lostBetween(100, 200).freezes.count).toBe(0);
	expect(lostBetween(225, 274)).toMatchObject({ freezes: { count: 1 }, longestFreezeMs: 2000 });
});

test('a slow link freezes later: the average follows what it usually does', () => {
	// 10/s: the limit is 300 ms, so losing one picture in between (200 ms) is no freeze, and two (300 ms) is one.
	const losing = (count: number) =>
		measured(
			madeRun({
				frames: steadyFrames(100, (i) => (i >= 50 && i < 50 + count ? null : 80), 100),
				header: { source: sourceAt(10) },
			}),
		).freezes.count;
	expect(losing(1)).toBe(0);
	expect(losing(2)).toBe(1);
});

test('none in ten minutes still leaves room for 0.3 a minute', () => {
	const { freezes } = measured(madeRun({ frames: steadyFrames(15_000, () => 80) }));
	expect(freezes.perMin).toBe(0);
	expect(freezes.upperPerMin).toBeCloseTo(0.2996, 4);
	expect(freezes.lowerPerMin).toBe(0);
});

test('the last 30 intervals are averaged, no more', () => {
	// 200 ms usual for long, then thirty of 20 ms: 175 ms is a freeze only if the slow ones are forgotten.
	const intervals = [...Array(60).fill(200), ...Array(30).fill(20), 175, ...Array(10).fill(20)] as number[];
	let shownMs = 0;
	const frames = [0, ...intervals].map((interval): MadeFrame => {
		shownMs += interval;
		return { shownMs, delayMs: 50 };
	});
	expect(measured(madeRun({ frames, header: { source: sourceAt(5) } })).freezes.count).toBe(1);
});

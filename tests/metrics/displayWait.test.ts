/**
 * A display that beats slowly with the source: the wait drifts through one refresh period in five minutes. That must neither hide
 * a link that is far from every limit, nor help one that is near it or that is slow by itself.
 */
import { expect, test } from 'vitest';
import { measureRun } from '../../src/metrics/measureRun.ts';
import type { FreshDelay } from '../../src/metrics/metric.ts';
import { type MadeFrame, madeRun, madeSegment, sourceAt, standardThresholds } from './madeRun.ts';

const PERIOD_MS = 1000 / 60;
const SOURCE_MS = 1000 / 30;
const RUN_MS = 310_000;

/** `slowMs`: a slow swing of the link's own on top of the beat, once in 150 s. */
function beating(linkMs: number, slowMs = 0): FreshDelay {
	const frames: MadeFrame[] = Array.from({ length: Math.floor(RUN_MS / SOURCE_MS) }, (_, i) => {
		const shownMs = i * SOURCE_MS;
		const waitMs = (PERIOD_MS * shownMs) / RUN_MS;
		const swingMs = (slowMs * (1 + Math.sin((2 * Math.PI * shownMs) / 150_000))) / 2;
		return { shownMs, delayMs: linkMs + waitMs + swingMs };
	});
	const metrics = measureRun(
		madeRun({
			frames,
			segments: [madeSegment({ warmUpUntilMs: 0, endMs: RUN_MS })],
			header: { source: sourceAt(30), displayPeriodMs: PERIOD_MS },
		}),
		standardThresholds,
	);
	if (metrics.freshDelay.kind !== 'measured') throw new Error(metrics.freshDelay.explanation);
	return metrics.freshDelay;
}

test('a quick link on a display that beats slowly is bounded far below the limit', () => {
	const { overLimit, p95UpperMs } = beating(20);
	expect(overLimit.noBoundReason).toBeNull();
	expect(overLimit.upperRatio).toBeLessThan(0.05);
	// The bound lies no nearer than one period beyond the median: the beat itself is not taken for a sharp figure.
	expect(p95UpperMs).toBeGreaterThanOrEqual(20 + PERIOD_MS / 2 + PERIOD_MS - 0.01);
	expect(p95UpperMs).toBeLessThan(20 + 3 * PERIOD_MS);
});

test('a link whose beat reaches over the limit gets no bound from it', () => {
	const { overLimit } = beating(185);
	expect(overLimit.shareRatio).toBeGreaterThan(0.05);
	expect(overLimit.upperRatio ?? 1).toBeGreaterThan(0.05);
	const near = beating(184);
	expect(near.overLimit.upperRatio ?? 1).toBeGreaterThan(0.05);
});

test('a link that swings slowly by itself, by more than a display can, is still slower than the run can see', () => {
	expect(beating(100, 90).overLimit.upperRatio).toBeNull();
});

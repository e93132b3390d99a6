import fc from 'fast-check';
import { expect, test } from 'vitest';
import { measureFrames } from '../../src/metrics/frameLedger.ts';
import type { FrameLedger } from '../../src/metrics/metric.ts';
import { gatherSent } from '../../src/metrics/sentFrames.ts';
import { FATES } from '../../src/observations/records.ts';
import type { Run } from '../../src/observations/run.ts';
import { clusterUpper } from '../../src/statistics/clusterBound.ts';
import { type MadeFrame, madeRun, madeSegment, steadyFrames } from './madeRun.ts';

function measured(run: Run): FrameLedger {
	const ledger = measureFrames(run, gatherSent(run));
	if (ledger.kind === 'notMeasured') throw new Error(ledger.explanation);
	return ledger;
}

function sumOfClasses(ledger: FrameLedger): number {
	return FATES.reduce((sum, fate) => sum + ledger[fate], 0);
}

test('every frame sent is in exactly one class, whatever became of it', () => {
	fc.assert(
		fc.property(fc.array(fc.constantFrom(...FATES), { minLength: 1, maxLength: 200 }), (fates) => {
			const frames = fates.map(
				(fate, i): MadeFrame => ({ shownMs: i * 40, delayMs: fate === 'presented' ? 80 : null, fate }),
			);
			const ledger = measured(madeRun({ frames }));
			expect(ledger.sent).toBe(fates.length);
			expect(sumOfClasses(ledger)).toBe(ledger.sent);
			for (const fate of FATES) expect(ledger[fate]).toBe(fates.filter((f) => f === fate).length);
			expect(ledger.lostRatio).toBeCloseTo((ledger.lost + ledger.late) / ledger.sent, 12);
			expect(ledger.lostLowerRatio).toBeLessThanOrEqual(ledger.lostRatio);
			expect(ledger.lostUpperRatio).toBeGreaterThanOrEqual(ledger.lostRatio);
		}),
	);
});

test('frames of warm-up and frames shown after the end are not sent', () => {
	const segments = [madeSegment({ warmUpUntilMs: 2000, endMs: 6000 })];
	const ledger = measured(
		madeRun({ frames: steadyFrames(200, (i) => (i < 50 || i >= 150 ? null : 80)), segments }),
	);
	expect(ledger).toMatchObject({ sent: 100, presented: 100, lost: 0, lostRatio: 0 });
});

test('a link that dies before the end has lost what it did not bring, to the last frame', () => {
	const ledger = measured(madeRun({ frames: steadyFrames(1000, (i) => (i < 900 ? 80 : null)) }));
	expect(ledger).toMatchObject({ lost: 100, lostRatio: 0.1, longestLossRun: 100 });
});

test('late frames count as lost at the end as anywhere', () => {
	const frames = steadyFrames(1000, () => 80).map(
		(frame, i): MadeFrame => (i >= 997 ? { ...frame, delayMs: null, fate: 'late' } : frame),
	);
	expect(measured(madeRun({ frames }))).toMatchObject({ late: 3, lostRatio: 0.003 });
});

test('losses in runs are worth fewer pictures than losses one by one, and their bound is wider', () => {
	const single = measured(madeRun({ frames: steadyFrames(5000, (i) => (i % 100 === 50 ? null : 80)) }));
	const runs = measured(madeRun({ frames: steadyFrames(5000, (i) => (i % 1000 >= 990 ? null : 80)) }));
	expect(single.lostRatio).toBeCloseTo(runs.lostRatio, 12);
	expect(runs.lostEffectiveCount).toBeLessThanOrEqual(500.001);
	expect(single.lostEffectiveCount).toBeGreaterThan(4 * runs.lostEffectiveCount);
	expect(runs.lostUpperRatio).toBeGreaterThan(single.lostUpperRatio);
	expect([single.longestLossRun, runs.longestLossRun]).toEqual([1, 10]);
	const seen = { shareRatio: 0.01, count: runs.lostEffectiveCount, clusterRatio: 10 / 5000 };
	expect(runs.lostUpperRatio).toBeCloseTo(clusterUpper(seen, 0.95), 12);
});

test('the order of rows in the file does not matter: a lost frame is judged where it was sent', () => {
	// The file lists lost frames five seconds after the others, so these two runs of five stand together there.
	const frames = steadyFrames(1000, (i) => (i >= 100 && i < 105 ? null : i >= 110 && i < 115 ? null : 80));
	expect(measured(madeRun({ frames })).longestLossRun).toBe(5);
});

test('decoded frames are those with a decoding instant or a fate that only a decoded frame has', () => {
	const plain = steadyFrames(100, () => 80);
	const frames = plain.map((frame, i): MadeFrame => {
		if (i < 10) return { ...frame, delayMs: null, fate: 'unreadable' };
		if (i < 15) return { ...frame, delayMs: null, fate: 'notDrawn' };
		return i < 20 ? { ...frame, delayMs: null, fate: 'lost' } : frame;
	});
	expect(measured(madeRun({ frames })).decoded).toBe(95);
});

test('repeated and out-of-order pictures are counted in the observed time only', () => {
	const event = (code: string, atMs: number) => ({ segment: 0, atMs, code, frameNumber: 1, detail: null });
	const events = [
		event('repeated', 500),
		event('repeated', 1500),
		event('outOfOrder', 1600),
		event('codeMismatch', 1700),
	];
	const segments = [madeSegment({ warmUpUntilMs: 1000, endMs: 4000 })];
	const ledger = measured(madeRun({ frames: steadyFrames(100, () => 80), segments, events }));
	expect(ledger).toMatchObject({ repeated: 1, outOfOrder: 1 });
});

test('a source that sent nothing has no ledger', () => {
	const run = madeRun({ frames: [], segments: [madeSegment({ endMs: 1000 })] });
	expect(measureFrames(run, gatherSent(run))).toMatchObject({ reason: 'nothingSent' });
});

import { expect, test } from 'vitest';
import { type LockInput, lockBudget } from '../../src/reading/ageBudget.ts';
import type { Staircase } from '../../src/reading/staircase.ts';

const FRAME_MS = 1000 / 120;
/** Nothing fitted, no cadence, no noise: 60 Hz filmed at 120 a second. */
const bare: LockInput = {
	...{ tickMs: 1000 / 60, frameMs: FRAME_MS, frames: 2400, laptopTicksPerFrame: 0.5 },
	...{ laptop: null, content: null, cadence: null, changesMs: [], noiseTicks: 0 },
};

function lineOf(name: string, over: Partial<LockInput>): number {
	return lockBudget({ ...bare, ...over }).lines.find((line) => line.name === name)!.halfWidthMs;
}

test('changes that keep step with the phone’s frames leave the whole saw tooth in doubt, changes at all phases none', () => {
	// a(L, E) = e (L - e) / 2E with e = E = 1 ms (estimators.md A6): half of a frame less a millisecond.
	const whole = (FRAME_MS - 1) / 2;
	const inStep = Array.from({ length: 60 }, (_, i) => 2 + 4 * FRAME_MS * i);
	expect(lineOf('change phase', { changesMs: inStep })).toBeCloseTo(whole, 6);
	const spread = inStep.map((atMs, i) => atMs + (FRAME_MS * i) / 60);
	expect(lineOf('change phase', { changesMs: spread })).toBeLessThan(0.01 * whole);
	// Of too few changes nobody can say that they keep step, or that they do not.
	expect(lineOf('change phase', { changesMs: spread.slice(0, 19) })).toBeCloseTo(whole, 6);
});

test('a scope without a cadence leaves the saw tooth of a whole refresh in doubt', () => {
	expect(lineOf('content phase', {})).toBeCloseTo((1000 / 60 - 1) / 2, 6);
});

test('a clock fit leaves a rest, more where less of the phase was seen, and never less than what other fits as good would give', () => {
	const fit: Staircase = {
		...{ offset: 0, slope: 2, exposureTicks: 0.6, responseTicks: 0.25, residual: 0.1 },
		...{ coverage: 1, ambiguityTicks: 0 },
	};
	const whole = lineOf('content phase', { content: fit });
	expect(whole).toBeCloseTo((Math.sqrt(3) * 0.012 * 1000) / 60, 6);
	expect(lineOf('content phase', { content: { ...fit, coverage: 0.5 } })).toBeCloseTo(2 * whole, 6);
	expect(lineOf('content phase', { content: { ...fit, ambiguityTicks: 0.1 } })).toBeCloseTo(100 / 60, 6);
	expect(lineOf('laptop phase', { laptop: fit })).toBeCloseTo(whole, 6);
});

test('the standard uncertainty is the lines’ half-widths over root three, in quadrature', () => {
	const { lines, standardMs } = lockBudget({ ...bare, noiseTicks: 0.1 });
	expect(lines.map(({ name }) => name)).toEqual([
		'content phase',
		'laptop phase',
		'change phase',
		'reading noise',
	]);
	for (const { halfWidthMs } of lines) expect(halfWidthMs).toBeGreaterThan(0);
	expect(standardMs).toBeCloseTo(
		Math.hypot(...lines.map(({ halfWidthMs }) => halfWidthMs)) / Math.sqrt(3),
		9,
	);
});

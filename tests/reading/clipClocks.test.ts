import { expect, test } from 'vitest';
import { judgeMade, madeSpec } from './madeClip.ts';

type Apart = {
	readonly apart: number;
	readonly seed: number;
	readonly durationMs?: number;
	readonly jitterMs?: number;
};

/** Scope and phone this much apart from the laptop's crystal, to either side; 60 Hz, 30 pictures, 120 frames a second. */
function judged({ apart, seed, durationMs = 20_000, jitterMs = 0 }: Apart) {
	const plain = madeSpec([60, 30, 120], seed, { mode: 'lock', durationMs });
	const { measured, errorMs } = judgeMade({
		...plain,
		scope: { ...plain.scope, periodMs: (1000 / 30) * (1 + apart), jitterMs },
		phone: { ...plain.phone, periodMs: (1000 / 120) * (1 - apart) },
	});
	const { method, budget } = measured.pieces[0]!;
	expect(Math.abs(errorMs)).toBeLessThan(1.96 * budget.standardMs);
	return { method, statedMs: 1.96 * budget.standardMs };
}

test('a clock fit that saw less than two fifths of the phase is not trusted, and the whole saw tooth stays in doubt', () => {
	for (const [apart, seed] of [
		[1.2e-4, 3],
		[2.6e-4, 1],
	] as const) {
		const { method, statedMs } = judged({ apart, seed });
		expect(method).toBe('linear');
		expect(statedMs).toBeGreaterThan(8);
	}
	expect(judged({ apart: 3.6e-4, seed: 1 })).toMatchObject({ method: 'clockFit' });
});

test('in exact lock no clock fit is made for a phase that was never swept, though lost pictures leave gaps in the count', () => {
	const { measured } = judgeMade(madeSpec([60, 30, 240], 100_301, { mode: 'lock' }));
	expect(measured.pieces[0]!).toMatchObject({ method: 'linear', phaseStands: true });
	expect(measured.pieces[0]!.lostSlots).toBeGreaterThan(0);
});

test('in less than ten seconds no clock fit is made, however fast the phase moves', () => {
	expect(judged({ apart: 1.2e-3, seed: 1, durationMs: 9000 })).toMatchObject({ method: 'linear' });
	expect(judged({ apart: 1.2e-3, seed: 1, durationMs: 11_000 })).toMatchObject({ method: 'clockFit' });
});

test('a scope whose pictures stray from even times by more than a clock fit explains is read without one', () => {
	expect(judged({ apart: 1.2e-3, seed: 1 })).toMatchObject({ method: 'clockFit' });
	expect(judged({ apart: 1.2e-3, seed: 1, jitterMs: 5 })).toMatchObject({ method: 'linear' });
});

test('pictures without a frame to themselves stand where scope or phone keeps step with the screen, and not where both move', () => {
	const plain = madeSpec([60, 30, 60], 1, { mode: 'lock', durationMs: 30_000 });
	const stands = (scopeApart: number, phoneApart: number) => {
		const { measured } = judgeMade({
			...plain,
			scope: { ...plain.scope, periodMs: plain.scope.periodMs * (1 + scopeApart) },
			phone: { ...plain.phone, periodMs: plain.phone.periodMs * (1 - phoneApart) },
		});
		const [piece] = measured.pieces;
		expect(piece!.shown.curve.kind).toBe('notMeasured');
		return piece!.phaseStands;
	};
	expect(stands(0, 0)).toBe(true);
	expect(stands(0, 1e-3)).toBe(true);
	expect(stands(1e-3, 0)).toBe(true);
	expect(stands(1e-3, 1e-3)).toBe(false);
});

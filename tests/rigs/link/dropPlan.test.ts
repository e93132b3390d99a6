import { expect, test } from 'vitest';
import { createDropPlan } from '../../../src/rigs/link/dropPlan.ts';

test('a seed always drops the same pictures, about the share asked for', () => {
	const plans = [1, 1, 2].map((seed) => createDropPlan({ kind: 'share', ratio: 0.05, seed }));
	const [one, again, other] = plans.map((plan) => Array.from({ length: 4000 }, (_, i) => plan(i)));
	expect(one).toEqual(again);
	expect(one).not.toEqual(other);
	// 200 expected, standard deviation 14.
	expect(Math.abs((one?.filter(Boolean).length ?? 0) - 200)).toBeLessThan(70);
});

test('pictures dropped by number are those and no others', () => {
	const plan = createDropPlan({ kind: 'frames', frameNumbers: [2, 3] });
	expect([0, 1, 2, 3, 4].map(plan)).toEqual([false, false, true, true, false]);
	expect(createDropPlan({ kind: 'none' })(0)).toBe(false);
});

/** Single yards of bench `periodicity` whose answer hangs on one rule: each was told wrongly without it. */
import { expect, test } from 'vitest';
import { lookAtYard } from '../../bench/yardAirs.ts';

test('a pulse that wanders is told once, and not again by the multiples that it wandered away from', () => {
	const { periodS, repeats } = lookAtYard('fence', 'medium', 530);
	expect(repeats.map((repeat) => repeat.periodS)).toEqual([expect.closeTo(periodS, 2)]);
});

import { differenceCiede2000, differenceEuclidean } from 'culori';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { deltaE00 } from '../../src/colour/deltaE00.ts';
import { deltaE76 } from '../../src/colour/deltaE76.ts';
import { deltaE94 } from '../../src/colour/deltaE94.ts';
import type { Lab } from '../../src/colour/lab.ts';
import { deltaE00Pairs, HALF_TURN_OTHER_DIFFERENCE, HALF_TURN_PAIR } from '../vectors/ciede2000.ts';
import { deltaE76Rows, deltaE94Rows } from '../vectors/colourSpaces.ts';

const axis = fc.double({ min: -120, max: 120, noNaN: true });
const labs: fc.Arbitrary<Lab> = fc.tuple(fc.double({ min: 0, max: 100, noNaN: true }), axis, axis);

/** Rounded data to 4 decimals leave half a unit of the fourth; the rest is the paper's own rounding of L, a, b. */
const PAIR_TOLERANCE = 1e-4;

test.each(deltaE00Pairs)(
	'CIEDE2000 gives the published difference of pair %i',
	(pair, standard, sample, expected) => {
		const seen = deltaE00(standard, sample);
		const allowed = pair === HALF_TURN_PAIR ? [expected, HALF_TURN_OTHER_DIFFERENCE] : [expected];
		expect(Math.min(...allowed.map((value) => Math.abs(seen - value)))).toBeLessThan(PAIR_TOLERANCE);
	},
);

test('the published pairs are the same either way round', () => {
	for (const [pair, standard, sample] of deltaE00Pairs) {
		expect(deltaE00(sample, standard), `pair ${pair}`).toBeCloseTo(deltaE00(standard, sample), 10);
	}
});

test('a colour does not differ from itself', () => {
	fc.assert(
		fc.property(labs, (lab) => {
			expect(deltaE00(lab, lab)).toBe(0);
			expect(deltaE76(lab, lab)).toBe(0);
			expect(deltaE94(lab, lab)).toBe(0);
		}),
	);
});

test('CIEDE2000 is the same either way round, and never below zero', () => {
	fc.assert(
		fc.property(labs, labs, (standard, sample) => {
			const there = deltaE00(standard, sample);
			expect(there).toBeGreaterThanOrEqual(0);
			expect(deltaE00(sample, standard)).toBeCloseTo(there, 8);
		}),
	);
});

// Second opinion: the culori library. Hues exactly half a turn apart are the formula's own ambiguity and do not come up.
test('CIEDE2000 and plain distance agree with culori on 1000 random pairs', () => {
	const theirs00 = differenceCiede2000();
	const theirs76 = differenceEuclidean('lab65');
	const named = ([l, a, b]: Lab) => ({ mode: 'lab65' as const, l, a, b });
	fc.assert(
		fc.property(labs, labs, (standard, sample) => {
			expect(deltaE00(standard, sample)).toBeCloseTo(theirs00(named(standard), named(sample)), 8);
			expect(deltaE76(standard, sample)).toBeCloseTo(theirs76(named(standard), named(sample)), 8);
		}),
		{ numRuns: 1000, seed: 2000 },
	);
});

test.each(deltaE94Rows)(
	'CIE94 gives the published difference from %j to %j',
	(standard, sample, ...expected) => {
		const [graphics, textiles, tolerance] = expected;
		expect(Math.abs(deltaE94(standard, sample) - graphics)).toBeLessThan(tolerance);
		if (textiles === null) return;
		expect(Math.abs(deltaE94(standard, sample, 'textiles') - textiles)).toBeLessThan(tolerance);
	},
);

test.each(deltaE76Rows)('plain distance from %j to %j', (standard, sample, difference, tolerance) => {
	expect(Math.abs(deltaE76(standard, sample) - difference)).toBeLessThan(tolerance);
});

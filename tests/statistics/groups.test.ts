import { expect, test } from 'vitest';
import {
	meanDifference,
	simultaneousHalfWidth,
	summarise,
	upperDifference,
} from '../../src/statistics/meanDifference.ts';
import { createRandom } from '../../src/statistics/random.ts';
import { studentCdf, studentQuantile } from '../../src/statistics/studentT.ts';
import { STUDENT_QUANTILES, WELCH_EXAMPLE } from '../vectors/statisticsGroups.ts';

test('quantiles of t are those of the printed tables', () => {
	for (const [degrees, probability, t] of STUDENT_QUANTILES)
		expect(studentQuantile(probability, degrees)).toBeCloseTo(t, 3);
});

test('t with one degree of freedom is the Cauchy distribution, and quantile and chance undo each other', () => {
	expect(studentCdf(1, 1)).toBeCloseTo(0.75, 12);
	expect(studentQuantile(0.75, 1)).toBeCloseTo(1, 10);
	for (const degrees of [1.5, 2, 4.3, 30])
		for (const p of [0.001, 0.2, 0.5, 0.99])
			expect(studentCdf(studentQuantile(p, degrees), degrees)).toBeCloseTo(p, 9);
});

test('two groups of unequal spread give the worked difference, error and degrees of freedom', () => {
	const { first, second, difference, standardError, degrees, upper95 } = WELCH_EXAMPLE;
	const found = meanDifference(summarise(first), summarise(second));
	expect(found?.difference).toBeCloseTo(difference, 10);
	expect(found?.standardError).toBeCloseTo(standardError, 6);
	expect(found?.degrees).toBeCloseTo(degrees, 4);
	if (found !== null) expect(upperDifference(found, 0.95)).toBeCloseTo(upper95, 3);
});

test('two groups without any spread give no interval', () => {
	expect(meanDifference(summarise([5, 5, 5]), summarise([7, 7, 7]))).toBeNull();
	expect(() => summarise([1])).toThrow(RangeError);
});

test('the six intervals among four equal groups of three hold together in 95 % of draws or more', () => {
	const random = createRandom(11);
	const draws = 1500;
	let allHold = 0;
	for (let draw = 0; draw < draws; draw++) {
		const groups = [5, 5, 2, 9].map((sd) => summarise([0, 1, 2].map(() => sd * random.normal())));
		const holds = groups.every((first, i) =>
			groups.slice(i + 1).every((second) => {
				const found = meanDifference(first, second);
				if (found === null) return true;
				return (
					Math.abs(found.difference) <= simultaneousHalfWidth(found, { confidence: 0.95, comparisons: 6 })
				);
			}),
		);
		if (holds) allHold++;
	}
	// Three standard errors of 95 % under it.
	expect(allHold / draws).toBeGreaterThan(0.95 - 3 * Math.sqrt((0.95 * 0.05) / draws));
});

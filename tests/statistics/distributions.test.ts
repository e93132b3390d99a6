import fc from 'fast-check';
import { binomialDistribution, gammaln, probit } from 'simple-statistics';
import { expect, test } from 'vitest';
import { betaCdf, betaQuantile } from '../../src/statistics/beta.ts';
import { gammaCdf, gammaQuantile, gammaTail, logGamma } from '../../src/statistics/gamma.ts';
import { normalCdf, normalQuantile } from '../../src/statistics/normal.ts';

test('ln gamma agrees with factorials and with a general-purpose library', () => {
	expect(logGamma(11)).toBeCloseTo(Math.log(3_628_800), 12);
	expect(logGamma(0.5)).toBeCloseTo(Math.log(Math.PI) / 2, 13);
	for (const x of [0.1, 1.5, 2.4, 30, 1200.5]) expect(logGamma(x)).toBeCloseTo(gammaln(x), 8);
});

test('the normal distribution has its tabled values', () => {
	expect(normalQuantile(0.975)).toBeCloseTo(1.959963984540054, 12);
	expect(normalQuantile(0.95)).toBeCloseTo(1.644853626951472, 12);
	expect(normalCdf(1.4)).toBeCloseTo(0.91924, 5);
	expect(normalCdf(1.5) - normalCdf(-0.6111111)).toBeCloseTo(0.66263, 5);
	expect(normalCdf(-3)).toBeCloseTo(0.001349898031630095, 15);
	for (const p of [0.02, 0.3, 0.5, 0.77]) expect(normalQuantile(p)).toBeCloseTo(probit(p), 2);
});

test('the incomplete beta function is the binomial distribution that a general-purpose library sums up', () => {
	for (const [n, p] of [
		[20, 0.5],
		[59, 0.05],
		[100, 0.9],
	] as const) {
		const cells = binomialDistribution(n, p)!;
		let sum = 0;
		for (let k = 0; k < Math.min(n, cells.length); k++) {
			sum += cells[k]!;
			expect(betaCdf(1 - p, n - k, k + 1)).toBeCloseTo(sum, 8);
		}
	}
});

test('the incomplete gamma function is one less the Poisson sum', () => {
	for (const [k, mean] of [
		[0, 3],
		[4, 2.5],
		[9, 20],
	] as const) {
		let term = Math.exp(-mean);
		let sum = term;
		for (let i = 1; i <= k; i++) {
			term *= mean / i;
			sum += term;
		}
		expect(gammaTail(k + 1, mean)).toBeCloseTo(sum, 12);
		expect(gammaCdf(k + 1, mean)).toBeCloseTo(1 - sum, 12);
	}
});

/** Upper 5 % points of chi-squared with 1, 2, 10, 30 degrees of freedom: printed tables, from memory. */
test('twice the gamma quantile is the printed chi-squared quantile', () => {
	for (const [degrees, printed] of [
		[1, 3.841],
		[2, 5.991],
		[10, 18.307],
		[30, 43.773],
	] as const)
		expect(2 * gammaQuantile(degrees / 2, 0.95)).toBeCloseTo(printed, 3);
});

test('each inverse undoes its distribution', () => {
	const chance = fc.double({ min: 1e-4, max: 1 - 1e-4, noNaN: true });
	const size = fc.double({ min: 1, max: 3000, noNaN: true });
	fc.assert(
		fc.property(chance, size, size, (p, a, b) => {
			expect(betaCdf(betaQuantile(p, a, b), a, b)).toBeCloseTo(p, 8);
			expect(gammaCdf(a, gammaQuantile(a, p))).toBeCloseTo(p, 8);
			expect(normalCdf(normalQuantile(p))).toBeCloseTo(p, 10);
		}),
	);
});

test('a chance outside its range is a mistake', () => {
	expect(() => normalQuantile(0)).toThrow(RangeError);
	expect(() => gammaQuantile(1, 1)).toThrow(RangeError);
	expect(() => betaQuantile(-0.1, 1, 1)).toThrow(RangeError);
	expect(() => betaCdf(0.5, 0, 1)).toThrow(RangeError);
	expect(() => logGamma(0)).toThrow(RangeError);
});

import { expect, test } from 'vitest';
import { clusterUpper } from '../../src/statistics/clusterBound.ts';
import { gammaQuantile } from '../../src/statistics/gamma.ts';
import { createRandom, type Random } from '../../src/statistics/random.ts';
import { clopperPearson } from '../../src/statistics/wilson.ts';

const CONFIDENCE = 0.95;

test('clusters no larger than half a reading give the exact bound of Clopper and Pearson', () => {
	for (const [successes, n] of [
		[0, 59],
		[3, 100],
		[12.5, 240],
		[100, 200],
	] as const) {
		const bound = clusterUpper({ shareRatio: successes / n, count: n, clusterRatio: 0.5 / n }, CONFIDENCE);
		expect(bound).toBeCloseTo(clopperPearson(successes, n, CONFIDENCE).upperRatio, 12);
	}
});

test('for rare clusters it is the gamma bound of Fay and Feuer with the added weight', () => {
	// Their form: upper = s / y * Gamma^-1(0.95; y^2 / s), which is s / (2 y) times the chi-squared quantile of 2 y^2 / s.
	const [shareRatio, count, clusterRatio] = [4e-5, 80_000, 2e-5];
	const y = shareRatio + 2 * clusterRatio;
	const s = shareRatio / count + (2 * clusterRatio) ** 2;
	const theirs = (s / y) * gammaQuantile((y * y) / s, CONFIDENCE);
	expect(clusterUpper({ shareRatio, count, clusterRatio }, CONFIDENCE) / theirs).toBeCloseTo(1, 3);
});

test('a larger cluster, fewer readings or a larger share never lower the bound', () => {
	const start = { shareRatio: 0.02, count: 150, clusterRatio: 0.004 };
	const bound = clusterUpper(start, CONFIDENCE);
	expect(clusterUpper({ ...start, clusterRatio: 0.008 }, CONFIDENCE)).toBeGreaterThan(bound);
	expect(clusterUpper({ ...start, count: 100 }, CONFIDENCE)).toBeGreaterThan(bound);
	expect(clusterUpper({ ...start, shareRatio: 0.03 }, CONFIDENCE)).toBeGreaterThan(bound);
	expect(clusterUpper({ shareRatio: 1, count: 100, clusterRatio: 0 }, CONFIDENCE)).toBe(1);
});

test('a share, a size that make no sense are mistakes', () => {
	expect(() => clusterUpper({ shareRatio: 1.1, count: 9, clusterRatio: 0 }, CONFIDENCE)).toThrow(RangeError);
	expect(() => clusterUpper({ shareRatio: 0.1, count: 0, clusterRatio: 0 }, CONFIDENCE)).toThrow(RangeError);
});

/**
 * A run in which clusters come by chance, eight effective events expected, lengths as drawn. Computed elsewhere (NumPy,
 * 1500 draws): the plain binomial bound is too low in 7 to 8 % (exponential), 10 to 11 % (Weibull 0.6).
 */
const lengths: readonly [string, number, (random: Random) => number][] = [
	['exponential', 2, (random) => random.exponential(1)],
	['Weibull 0.6', 4.09, (random) => random.exponential(1) ** (1 / 0.6)],
];

test.each(lengths)(
	'few clusters of %s length: the bound is too low in at most 6 % of the runs',
	(_, spread, draw) => {
		const random = createRandom(417);
		const runs = 3000;
		const [meanLength, squareLength] = moments(draw);
		expect(squareLength / meanLength ** 2).toBeGreaterThan(0.8 * spread);
		const rate = (8 * squareLength) / meanLength ** 2;
		const observed = 20 * rate * meanLength;
		let low = 0;
		let binomialLow = 0;
		for (let run = 0; run < runs; run++) {
			const clusters: number[] = [];
			for (let at = random.exponential(1); at < rate; at += random.exponential(1))
				clusters.push(draw(random));
			if (clusters.length === 0) continue;
			const sum = clusters.reduce((total, length) => total + length, 0);
			const squares = clusters.reduce((total, length) => total + length * length, 0);
			const count = observed / (squares / sum);
			const shareRatio = sum / observed;
			const clusterRatio = Math.max(...clusters) / observed;
			if (clusterUpper({ shareRatio, count, clusterRatio }, CONFIDENCE) < 0.05) low++;
			if (clopperPearson(shareRatio * count, count, CONFIDENCE).upperRatio < 0.05) binomialLow++;
		}
		expect(low / runs).toBeLessThan(0.06);
		expect(binomialLow / runs).toBeGreaterThan(0.065);
	},
);

function moments(draw: (random: Random) => number): [number, number] {
	const random = createRandom(3);
	let sum = 0;
	let squares = 0;
	const count = 200_000;
	for (let i = 0; i < count; i++) {
		const length = draw(random);
		sum += length;
		squares += length * length;
	}
	return [sum / count, squares / count];
}

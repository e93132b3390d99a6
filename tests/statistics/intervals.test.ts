import { expect, test } from 'vitest';
import { clusterUpper } from '../../src/statistics/clusterBound.ts';
import { effectiveLossSize } from '../../src/statistics/lossRuns.ts';
import { effectiveCountRequired, moreTimeMs } from '../../src/statistics/moreTime.ts';
import { dkwHalfWidth, quantileRanks, upperRank } from '../../src/statistics/orderStatistic.ts';
import { poissonLower, poissonUpper } from '../../src/statistics/poissonRate.ts';
import { createRandom } from '../../src/statistics/random.ts';
import { clopperPearson, wilsonInterval } from '../../src/statistics/wilson.ts';
import {
	clopperPearsonRows,
	leastReadings,
	noneSeen,
	readingsNeeded,
	twoSidedRanks,
	upperRanks,
	wilsonRows,
} from '../vectors/statisticsBinomial.ts';

test.each(twoSidedRanks)(
	'P%f of %i readings lies between ranks %i and %i',
	(p, n, lower, upper, coverage) => {
		const ranks = quantileRanks(n, p, 0.95)!;
		expect([ranks.lowerRank, ranks.upperRank]).toEqual([lower, upper]);
		expect(ranks.coverageRatio).toBeCloseTo(coverage, 5);
	},
);

test.each(upperRanks)('the upper bound of P%f of %i readings is rank %i', (p, n, rank) => {
	expect(upperRank(n, p, 0.95)).toBe(rank);
});

test.each(leastReadings)(
	'P%f has no upper bound under %i readings and no interval under %i',
	(p, one, two) => {
		expect(upperRank(one - 1, p, 0.95)).toBeNull();
		expect(upperRank(one, p, 0.95)).toBe(one);
		expect(quantileRanks(two - 1, p, 0.95)).toBeNull();
		expect(quantileRanks(two, p, 0.95)).not.toBeNull();
	},
);

test('two readings of 93 enclose 95 % of all with a chance of 95 %, but two of 92 do not', () => {
	const encloses = (n: number): number => 1 - n * 0.95 ** (n - 1) + (n - 1) * 0.95 ** n;
	expect(encloses(92)).toBeLessThan(0.95);
	expect(encloses(93)).toBeGreaterThan(0.95);
	// The second largest of 93 bounds P95 from above; of 92 only the largest does.
	expect([upperRank(92, 0.95, 0.95), upperRank(93, 0.95, 0.95)]).toEqual([92, 92]);
});

test('the band round a whole distribution narrows with the root of the readings', () => {
	expect(dkwHalfWidth(300, 0.05)).toBeCloseTo(0.0784, 4);
	expect(dkwHalfWidth(1800, 0.05)).toBeCloseTo(0.032, 4);
});

test.each(wilsonRows)('Wilson: %i of %i is between %f and %f', (successes, n, lower, upper) => {
	const interval = wilsonInterval(successes, n, 1.959964);
	expect(Math.abs(interval.lowerRatio - lower)).toBeLessThan(1e-4);
	expect(Math.abs(interval.upperRatio - upper)).toBeLessThan(1e-4);
});

test.each(clopperPearsonRows)('exactly: %i of %i is between %f and %f', (successes, n, lower, upper) => {
	const interval = clopperPearson(successes, n, 0.975);
	expect(interval.lowerRatio).toBeCloseTo(lower, 6);
	expect(interval.upperRatio).toBeCloseTo(upper, 6);
});

test.each(noneSeen)('none seen in %i still allows a share of %f', (n, upper, digits) => {
	expect(clopperPearson(0, n, 0.95).upperRatio).toBeCloseTo(upper, digits);
});

test('a share counted from nothing, or of more than all, is a mistake', () => {
	expect(() => wilsonInterval(0, 0, 1.96)).toThrow(RangeError);
	expect(() => clopperPearson(3, 2, 0.95)).toThrow(RangeError);
	expect(() => quantileRanks(0, 0.5, 0.95)).toThrow(RangeError);
});

test('no event, one and two allow 2.996, 4.744 and 6.296; three show at least 0.818', () => {
	expect([0, 1, 2].map((k) => Math.round(poissonUpper(k, 0.95) * 1000) / 1000)).toEqual([
		2.996, 4.744, 6.296,
	]);
	expect(poissonLower(0, 0.95)).toBe(0);
	expect(poissonLower(1, 0.95)).toBeCloseTo(0.051, 3);
	expect(poissonLower(3, 0.95)).toBeCloseTo(0.818, 3);
	expect(() => poissonUpper(-1, 0.95)).toThrow(RangeError);
});

test('a limit of 0.3 a minute needs 600 s with none, 949 s with one, 1259 s with two', () => {
	const neededS = [0, 1, 2].map((k) => (poissonUpper(k, 0.95) / 0.3) * 60);
	expect(neededS.map(Math.round)).toEqual([599, 949, 1259]);
});

test.each(readingsNeeded)(
	'with a share of %f a line of one in twenty is settled by %s readings',
	(share, needed) => {
		expect(effectiveCountRequired(share, 0.05)).toBe(needed);
	},
);

test('a run worth 100 readings with 2 % over needs about 57 % more time, and more where its largest cluster was long', () => {
	const reading = {
		shareRatio: 0.02,
		allowedRatio: 0.05,
		effectiveCount: 100,
		clusterRatio: 0.005,
		observedMs: 300_000,
	};
	expect(moreTimeMs(reading)).toBe(180_000);
	expect(moreTimeMs({ ...reading, clusterRatio: 0.01 })).toBe(450_000);
	expect(moreTimeMs({ ...reading, shareRatio: 0.048 })).toBeNull();
	expect(moreTimeMs({ ...reading, effectiveCount: 2 })).toBe(1_200_000);
	expect(moreTimeMs({ ...reading, effectiveCount: 400, clusterRatio: 0.001 })).toBe(0);
	expect(moreTimeMs({ ...reading, effectiveCount: 0 })).toBeNull();
});

test('pictures lost in runs are worth as many readings as a Gilbert chain says', () => {
	const random = createRandom(5);
	const flags = new Uint8Array(400_000);
	let lost = false;
	for (let i = 0; i < flags.length; i++) {
		lost = lost ? random.next() >= 0.25 : random.next() < 0.01;
		flags[i] = lost ? 1 : 0;
	}
	const correlation = 1 - 0.01 - 0.25;
	const exact = (1 - correlation) / (1 + correlation);
	const ratio = effectiveLossSize(flags) / flags.length / exact;
	expect(ratio).toBeGreaterThan(0.85);
	expect(ratio).toBeLessThan(1.05);
});

test('single losses far apart cost nothing, one run of ten is worth a tenth, none or all lost is no run at all', () => {
	const apart = Array.from({ length: 100 }, (_, i) => i % 20 === 0);
	expect(effectiveLossSize(apart)).toBe(100);
	expect(effectiveLossSize(Array.from({ length: 100 }, (_, i) => i >= 40 && i < 50))).toBeCloseTo(10, 9);
	expect(effectiveLossSize(Array.from({ length: 100 }, (_, i) => i < 40 || i >= 50))).toBeCloseTo(10, 9);
	expect(effectiveLossSize([false, false, false])).toBe(3);
	expect(effectiveLossSize(new Uint8Array(50).fill(1))).toBe(50);
	expect(() => effectiveLossSize([])).toThrow(RangeError);
});

test('single losses that come in clusters are worth less than their count', () => {
	// Every other picture lost for 60 pictures, each 1200: no run is longer than one.
	const flags = Array.from({ length: 12_000 }, (_, i) => i % 1200 < 60 && i % 2 === 0);
	expect(effectiveLossSize(flags)).toBeLessThan(12_000 / 20);
});

test.each([
	['one by one', 0.8],
	['in runs of four on average', 0.25],
	['in runs of ten on average', 0.1],
] as const)('1 percent lost %s: at most 5 %% of runs of 5 min show a bound under it', (_how, toGood) => {
	const [random, count, runs, truth] = [createRandom(42), 9300, 600, 0.01];
	const toBad = (truth * toGood) / (1 - truth);
	let [tooLow, wilsonTooLow] = [0, 0];
	for (let run = 0; run < runs; run++) {
		const flags = new Uint8Array(count);
		let [lost, sum, length, longest] = [random.next() < truth, 0, 0, 0];
		for (let i = 0; i < count; i++) {
			flags[i] = lost ? 1 : 0;
			sum += flags[i]!;
			length = lost ? length + 1 : 0;
			longest = Math.max(longest, length);
			lost = lost ? random.next() >= toGood : random.next() < toBad;
		}
		const n = effectiveLossSize(flags);
		const seen = { shareRatio: sum / count, count: n, clusterRatio: longest / count };
		if (clusterUpper(seen, 0.95) < truth) tooLow++;
		if (wilsonInterval((sum / count) * n, n, 1.645).upperRatio < truth) wilsonTooLow++;
	}
	expect(tooLow / runs).toBeLessThanOrEqual(0.05);
	// Why it is not Wilson's.
	if (toGood === 0.1) expect(wilsonTooLow / runs).toBeGreaterThan(0.07);
});

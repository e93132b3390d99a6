import fc from 'fast-check';
import { expect, test } from 'vitest';
import { eventSpectrum } from '../../src/statistics/eventSpectrum.ts';
import { fourierInPlace } from '../../src/statistics/fourier.ts';
import { falseAlarmRatio, lombScargle } from '../../src/statistics/lombScargle.ts';
import { createRandom } from '../../src/statistics/random.ts';
import { lnGammaTail } from '../../src/statistics/repeatSearch.ts';
import { findRepeats, type RepeatsOptions } from '../../src/statistics/repeats.ts';
import { troubleScores } from '../../src/statistics/trouble.ts';

test('the fast transform is the direct Fourier sum', () => {
	const random = createRandom(1);
	const n = 64;
	const [re, im] = [0, 1].map(() => Float64Array.from({ length: n }, () => random.normal())) as [
		Float64Array,
		Float64Array,
	];
	const direct = Array.from({ length: n }, (_, k) => {
		let [a, b] = [0, 0];
		for (let i = 0; i < n; i++) {
			const turn = (-2 * Math.PI * k * i) / n;
			a += re[i]! * Math.cos(turn) - im[i]! * Math.sin(turn);
			b += re[i]! * Math.sin(turn) + im[i]! * Math.cos(turn);
		}
		return [a, b];
	});
	fourierInPlace(re, im);
	for (const [k, [a, b]] of direct.entries()) {
		expect(re[k]).toBeCloseTo(a!, 9);
		expect(im[k]).toBeCloseTo(b!, 9);
	}
	expect(() => fourierInPlace(new Float64Array(3), new Float64Array(3))).toThrow(RangeError);
});

test('power on the grid is that of the direct sum over readings at uneven instants, to a hundredth of it and of the noise', () => {
	const random = createRandom(2);
	const timesS = Float64Array.from({ length: 1500 }, () => 30 * random.next()).sort();
	// A line at 7.3 Hz, so that there is power worth comparing.
	const values = timesS.map((t) => random.normal() + Math.sin(2 * Math.PI * 7.3 * t));
	const { power, spanS } = eventSpectrum(timesS, values, { highestHz: 40, ownHz: [] });
	const mean = values.reduce((a, b) => a + b, 0) / values.length;
	for (let k = 5; k < power.length / 2; k += 37) {
		let [a, b] = [0, 0];
		for (const [i, t] of timesS.entries()) {
			const turn = (Math.PI * k * (t - timesS[0]!)) / spanS;
			a += (values[i]! - mean) * Math.cos(turn);
			b += (values[i]! - mean) * Math.sin(turn);
		}
		expect(Math.abs(power[k]! - (a * a + b * b))).toBeLessThan(0.01 * (a * a + b * b) + 20);
	}
});

test('Lomb and Scargle power is the share of variance that the best sine of that frequency explains', () => {
	const random = createRandom(3);
	const timesS = Array.from({ length: 200 }, () => 10 * random.next()).sort((a, b) => a - b);
	const values = timesS.map((t) => 3 + Math.cos(2 * Math.PI * 1.7 * t) + random.normal());
	const mean = values.reduce((a, b) => a + b, 0) / values.length;
	const centred = values.map((x) => x - mean);
	// Least squares of a cosine and a sine, by the two normal equations.
	let [cc, ss, cs, xc, xs, xx] = [0, 0, 0, 0, 0, 0];
	for (const [i, t] of timesS.entries()) {
		const [c, s] = [Math.cos(2 * Math.PI * 1.7 * t), Math.sin(2 * Math.PI * 1.7 * t)];
		[cc, ss, cs] = [cc + c * c, ss + s * s, cs + c * s];
		[xc, xs, xx] = [xc + centred[i]! * c, xs + centred[i]! * s, xx + centred[i]! ** 2];
	}
	const det = cc * ss - cs * cs;
	const explained = (ss * xc * xc - 2 * cs * xc * xs + cc * xs * xs) / det;
	expect(lombScargle(timesS, values, 1.7)).toBeCloseTo(explained / (2 * (xx / (values.length - 1))), 6);
	expect(() => lombScargle([0, 1, 2], [1, 1, 1], 0.3)).toThrow(RangeError);
});

test('false alarm of the highest of many frequencies, computed: the power of 1 % among 1000 is 11.51', () => {
	const power = -Math.log(1 - 0.99 ** (1 / 1000));
	expect(power).toBeCloseTo(11.508, 3);
	expect(falseAlarmRatio(power, 1000)).toBeCloseTo(0.01, 12);
	expect(falseAlarmRatio(5, 1)).toBeCloseTo(Math.exp(-5), 12);
});

test('the gamma tail of whole shape is that of the chi-squared table', () => {
	// Chi-squared 95 % points, published tables: 5.991 (2 degrees), 18.307 (10), 31.410 (20).
	expect(Math.exp(lnGammaTail(1, 5.991 / 2))).toBeCloseTo(0.05, 4);
	expect(Math.exp(lnGammaTail(5, 18.307 / 2))).toBeCloseTo(0.05, 4);
	expect(Math.exp(lnGammaTail(10, 31.41 / 2))).toBeCloseTo(0.05, 4);
});

test('trouble scores have mean 1, keep the order, share ties, and put lost packets first', () => {
	// Savage scores of four, from the definition.
	expect([...troubleScores([3, 1, 4, 2])]).toEqual(
		[0.25, 1 / 4 + 1 / 3, 13 / 12, 25 / 12].map((_, i) =>
			expect.closeTo([13 / 12, 1 / 4, 25 / 12, 7 / 12][i]!, 12),
		),
	);
	fc.assert(
		fc.property(
			fc.array(fc.oneof(fc.integer({ min: 0, max: 9 }), fc.constant(Infinity)), { minLength: 1 }),
			(values) => {
				const scores = troubleScores(values);
				expect(scores.reduce((a, b) => a + b, 0) / values.length).toBeCloseTo(1, 9);
				for (const [i, a] of values.entries())
					for (const [j, b] of values.entries()) {
						if (a === b) expect(scores[i]).toBe(scores[j]);
						if (a < b) expect(scores[i]).toBeLessThan(scores[j]!);
					}
			},
		),
		{ numRuns: 50 },
	);
});

const options: RepeatsOptions = { ownHz: [30], falseAlarmRatio: 0.01, seed: 1, highestHz: 40 };

/** Probes at 50 a second, jittered within their slots; `extra` says how much later, or lost. */
function probes(spanS: number, seed: number, extra: (atS: number) => number) {
	const random = createRandom(seed);
	const timesS = Float64Array.from({ length: spanS * 50 }, (_, i) => (i + random.next()) / 50);
	return { timesS, values: timesS.map((t) => 5 + random.exponential(2) + extra(t)) };
}

test('a pulse of a tenth of a second every 1.37 s is found with its period and its strength', () => {
	const { timesS, values } = probes(60, 4, (t) => (t % 1.37 < 0.1 ? Infinity : 0));
	const [repeat, ...others] = findRepeats(timesS, values, options)?.repeats ?? [];
	expect(others).toEqual([]);
	expect(Math.abs(repeat!.periodS - 1.37)).toBeLessThanOrEqual(repeat!.periodUncertaintyS);
	expect(repeat!.periodUncertaintyS).toBeLessThan(0.01);
	expect(repeat!.falseAlarmRatio).toBeLessThan(1e-3);
	expect(repeat!.worstTenth!.insideRatio).toBeGreaterThan(0.5);
	expect(repeat!.strengthRatio).toBeGreaterThan(0.2);
});

test('two things that repeat are told as two, and not as their multiples', () => {
	const { timesS, values } = probes(60, 5, (t) => (t % 1.37 < 0.1 ? 30 : 0) + (t % 0.1024 < 0.02 ? 6 : 0));
	const periods = (findRepeats(timesS, values, options)?.repeats ?? []).map(({ periodS }) => periodS);
	expect(periods.sort((a, b) => a - b)).toEqual([expect.closeTo(0.1024, 3), expect.closeTo(1.37, 2)]);
});

test('the doubt of a period that wanders covers how far a run of it may have walked', () => {
	let doubtS = 0;
	for (let seed = 1; seed <= 6; seed++) {
		const random = createRandom(100 + seed);
		const startsS: number[] = [];
		for (let atS = random.next(); atS < 62; atS += 1.37 * (1 + 0.008 * random.normal())) startsS.push(atS);
		const { timesS, values } = probes(60, 200 + seed, (t) =>
			startsS.some((start) => t >= start && t < start + 0.1) ? 30 : 0,
		);
		const [repeat] = findRepeats(timesS, values, options)?.repeats ?? [];
		expect(Math.abs(repeat!.periodS - 1.37), `seed ${seed}`).toBeLessThanOrEqual(repeat!.periodUncertaintyS);
		doubtS += repeat!.periodUncertaintyS / 6;
	}
	// 44 steps of 0.8 %: the mean of them lies 0.12 % off by one standard deviation, twice that by two (computed).
	expect(doubtS).toBeGreaterThan(0.0024 * 1.37);
	expect(doubtS).toBeLessThan(0.02 * 1.37);
});

test('heights of noise reach 4 no more often than an exponential variable does, slow or fast', () => {
	let [slow, slowHigh, fast, fastHigh] = [0, 0, 0, 0];
	for (let seed = 1; seed <= 60; seed++) {
		const { timesS, values } = probes(20, 300 + seed, () => 0);
		const { heights } = eventSpectrum(timesS, troubleScores(values), { ownHz: [], highestHz: 20 });
		for (let k = 4; k < heights.length; k += 2) {
			const isHigh = heights[k]! > 4 ? 1 : 0;
			if (k < 60) [slow, slowHigh] = [slow + 1, slowHigh + isHigh];
			else if (k > 400) [fast, fastHigh] = [fast + 1, fastHigh + isHigh];
		}
	}
	// e^-4 = 1.83 %; of slow ones, whose neighbourhood is small, 2.5 % without the F law (computed).
	expect(slowHigh / slow).toBeLessThan(0.0195);
	expect(fastHigh / fast).toBeGreaterThan(0.012);
	expect(fastHigh / fast).toBeLessThan(0.0195);
});

test('steady noise and bad spells at random hold no period', () => {
	const random = createRandom(6);
	const spells = Array.from({ length: 6 }, () => 60 * random.next());
	for (const extra of [() => 0, (t: number) => (spells.some((s) => t >= s && t < s + 1) ? 60 : 0)]) {
		const { timesS, values } = probes(60, 7, extra);
		expect(findRepeats(timesS, values, options)?.repeats).toEqual([]);
	}
});

test('what keeps step with a period of our own is never found', () => {
	const { timesS, values } = probes(60, 8, (t) => (t % 1 < 0.1 ? 30 : 0));
	expect(findRepeats(timesS, values, { ...options, ownHz: [1, 30] })?.repeats).toEqual([]);
	expect(findRepeats(timesS, values, { ...options, ownHz: [30] })?.repeats[0]?.periodS).toBeCloseTo(1, 2);
});

test('a beat of our own that swells by another of our own is found neither as itself nor beside itself', () => {
	// A beat of 30 a second that is strong in every second half of a quarter second stands at 26 and 34 a second too.
	const { timesS, values } = probes(60, 12, (t) => ((t * 30) % 1 < 0.3 && (t * 4) % 1 < 0.5 ? 6 : 0));
	const found = (ownHz: number[]) => findRepeats(timesS, values, { ...options, ownHz })?.repeats ?? [];
	expect(found([30, 4])).toEqual([]);
	expect(found([30]).length).toBeGreaterThan(0);
});

test('in a long run a beat of our own may lie a hundredth of a turn a second beside what it should be', () => {
	const { timesS, values } = probes(400, 13, (t) => ((t * 30.007) % 1 < 0.3 ? 1.5 : 0));
	expect(findRepeats(timesS, values, options)?.repeats).toEqual([]);
	const beyond = timesS.map((t, i) => values[i]! + ((t * 30.02) % 1 < 0.3 ? 1.5 : 0));
	expect(findRepeats(timesS, beyond, options)?.repeats[0]?.periodS).toBeCloseTo(1 / 30.02, 5);
});

test('a line seen only by its flank beside a period of our own is as doubtful as what was put aside there is wide', () => {
	// A beat of a tenth of a second keeps step with our own second: only flanks stand out, further off than a line's own doubt.
	const { timesS, values } = probes(60, 11, (t) => ((t / 0.1) % 1 < 0.3 ? 30 : 0));
	const found = findRepeats(timesS, values, { ...options, ownHz: [1, 30] })?.repeats ?? [];
	expect(found.length).toBeGreaterThan(0);
	for (const { periodS, periodUncertaintyS } of found) {
		const turns = 0.1 / periodS;
		const nearest = 0.1 / Math.max(1, Math.round(turns));
		expect(Math.abs(periodS - nearest)).toBeLessThanOrEqual(periodUncertaintyS);
	}
});

test('too short a run says nothing at all', () => {
	const { timesS, values } = probes(19, 9, () => 0);
	expect(findRepeats(timesS, values, options)).toBeNull();
});

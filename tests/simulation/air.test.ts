import fc from 'fast-check';
import { expect, test } from 'vitest';
import { createAir, type Passage } from '../../src/simulation/air.ts';
import { airPresets } from '../../src/simulation/airPresets.ts';
import { type AirSpec, stillAir } from '../../src/simulation/airSpec.ts';
import { drawDelay } from '../../src/simulation/drawDelay.ts';
import { createLossChain, lossRatioOf } from '../../src/simulation/lossChain.ts';
import { createRandom } from '../../src/statistics/random.ts';

function sendAll(spec: Partial<AirSpec>, sends: readonly (readonly [number, number])[], seed = 1): Passage[] {
	const air = createAir({ ...stillAir, ...spec }, createRandom(seed));
	return sends.map(([atMs, bytes]) => air.send(atMs, bytes));
}

function every(stepMs: number, count: number, bytes = 1000): [number, number][] {
	return Array.from({ length: count }, (_, i) => [i * stepMs, bytes]);
}

function deliveries(passages: readonly Passage[]): (number | null)[] {
	return passages.map((passage) => ('deliverAtMs' in passage ? passage.deliverAtMs : null));
}

const rough: Partial<AirSpec> = {
	delayMs: 5,
	spread: { kind: 'lognormal', medianMs: 6, sigma: 1 },
	loss: { p: 0.02, r: 0.3, k: 1, h: 0.1 },
	rate: { kbitPerSecond: 4000, queueMs: 60, queueBytes: null },
	outages: { scheduled: [], random: { meanEveryMs: 2000, lengthMs: 150 }, packets: 'dropped' },
	bursts: { everyMs: 7.3 },
	periodic: { everyMs: 410, lengthMs: 33, phaseMs: 11, extraMs: null },
	badSpells: { goodMeanMs: 900, badMeanMs: 300, extraMs: 40, lossRatio: 0.1 },
};

test('Gilbert-Elliott loss comes out at 0.0385 in bursts of 4 and gaps of 100 for p 0.01, r 0.25', () => {
	const isLost = createLossChain({ p: 0.01, r: 0.25, k: 1, h: 0 }, createRandom(11));
	const count = 1_000_000;
	let lost = 0;
	let bursts = 0;
	let before = false;
	for (let i = 0; i < count; i++) {
		const now = isLost();
		if (now) lost++;
		if (now && !before) bursts++;
		before = now;
	}
	// Fit of standards 2.5: p from received to lost, r from lost to received; standard errors are binomial.
	const p = bursts / (count - lost);
	const r = bursts / lost;
	expect(Math.abs(p - 0.01)).toBeLessThan(3 * Math.sqrt((0.01 * 0.99) / (count - lost)));
	expect(Math.abs(r - 0.25)).toBeLessThan(3 * Math.sqrt((0.25 * 0.75) / lost));
	// Two states that persist are worth fewer packets: the factor is (2 - p - r) / (p + r).
	const ratioSe = Math.sqrt((0.0385 * 0.9615 * (2 - 0.26)) / (0.26 * count));
	expect(Math.abs(lost / count - 0.0384615)).toBeLessThan(3 * ratioSe);
	expect(lost / bursts).toBeCloseTo(4, 0);
	expect((count - lost) / bursts / 100).toBeCloseTo(1, 1);
});

test('a chain that also loses in good times and delivers in bad ones loses as stated', () => {
	const chain = { p: 0.05, r: 0.2, k: 0.98, h: 0.4 };
	expect(lossRatioOf(chain)).toBeCloseTo(0.8 * 0.02 + 0.2 * 0.6, 12);
	const isLost = createLossChain(chain, createRandom(5));
	let lost = 0;
	for (let i = 0; i < 300_000; i++) if (isLost()) lost++;
	expect(lost / 300_000).toBeCloseTo(lossRatioOf(chain), 2);
});

test('a bottleneck makes packets wait for the bits before them, to the exact millisecond', () => {
	// 1000 bytes take 8 ms.
	const rate = { kbitPerSecond: 1000, queueMs: 20, queueBytes: null };
	const sends: [number, number][] = [
		[0, 1000],
		[0, 1000],
		[0, 1000],
		[0, 1000],
		[0, 1000],
		[10, 500],
		[100, 250],
	];
	// Waits 0, 8, 16, 24 (too long), 24 (too long), then 14 at 10 ms, then none.
	expect(deliveries(sendAll({ rate, delayMs: 3 }, sends))).toEqual([11, 19, 27, null, null, 31, 105]);
});

test('a queue counted in bytes loses what would not fit', () => {
	const rate = { kbitPerSecond: 1000, queueMs: null, queueBytes: 2500 };
	expect(deliveries(sendAll({ rate }, every(0, 4)))).toEqual([8, 16, null, null]);
	expect(deliveries(sendAll({ rate, carriage: 'stream' }, every(0, 4)))).toEqual([8, 16, 24, 32]);
});

test('an outage holds what is sent in it to its end, or drops it', () => {
	const scheduled = [{ atMs: 20, lengthMs: 30 }];
	const outages = { scheduled, random: null };
	const sends = every(10, 7);
	expect(deliveries(sendAll({ outages: { ...outages, packets: 'held' } }, sends))).toEqual([
		0, 10, 50, 50, 50, 50, 60,
	]);
	expect(deliveries(sendAll({ outages: { ...outages, packets: 'dropped' } }, sends))).toEqual([
		0,
		10,
		null,
		null,
		null,
		50,
		60,
	]);
});

test('what comes periodically holds or delays the packets of its stretch only', () => {
	const periodic = { everyMs: 100, lengthMs: 25, phaseMs: 10, extraMs: null };
	const sends = every(10, 12);
	expect(deliveries(sendAll({ periodic }, sends))).toEqual([0, 35, 35, 35, 40, 50, 60, 70, 80, 90, 100, 135]);
	const extra = deliveries(sendAll({ periodic: { ...periodic, extraMs: 7 }, keepOrder: false }, sends));
	expect(extra).toEqual([0, 17, 27, 37, 40, 50, 60, 70, 80, 90, 100, 117]);
});

test('gathered packets leave together', () => {
	expect(deliveries(sendAll({ bursts: { everyMs: 25 } }, every(10, 7)))).toEqual([0, 25, 25, 50, 50, 50, 75]);
});

test('a bad spell takes its share of time and delays by what is stated', () => {
	const badSpells = { goodMeanMs: 900, badMeanMs: 300, extraMs: 40, lossRatio: 0 };
	const sends = every(1, 600_000);
	const times = deliveries(sendAll({ badSpells, keepOrder: false }, sends));
	const late = times.filter((at, i) => at === sends[i]![0] + 40).length;
	expect(times.every((at, i) => at === sends[i]![0] + 40 || at === sends[i]![0])).toBe(true);
	expect(late / times.length).toBeCloseTo(0.25, 1);
});

test('order is kept where it is to be kept, and packets overtake where it is not', () => {
	const spread = { kind: 'uniform', fromMs: 0, toMs: 40 } as const;
	const rising = (times: (number | null)[]) => times.every((at, i) => i === 0 || at! >= times[i - 1]!);
	expect(rising(deliveries(sendAll({ spread, keepOrder: true }, every(5, 500))))).toBe(true);
	expect(rising(deliveries(sendAll({ spread, keepOrder: false }, every(5, 500))))).toBe(false);
	expect(rising(deliveries(sendAll({ spread, keepOrder: false, carriage: 'stream' }, every(5, 500))))).toBe(
		true,
	);
});

test('a stream loses nothing: a lost packet comes a retransmission later and holds up what follows', () => {
	const loss = { p: 0.05, r: 0.5, k: 1, h: 0 };
	const sends = every(10, 2000);
	const lost = deliveries(sendAll({ loss }, sends, 9));
	const stream = deliveries(sendAll({ loss, carriage: 'stream', retransmitMs: 35 }, sends, 9));
	const stalled = lost.map((at, i) => (at === null ? sends[i]![0] + 35 : sends[i]![0]));
	const expected = stalled.map((_, i) => Math.max(...stalled.slice(Math.max(0, i - 10), i + 1)));
	expect(lost).toContain(null);
	expect(stream).toEqual(expected);
});

test('the same seed meets the same air, another seed another', () => {
	const sends = every(3, 3000);
	expect(sendAll(rough, sends, 4)).toEqual(sendAll(rough, sends, 4));
	expect(sendAll(rough, sends, 4)).not.toEqual(sendAll(rough, sends, 5));
});

test('one part changed leaves the draws of the others as they were', () => {
	const { loss, ...without } = rough;
	const sends = every(3, 3000);
	const withLoss = deliveries(sendAll({ loss: loss!, ...without, keepOrder: false }, sends));
	const withoutLoss = deliveries(sendAll({ ...without, keepOrder: false }, sends));
	const both = withLoss.flatMap((at, i) => (at === null ? [] : [[at, withoutLoss[i]]]));
	expect(both.length).toBeGreaterThan(1000);
	expect(both.every(([a, b]) => a === b)).toBe(true);
});

test('no packet is delivered before it was sent, whatever the air', () => {
	fc.assert(
		fc.property(
			fc.array(fc.double({ min: 0, max: 30, noNaN: true }), { maxLength: 300 }),
			fc.nat(),
			(gaps, seed) => {
				let atMs = 0;
				const sends = gaps.map((gap): [number, number] => {
					atMs += gap;
					return [atMs, 1000];
				});
				for (const [i, at] of deliveries(sendAll(rough, sends, seed)).entries())
					if (at !== null) expect(at).toBeGreaterThanOrEqual(sends[i]![0] + 5);
			},
		),
		{ numRuns: 50 },
	);
});

test("sending into the past is the caller's mistake", () => {
	const air = createAir(stillAir, createRandom(1));
	air.send(10, 1);
	expect(() => air.send(9, 1)).toThrow(RangeError);
});

test('each delay distribution has the mean it should', () => {
	const random = createRandom(3);
	const meanOf = (spread: Parameters<typeof drawDelay>[0]) => {
		let sum = 0;
		for (let i = 0; i < 100_000; i++) sum += drawDelay(spread, random);
		return sum / 100_000;
	};
	expect(meanOf({ kind: 'constant', ms: 4 })).toBeCloseTo(4, 9);
	expect(meanOf({ kind: 'uniform', fromMs: 2, toMs: 6 })).toBeCloseTo(4, 1);
	expect(meanOf({ kind: 'normal', meanMs: 20, sdMs: 2 })).toBeCloseTo(20, 1);
	// Half a normal: sd * sqrt(2 / pi).
	expect(meanOf({ kind: 'normal', meanMs: 0, sdMs: 5 })).toBeCloseTo(3.989, 1);
	expect(meanOf({ kind: 'lognormal', medianMs: 4, sigma: 0.5 })).toBeCloseTo(4 * Math.exp(0.125), 1);
	expect(meanOf({ kind: 'gamma', shape: 2, scaleMs: 2 })).toBeCloseTo(4, 1);
	expect(meanOf({ kind: 'gamma', shape: 0.5, scaleMs: 2 })).toBeCloseTo(1, 1);
});

test('every preset says what it is and carries packets', () => {
	expect(airPresets.size).toBeGreaterThanOrEqual(6);
	for (const [name, { spec, description }] of airPresets) {
		expect(spec.name).toBe(name);
		expect(description.length).toBeGreaterThan(20);
		const times = deliveries(sendAll(spec, every(20, 2000)));
		expect(times.filter((at) => at !== null).length).toBeGreaterThan(1600);
	}
});

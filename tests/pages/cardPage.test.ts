import fc from 'fast-check';
import { expect, test } from 'vitest';
import { tipDistanceMm } from '../../src/pages/card/distances.ts';
import { createRefreshClock, judgeRefresh } from '../../src/pages/card/refreshClock.ts';
import { createRandom } from '../../src/statistics/random.ts';

/** Stamps of callbacks for these refreshes, rounded to 0.1 ms as browsers do, with some jitter. */
function stampsAt(periodMs: number, refreshes: readonly number[]): number[] {
	const random = createRandom(3);
	return refreshes.map((n) => Math.round(10 * (500 + n * periodMs + 0.3 * random.normal())) / 10);
}

function upTo(count: number, missed: (n: number) => boolean = () => false): number[] {
	return Array.from({ length: count }, (_, n) => n).filter((n) => !missed(n));
}

test('a marker of 31 mm fills a third of the picture at 47, 39, 27 and 17 mm', () => {
	expect([90, 100, 120, 140].map((degrees) => Math.round(tipDistanceMm(31, degrees)))).toEqual([
		47, 39, 27, 17,
	]);
	expect(() => tipDistanceMm(31, 180)).toThrow(RangeError);
});

test('a screen’s period is told to a part in a thousand, whatever the page missed', () => {
	for (const rateHz of [50, 59.94, 75, 120, 144]) {
		const seen = judgeRefresh(
			stampsAt(
				1000 / rateHz,
				upTo(150, (n) => n % 13 === 5),
			),
		);
		if (seen.kind !== 'steady') throw new Error(seen.kind);
		expect(Math.abs((seen.periodMs * rateHz) / 1000 - 1)).toBeLessThan(1e-3);
		expect(seen.missedRatio).toBeCloseTo(1 / 13, 1);
	}
});

test('a variable refresh and a page that cannot keep up are refused by name', () => {
	const random = createRandom(1);
	let at = 0;
	const variable = Array.from({ length: 150 }, () => {
		at += 7 + 14 * random.next();
		return at;
	});
	expect(judgeRefresh(variable)).toMatchObject({ kind: 'unsteady', why: 'variable' });
	const slow = stampsAt(
		1000 / 60,
		upTo(400, (n) => n % 5 > 2),
	);
	expect(judgeRefresh(slow)).toMatchObject({ kind: 'unsteady', why: 'slow' });
	expect(judgeRefresh([0, 16, 33])).toEqual({ kind: 'tooFew' });
});

test('missed refreshes skip ticks and never slow the card', () => {
	const missed = fc.array(fc.integer({ min: 1, max: 4 }), { minLength: 50, maxLength: 400 });
	fc.assert(
		fc.property(missed, fc.double({ min: 7, max: 21, noNaN: true }), (steps, periodMs) => {
			let n = 0;
			const refreshes = [0, ...steps.map((step) => (n += step))];
			// The period was told a little wrong beforehand.
			const clock = createRefreshClock(periodMs * 1.0004, 0);
			const stamps = stampsAt(periodMs, refreshes);
			for (const [i, stamp] of stamps.entries()) expect(clock.tickAt(stamp)).toBe(refreshes[i]);
			expect(clock.seen()).toMatchObject({ refreshes: n, missed: n - steps.length });
			expect(clock.lost()).toBe(false);
		}),
		{ numRuns: 40, seed: 7 },
	);
});

test('an hour goes by without a tick too many or too few', () => {
	const clock = createRefreshClock((1000 / 60) * 1.0002, 0);
	let last = 0;
	for (let n = 0; n < 216_000; n++) last = clock.tickAt(Math.round((n * 10_000) / 60) / 10);
	expect(last).toBe(215_999);
});

test('a screen that changes its pace while the card runs is noticed', () => {
	const clock = createRefreshClock(1000 / 60, 0);
	let at = 0;
	for (let n = 0; n < 400; n++) {
		at += n < 200 ? 1000 / 60 : 1000 / 47;
		clock.tickAt(at);
	}
	expect(clock.lost()).toBe(true);
});

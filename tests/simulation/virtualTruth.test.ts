import { expect, test } from 'vitest';
import { inventedKits, kitRunSpec, realLegOf } from '../../src/simulation/inventedKits.ts';
import { virtualFrames } from '../../src/simulation/virtualFrames.ts';
import { truthOf } from '../../src/simulation/virtualTruth.ts';
import { madeLink, roughLink } from './madeLink.ts';

const limits = { ageLimitMs: 70, delayLimitMs: 49 };

test('a steady link has the truth that a hand finds', () => {
	// Seen 50 ms after it was shown, then ageing for 40 ms until the next: from 50 to 90, mean 70, half of it over 70.
	const truth = truthOf(madeLink, limits);
	expect(truth.meanAgeMs).toBeCloseTo(70, 6);
	expect(truth.ageOverLimitRatio).toBeCloseTo(0.5, 6);
	expect(truth.p95AgeMs).toBeCloseTo(88, 0);
	expect(truth.meanFreshDelayMs).toBeCloseTo(50, 9);
	expect(truth.delayOverLimitRatio).toBe(1);
	expect(truth.longestHoldMs).toBeCloseTo(40, 9);
	expect(truth.fates).toMatchObject({ presented: 500, lost: 0 });
});

test('mean age by looking every millisecond is the area under the sawtooth, cut the other way', () => {
	// estimators.md A1, hold form: sum H D / sum H + sum H^2 / (2 sum H), over whole holds.
	const spec = { ...roughLink, warmUpMs: 0, observedMs: 300_000 };
	const seen = [...virtualFrames(spec)].filter(({ seenMs }) => seenMs !== null && seenMs < 300_000);
	let area = 0;
	for (const [i, { seenMs, shownMs }] of seen.entries()) {
		const hold = (seen[i + 1]?.seenMs ?? 300_000) - seenMs!;
		area += hold * (seenMs! - shownMs) + hold ** 2 / 2;
	}
	const truth = truthOf(spec, limits);
	expect(truth.meanAgeMs).toBeCloseTo(area / (300_000 - seen[0]!.seenMs!), 1);
});

test('content-weighted delay is mean age less the content form of the wait', () => {
	// estimators.md A1: fresh = A - sum G^2 / (2 sum G), exact up to the ends of the run.
	const spec = { ...roughLink, observedMs: 600_000 };
	const shown = [...virtualFrames(spec)]
		.filter(({ fate }) => fate === 'presented')
		.map(({ shownMs }) => shownMs);
	const gaps = shown.slice(1).map((ms, i) => ms - shown[i]!);
	const wait = gaps.reduce((sum, gap) => sum + gap ** 2, 0) / (2 * gaps.reduce((sum, gap) => sum + gap, 0));
	const truth = truthOf(spec, limits);
	expect(Math.abs(truth.meanFreshDelayMs - (truth.meanAgeMs - wait))).toBeLessThan(0.5);
});

test('the ledger of the truth sums to the frames sent', () => {
	const { fates, sent } = truthOf(roughLink, limits);
	expect(Object.values(fates).reduce((sum, count) => sum + count, 0)).toBe(sent);
	expect(sent).toBe(600);
});

test('a link that presents nothing has no truth to tell', () => {
	const blind = { ...madeLink, pictureLoss: { p: 1, r: 1, k: 0, h: 0 } };
	expect(() => truthOf(blind, limits)).toThrow(RangeError);
});

test('each invented kit is what its story says, by truth alone', () => {
	const truths = new Map(
		inventedKits.map((kit) => {
			const options = { runId: kit.key, toolVersion: '0', startedAt: '2030-01-01T00:00:00Z', seed: 1 };
			const spec = kitRunSpec(kit, { ...options, profile: 'verdict', observedMs: 310_000 });
			return [kit.key, truthOf(spec, { ageLimitMs: 240, delayLimitMs: 200 })];
		}),
	);
	const lark = truths.get('lark')!;
	expect(lark.ageOverLimitRatio).toBe(0);
	expect(lark.longestHoldMs).toBeLessThan(150);
	expect(lark.fates.lost / lark.sent).toBeLessThan(0.005);
	const owl = truths.get('owl')!;
	expect(owl.ageOverLimitRatio).toBe(1);
	expect([owl.fates.lost, owl.fates.late]).toEqual([0, 0]);
	expect(owl.longestHoldMs).toBeLessThan(150);
	const moth = truths.get('moth')!;
	expect(moth.fates.lost / moth.sent).toBeCloseTo(0.1525, 1);
	expect(moth.delayOverLimitRatio).toBe(0);
});

test("a kit's real leg carries scope and app in the relay's delay, as a stream", () => {
	for (const kit of inventedKits) {
		const { air, pictureLoss } = realLegOf(kit);
		expect(air.carriage).toBe('stream');
		expect(air.delayMs).toBe(kit.addedDelayMs + kit.air.delayMs);
		expect(pictureLoss).toEqual(kit.pictureLoss);
	}
});

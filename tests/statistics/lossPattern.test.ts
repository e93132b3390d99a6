import fc from 'fast-check';
import { expect, test } from 'vitest';
import { createLossChain } from '../../src/simulation/lossChain.ts';
import {
	burstsAndGaps,
	fitGilbert,
	lossDistances,
	noticeableLossRatio,
} from '../../src/statistics/lossPattern.ts';
import { createRandom } from '../../src/statistics/random.ts';
import { measureReordering } from '../../src/statistics/reordering.ts';
import {
	burstExample,
	distanceExample,
	gilbertExample,
	secondBurstExample,
} from '../vectors/lossPatterns.ts';

const lostIn = (pattern: string): boolean[] => [...pattern].map((sign) => sign !== '1');

test.each([
	['RFC 3611 own example', burstExample],
	['the second pattern', secondBurstExample],
])('%s has one burst and the stated densities', (_, example) => {
	const found = burstsAndGaps(lostIn(example.pattern), example.gapMin);
	expect(found.bursts).toEqual([example.burst]);
	expect(found.burstDensityRatio).toBeCloseTo(example.burstDensityRatio, 10);
	expect(found.gapPackets).toBe(example.gapPackets);
	expect(found.gapDensityRatio).toBeCloseTo(example.gapDensityRatio, 10);
});

test('where nothing else is said sixteen packets that came end a burst (RFC 3611 section 4.7.2, from memory)', () => {
	const apart = (came: number) =>
		burstsAndGaps([1, ...Array.from({ length: came }, () => 0), 1]).bursts.length;
	expect(apart(15)).toBe(1);
	expect(apart(16)).toBe(0);
});

test('a lone loss is no burst, and a run without loss has no burst density', () => {
	expect(burstsAndGaps([0, 0, 1, 0, 0], 2)).toMatchObject({
		bursts: [],
		gapPackets: 5,
		gapDensityRatio: 0.2,
	});
	expect(burstsAndGaps([0, 0, 0]).burstDensityRatio).toBeNull();
	expect(burstsAndGaps([1, 1]).gapDensityRatio).toBeNull();
});

test('every burst ends at losses, holds no gap inside, and lies a gap from the next', () => {
	fc.assert(
		fc.property(
			fc.array(fc.boolean(), { maxLength: 200 }),
			fc.integer({ min: 1, max: 8 }),
			(flags, gapMin) => {
				const { bursts, burstPackets, gapPackets } = burstsAndGaps(flags, gapMin);
				expect(burstPackets + gapPackets).toBe(flags.length);
				for (const { first, last, lost } of bursts) {
					const inside = flags.slice(first, last + 1);
					expect(flags[first] && flags[last]).toBe(true);
					expect(inside.filter(Boolean)).toHaveLength(lost);
					expect(inside.map((bad) => (bad ? '0' : '1')).join('')).not.toContain('1'.repeat(gapMin));
				}
			},
		),
	);
});

test('RFC 3357 sequence has the stated distances, periods and noticeable rates', () => {
	const found = lossDistances(distanceExample.lost);
	expect(found).toEqual({ distances: distanceExample.distances, periods: distanceExample.periods });
	for (const [delta, ratio] of distanceExample.noticeable)
		expect(noticeableLossRatio(found, delta)).toBeCloseTo(ratio, 10);
	expect(noticeableLossRatio(lossDistances([0, 0]), 1)).toBeNull();
});

test('a Gilbert chain of a million packets is fitted within three standard errors', () => {
	const { p, r } = gilbertExample;
	const isLost = createLossChain({ p, r, k: 1, h: 0 }, createRandom(7));
	const fit = fitGilbert(Array.from({ length: 1e6 }, isLost));
	if (fit === null) throw new Error('no fit');
	expect(Math.abs(fit.p - p)).toBeLessThan(3 * fit.pStandardError);
	expect(Math.abs(fit.r - r)).toBeLessThan(3 * fit.rStandardError);
	expect(fit.pStandardError).toBeLessThan(0.0002);
	expect(fitGilbert([0, 0, 1])).toBeNull();
});

test('what a Gilbert chain says of the long run follows from its two chances', () => {
	// 100 came, 4 lost, over and over: p = 1/100, r = 1/4 but for the open end.
	const flags = Array.from({ length: 104 * 500 + 1 }, (_, i) => i % 104 >= 100);
	const fit = fitGilbert(flags);
	expect(fit?.lossRatio).toBeCloseTo(gilbertExample.lossRatio, 6);
	expect(fit?.meanBurst).toBeCloseTo(gilbertExample.meanBurst, 6);
	expect(fit?.meanGap).toBeCloseTo(gilbertExample.meanGap, 6);
});

test('a packet that came after later ones is reordered by as many as it let pass', () => {
	expect(measureReordering([1, 2, 3])).toEqual({ reordered: 0, ratio: 0, longestExtent: 0 });
	expect(measureReordering([1, 3, 4, 2, 5])).toEqual({ reordered: 1, ratio: 0.2, longestExtent: 2 });
	expect(measureReordering([5, 1, 2])).toMatchObject({ reordered: 2, longestExtent: 2 });
	expect(measureReordering([])).toBeNull();
});

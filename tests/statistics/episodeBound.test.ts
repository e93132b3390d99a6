import { expect, test } from 'vitest';
import { layOutSeconds } from '../../src/statistics/batchMeans.ts';
import { boundShare, leastCount } from '../../src/statistics/episodeBound.ts';
import { measureExceedance } from '../../src/statistics/exceedance.ts';
import { CurveBuilder, type LevelCurve, levelQuantile, shareOver } from '../../src/statistics/levelCurve.ts';
import { clopperPearson } from '../../src/statistics/wilson.ts';
import { ageCurve, spellLink, wanderingLink } from './madeCurves.ts';

/** Level 1 where `isOver` says so, else 0, in pieces of 10 ms. */
function stepCurve(seconds: number, isOver: (ms: number) => boolean): LevelCurve {
	const builder = new CurveBuilder(0);
	for (let ms = 0; ms < seconds * 1000; ms += 10) builder.add(10, isOver(ms) ? 1 : 0);
	return builder.finish();
}

function episodesOf(curve: LevelCurve, x: number): number {
	const layout = layOutSeconds(curve);
	return measureExceedance(curve, x, { layout, below: false }).weightedEpisodeMs;
}

test('nothing seen over the limit is worth one reading a quarter of a second, not infinitely many', () => {
	const bound = boundShare(
		stepCurve(300, () => false),
		0.5,
	);
	expect(bound).toMatchObject({ shareRatio: 0, effectiveCount: 1200, lowerRatio: 0, noBoundReason: null });
	expect(bound.upperRatio).toBeCloseTo(1 - 0.05 ** (1 / 1200), 9);
});

test('a link always over the limit is surely over it, and is not one single reading', () => {
	const bound = boundShare(
		stepCurve(300, () => true),
		0.5,
	);
	expect(bound).toMatchObject({ shareRatio: 1, upperRatio: 1, effectiveCount: 1200 });
	expect(bound.lowerRatio).toBeCloseTo(0.05 ** (1 / 1200), 9);
});

test('one bad stretch is one reading of its length, wherever it lies', () => {
	for (const startS of [3, 151.3, 288]) {
		const curve = stepCurve(300, (ms) => ms >= startS * 1000 && ms < startS * 1000 + 3000);
		const { effectiveCount, upperRatio } = boundShare(curve, 0.5);
		// One episode: share times size is one, and one success of 100 readings allows 4.66 %.
		expect(effectiveCount).toBeGreaterThan(75);
		expect(effectiveCount).toBeLessThanOrEqual(100);
		expect(upperRatio!).toBeGreaterThan(0.046);
	}
});

test('one long bad stretch leaves no bound', () => {
	const bound = boundShare(
		stepCurve(300, (ms) => ms >= 100_000 && ms < 110_000),
		0.5,
	);
	expect(bound.effectiveCount).toBeLessThan(31);
	expect(bound.upperRatio).toBeNull();
	expect(bound.noBoundReason).toMatch(/59 are needed/);
});

test('a run of less than 30 s bounds nothing on either side', () => {
	expect(
		boundShare(
			stepCurve(29.9, () => false),
			0.5,
		),
	).toMatchObject({
		upperRatio: null,
		lowerRatio: null,
		noBoundReason: 'under 30 s observed',
	});
	expect(
		boundShare(
			stepCurve(30, () => false),
			0.5,
		).upperRatio,
	).not.toBeNull();
});

test('under an effective size of 59 there is no upper bound, from 59 on there is', () => {
	expect(leastCount(0.05, 0.95)).toBe(59);
	expect(leastCount(0.05, 0.975)).toBe(72);
	expect(leastCount(0.5, 0.95)).toBe(5);
	const count = (episodes: number): LevelCurve =>
		stepCurve(300, (ms) => ms % (300_000 / episodes) < 300_000 / 61 && ms < 250_000);
	for (const episodes of [4, 6, 8]) {
		const { effectiveCount, upperRatio, noBoundReason } = boundShare(count(episodes), 0.5);
		expect(upperRatio === null).toBe(effectiveCount < 59);
		expect(noBoundReason === null).toBe(effectiveCount >= 59);
	}
});

test('a share that swings too slowly for ten-second batches is called too slow, not bounded', () => {
	// Over the limit for part of every picture, the more the worse the link is, which takes minutes to change.
	const curve = ageCurve(120, (atS) => 100 + 15 * Math.sin((2 * Math.PI * atS) / 110) + ((atS * 7919) % 3));
	const bound = boundShare(curve, levelQuantile(curve, 0.9));
	expect(bound.noBoundReason).toBe('varies more slowly than this run can see');
	expect(bound.upperRatio).toBeNull();
	// Where it is over the limit nearly always, it is over it for more than one part in twenty, drift or no drift.
	expect(boundShare(curve, levelQuantile(curve, 0.05)).lowerRatio!).toBeGreaterThan(0.05);
	expect(boundShare(curve, levelQuantile(curve, 0.9)).lowerRatio!).toBeLessThan(0.05);
});

test('two bad stretches with a gap no longer than a quarter second and than themselves are one', () => {
	const pair = (lengthMs: number, gapMs: number): LevelCurve =>
		stepCurve(60, (ms) => {
			const at = ms - 20_000;
			return (at >= 0 && at < lengthMs) || (at >= lengthMs + gapMs && at < 2 * lengthMs + gapMs);
		});
	expect(episodesOf(pair(400, 250), 0.5)).toBe(1050);
	expect(episodesOf(pair(400, 260), 0.5)).toBe(400);
	expect(episodesOf(pair(100, 100), 0.5)).toBe(300);
	expect(episodesOf(pair(100, 110), 0.5)).toBe(100);
});

test('the last millisecond of every picture of a steady link is not one endless episode, nor with one hiccup in it', () => {
	for (const hiccupMs of [0, 120]) {
		const curve = ageCurve(
			120,
			(atS) => 100 + ((atS * 7919) % 1) + (Math.abs(atS - 60) < 0.01 ? hiccupMs : 0),
		);
		const bound = boundShare(curve, levelQuantile(curve, 0.97));
		expect(bound.effectiveCount).toBeGreaterThan(400);
		expect(bound.noBoundReason).toBeNull();
	}
});

test('episodes and batches end where a segment ends', () => {
	const build = (withBreak: boolean): LevelCurve => {
		const builder = new CurveBuilder(0);
		builder.add(60_000, 0);
		builder.add(1000, 1);
		if (withBreak) builder.break();
		builder.add(1000, 1);
		builder.add(60_000, 0);
		return builder.finish();
	};
	expect(episodesOf(build(false), 0.5)).toBe(2000);
	expect(episodesOf(build(true), 0.5)).toBe(1000);
	const broken = layOutSeconds(build(true));
	expect([...broken.starts]).toEqual([0, 61, 122]);
});

test('segments all shorter than a second give no bound, whatever their number', () => {
	const builder = new CurveBuilder(0);
	for (let i = 0; i < 100; i++) {
		builder.add(900, i % 10 === 0 ? 1 : 0);
		builder.break();
	}
	const bound = boundShare(builder.finish(), 0.5);
	expect(bound).toMatchObject({ upperRatio: null, lowerRatio: null, effectiveCount: 0 });
	expect(bound.noBoundReason).toMatch(/segments too short/);
});

test('bounds lie on either side of the share and part when more confidence is asked for', () => {
	const curve = wanderingLink({ correlation: 0.9, deviationMs: 15, seconds: 300, seed: 3 });
	for (const order of [0.5, 0.9, 0.95, 0.99]) {
		const x = levelQuantile(curve, order);
		const usual = boundShare(curve, x);
		const sure = boundShare(curve, x, { confidence: 0.99 });
		expect(usual.shareRatio).toBeCloseTo(shareOver(curve, x), 9);
		expect(usual.lowerRatio!).toBeLessThan(usual.shareRatio);
		expect(usual.upperRatio!).toBeGreaterThan(usual.shareRatio);
		expect(sure.lowerRatio!).toBeLessThan(usual.lowerRatio!);
		expect(sure.upperRatio!).toBeGreaterThan(usual.upperRatio!);
	}
});

test('the effective size never grows on the way up from P95', () => {
	for (let seed = 0; seed < 5; seed++) {
		const curve = spellLink({ goodS: 10, badS: 0.5, seconds: 120, seed });
		let before = Number.POSITIVE_INFINITY;
		for (let x = levelQuantile(curve, 0.955); x < 400; x += 10) {
			const { effectiveCount } = boundShare(curve, x);
			// Between two rungs the size is the level's own; past the next rung it may not have grown.
			expect(effectiveCount).toBeLessThanOrEqual(before * 1.25);
			before = Math.min(before, effectiveCount);
		}
	}
});

test('a limit or a confidence that is no number is a mistake', () => {
	const curve = stepCurve(60, () => false);
	expect(() => boundShare(curve, Number.NaN)).toThrow(RangeError);
	expect(() => boundShare(curve, 1, { confidence: 1 })).toThrow(RangeError);
	expect(() => boundShare(curve, 1, { allowedRatio: 0 })).toThrow(RangeError);
});

/**
 * Wrong "met" at the limit, most that is let pass. Over 1000 runs the rates were 0, 0.6, 3.1, 1.1 and 3.6 %; 300 runs scatter
 * by a point at 3.5 %. The shortcut that takes pictures for independent is wrong far more often.
 */
const MOST = 0.06;
const processes: readonly [string, (seconds: number, seed: number) => LevelCurve][] = [
	['AR 0.8', (seconds, seed) => wanderingLink({ correlation: 0.8, deviationMs: 15, seconds, seed })],
	['AR 0.95', (seconds, seed) => wanderingLink({ correlation: 0.95, deviationMs: 15, seconds, seed })],
	['AR 0.98', (seconds, seed) => wanderingLink({ correlation: 0.98, deviationMs: 15, seconds, seed })],
	['spells of half a second', (seconds, seed) => spellLink({ goodS: 10, badS: 0.5, seconds, seed })],
	['spells of a second', (seconds, seed) => spellLink({ goodS: 19, badS: 1, seconds, seed })],
];

test.each(processes)('%s, two minutes: a limit that is not met is seldom called met', (_, draw) => {
	const limitMs = levelQuantile(draw(20_000, 99), 0.95);
	const runs = 300;
	let missed = 0;
	let naive = 0;
	for (let seed = 1; seed <= runs; seed++) {
		const curve = draw(120, seed);
		const { shareRatio, upperRatio } = boundShare(curve, limitMs);
		if (upperRatio !== null && upperRatio <= 0.05) missed++;
		if (clopperPearson(shareRatio * curve.count, curve.count, 0.95).upperRatio <= 0.05) naive++;
	}
	expect(missed / runs).toBeLessThanOrEqual(MOST);
	expect(naive / runs).toBeGreaterThan(0.11);
});

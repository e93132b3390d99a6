import { expect, test } from 'vitest';
import { meanUncertainty } from '../../src/statistics/batchMeans.ts';
import { boundShare, ShareBounder } from '../../src/statistics/episodeBound.ts';
import {
	boundWithin,
	combineLower,
	combineUpper,
	levelLower,
	levelUpper,
} from '../../src/statistics/guardBand.ts';
import { CurveBuilder, type LevelCurve, levelQuantile, shareOver } from '../../src/statistics/levelCurve.ts';
import { createRandom } from '../../src/statistics/random.ts';
import { wanderingLink } from './madeCurves.ts';

const EXACT = { allowedRatio: 0.05, centreMs: 0, standardMs: 0 };
const Z = 1.644853626951472;

function link(seed: number, seconds = 300): LevelCurve {
	return wanderingLink({ correlation: 0.5, deviationMs: 15, seconds, seed });
}

test('the two doubts join in quadrature and stay within 0 and 1', () => {
	expect(combineUpper({ centralRatio: 0.02, randomUpperRatio: 0.05, ifLowRatio: 0.06 })).toBeCloseTo(
		0.07,
		12,
	);
	expect(combineLower({ centralRatio: 0.2, randomLowerRatio: 0.17, ifHighRatio: 0.16 })).toBeCloseTo(
		0.15,
		12,
	);
	expect(combineUpper({ centralRatio: 0.9, randomUpperRatio: 1, ifLowRatio: 1 })).toBe(1);
	expect(combineLower({ centralRatio: 0.1, randomLowerRatio: 0, ifHighRatio: 0 })).toBe(0);
});

test('P95 lies between its bounds, and deciding by level is deciding by share', () => {
	for (let seed = 1; seed <= 5; seed++) {
		const curve = link(seed);
		const p95 = levelQuantile(curve, 0.95);
		const upper = levelUpper(curve, EXACT)!;
		const lower = levelLower(curve, EXACT)!;
		expect(lower).toBeLessThan(p95);
		expect(upper).toBeGreaterThan(p95);
		expect(boundShare(curve, upper).upperRatio!).toBeLessThanOrEqual(0.05);
		expect(boundShare(curve, upper - 0.01).upperRatio!).toBeGreaterThan(0.05);
		expect(boundShare(curve, lower).lowerRatio!).toBeGreaterThanOrEqual(0.05);
		expect(boundShare(curve, lower + 0.01).lowerRatio!).toBeLessThan(0.05);
	}
});

test('a constant added to every delay moves both bounds by it, and a known shift of the rig does the same', () => {
	const curve = link(7);
	const builder = new CurveBuilder(1);
	for (let i = 0; i < curve.count; i++) builder.add(curve.lengthsMs[i]!, curve.levels[i]! + 40);
	const moved = builder.finish();
	for (const bound of [levelUpper, levelLower]) {
		const rig = { ...EXACT, standardMs: 3 };
		const still = bound(curve, rig)!;
		expect(bound(moved, rig)!).toBeCloseTo(still + 40, 4);
		expect(bound(curve, { ...rig, centreMs: 40 })!).toBeCloseTo(still + 40, 4);
	}
});

test('the doubt of the rig pushes the bound out, by less than its whole reach and more than nothing', () => {
	const curve = link(11);
	const bare = levelUpper(curve, EXACT)!;
	const guarded = levelUpper(curve, { ...EXACT, standardMs: 5 })!;
	expect(guarded).toBeGreaterThan(bare + 1);
	expect(guarded).toBeLessThan(bare + 5 * Z);
	expect(levelLower(curve, { ...EXACT, standardMs: 5 })!).toBeLessThan(levelLower(curve, EXACT)! - 1);
});

test('P5 has a lower bound under it, surer at 97.5 % than at 95 %', () => {
	const curve = link(13);
	const p5 = levelQuantile(curve, 0.05);
	const usual = levelLower(curve, { ...EXACT, allowedRatio: 0.95 })!;
	const surer = levelLower(curve, { ...EXACT, allowedRatio: 0.95, confidence: 0.975 })!;
	expect(usual).toBeLessThan(p5);
	expect(surer).toBeLessThan(usual);
});

test('a run too short or too slow has no upper bound of P95', () => {
	expect(levelUpper(link(1, 20), EXACT)).toBeNull();
	expect(levelLower(link(1, 20), EXACT)).toBeNull();
	const builder = new CurveBuilder(0);
	builder.add(150_000, 100);
	builder.add(150_000, 200);
	expect(levelUpper(builder.finish(), EXACT)).toBeNull();
});

test('a perfectly steady delay is its own bound', () => {
	const builder = new CurveBuilder(0);
	for (let i = 0; i < 9000; i++) builder.add(1000 / 30, 120);
	expect(levelUpper(builder.finish(), EXACT)).toBeCloseTo(120, 5);
	expect(levelLower(builder.finish(), EXACT)).toBeCloseTo(120, 5);
});

test('a level over everything seen has the random width that stands where the rig would read if it read low', () => {
	const builder = new CurveBuilder(0);
	for (let ms = 0; ms < 600_000; ms += 100) builder.add(100, ms % 5000 < 200 ? 120 : 80);
	const bounder = new ShareBounder(builder.finish(), {});
	const bare = bounder.at(125);
	const near = bounder.at(115);
	const within = boundWithin(bounder, 125, 10);
	expect(bare).toMatchObject({ shareRatio: 0 });
	expect(within.shareRatio).toBe(0);
	expect(within.upperRatio).toBeCloseTo(near.upperRatio! - near.shareRatio, 12);
	expect(within.upperRatio).toBeGreaterThan(2 * bare.upperRatio!);
	expect(boundWithin(bounder, 125, 0)).toEqual(bare);
	// The mirror: a level under everything seen.
	expect(boundWithin(bounder, 75, 10).lowerRatio).toBeCloseTo(
		1 + bounder.at(85).lowerRatio! - bounder.at(85).shareRatio,
		12,
	);
});

test('where the run gives no bound for what it would see if it read low, it gives none', () => {
	// Bad for 10 s of 300, once: no bound under 200 ms; above it nothing was seen.
	const builder = new CurveBuilder(0);
	for (let ms = 0; ms < 300_000; ms += 100) builder.add(100, ms >= 100_000 && ms < 130_000 ? 200 : 80);
	const bounder = new ShareBounder(builder.finish(), {});
	expect(bounder.at(195).upperRatio).toBeNull();
	const within = boundWithin(bounder, 205, 10);
	expect(within.upperRatio).toBeNull();
	expect(within.noBoundReason).not.toBeNull();
});

test('without the guard band the rig turns a fifth of the runs at the limit into a wrong "met"; with it few', () => {
	const limitMs = levelQuantile(link(99, 20_000), 0.95);
	const random = createRandom(21);
	const rigMs = 0.03 * limitMs;
	const runs = 100;
	let bare = 0;
	let guarded = 0;
	for (let seed = 1; seed <= runs; seed++) {
		const curve = link(seed);
		// True = reading + draw: the reading at the limit is the true curve's at limit + draw.
		const at = limitMs + rigMs * random.normal();
		const { shareRatio, upperRatio } = boundShare(curve, at);
		if (upperRatio! <= 0.05) bare++;
		const ifLowRatio = shareOver(curve, at - Z * rigMs);
		if (combineUpper({ centralRatio: shareRatio, randomUpperRatio: upperRatio!, ifLowRatio }) <= 0.05)
			guarded++;
	}
	expect(bare / runs).toBeGreaterThan(0.15);
	expect(guarded / runs).toBeLessThanOrEqual(0.08);
});

test('the mean of an AR(1) series is as uncertain as n (1 - rho) / (1 + rho) readings say', () => {
	// 1800 readings at rho 0.8 are worth 200 (standards.md 3.5, computed).
	const squares: number[] = [];
	for (let seed = 1; seed <= 40; seed++) {
		const random = createRandom(seed);
		const builder = new CurveBuilder(0);
		let x = random.normal();
		for (let k = 0; k < 1800; k++) {
			builder.add(1000 / 30, x);
			x = 0.8 * x + 0.6 * random.normal();
		}
		squares.push(meanUncertainty(builder.finish())! ** 2);
	}
	const median = squares.sort((a, b) => a - b)[20]!;
	expect(median).toBeGreaterThan(0.8 / 200);
	expect(median).toBeLessThan(1.8 / 200);
});

test('a mean over three seconds has no uncertainty to give', () => {
	const builder = new CurveBuilder(0);
	builder.add(3000, 5);
	expect(meanUncertainty(builder.finish())).toBeNull();
});

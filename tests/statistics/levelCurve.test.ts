import fc from 'fast-check';
import { weightedQuantile } from 'simple-statistics';
import { expect, test } from 'vitest';
import {
	CurveBuilder,
	type LevelCurve,
	levelQuantile,
	maxLevel,
	meanLevel,
	minLevel,
	shareOver,
} from '../../src/statistics/levelCurve.ts';

type Piece = readonly [lengthMs: number, level: number];

function curveOf(slope: 0 | 1, pieces: readonly Piece[]): LevelCurve {
	const builder = new CurveBuilder(slope);
	for (const [lengthMs, level] of pieces) builder.add(lengthMs, level);
	return builder.finish();
}

const somePieces = fc.array(
	fc.tuple(fc.double({ min: 0.01, max: 500, noNaN: true }), fc.double({ min: -50, max: 2000, noNaN: true })),
	{ minLength: 1, maxLength: 60 },
);
const someSlope = fc.constantFrom<0 | 1>(0, 1);

test('a picture shown for 40 ms that was 100 ms old is older than 120 ms for half of its time', () => {
	const curve = curveOf(1, [[40, 100]]);
	expect(shareOver(curve, 120)).toBe(0.5);
	expect(meanLevel(curve)).toBe(120);
	expect(levelQuantile(curve, 0.95)).toBeCloseTo(138, 9);
	expect(maxLevel(curve)).toBe(140);
});

test('a level that does not grow is over a limit for the whole of its piece, and at the limit not over it', () => {
	const curve = curveOf(0, [
		[30, 100],
		[10, 200],
	]);
	expect(shareOver(curve, 150)).toBe(0.25);
	expect(shareOver(curve, 200)).toBe(0);
	expect(levelQuantile(curve, 0.75)).toBe(100);
	expect(levelQuantile(curve, 0.76)).toBe(200);
});

test('minimum, median, P95 and maximum never change places', () => {
	fc.assert(
		fc.property(someSlope, somePieces, (slope, pieces) => {
			const curve = curveOf(slope, pieces);
			const levels = [
				minLevel(curve),
				levelQuantile(curve, 0),
				levelQuantile(curve, 0.5),
				levelQuantile(curve, 0.95),
				levelQuantile(curve, 1),
				maxLevel(curve),
			];
			for (let i = 1; i < levels.length; i++) expect(levels[i]!).toBeGreaterThanOrEqual(levels[i - 1]!);
			expect(levels[4]).toBe(levels[5]);
		}),
	);
});

test('a constant added to every level moves mean and quantiles by it and leaves shares alone', () => {
	fc.assert(
		fc.property(
			someSlope,
			somePieces,
			fc.double({ min: -300, max: 300, noNaN: true }),
			(slope, pieces, constant) => {
				const curve = curveOf(slope, pieces);
				const moved = curveOf(
					slope,
					pieces.map(([lengthMs, level]) => [lengthMs, level + constant]),
				);
				expect(meanLevel(moved)).toBeCloseTo(meanLevel(curve) + constant, 7);
				// A step whose share is the wanted one but for rounding may fall to either side; growing pieces have no steps.
				if (slope === 1)
					for (const order of [0.1, 0.5, 0.95])
						expect(levelQuantile(moved, order)).toBeCloseTo(levelQuantile(curve, order) + constant, 6);
			},
		),
	);
});

test('at most 5 % of the time lies over P95, and more than that lies over anything lower', () => {
	fc.assert(
		fc.property(someSlope, somePieces, (slope, pieces) => {
			const curve = curveOf(slope, pieces);
			const p95 = levelQuantile(curve, 0.95);
			expect(shareOver(curve, p95)).toBeLessThanOrEqual(0.05 + 1e-9);
			if (p95 > minLevel(curve) + 1e-6) expect(shareOver(curve, p95 - 1e-6)).toBeGreaterThan(0.05 - 1e-9);
		}),
	);
});

test('where levels stay, the weighted quantile of a general-purpose library is the same', () => {
	const whole = fc.array(fc.tuple(fc.integer({ min: 1, max: 50 }), fc.integer({ min: 0, max: 30 })), {
		minLength: 1,
		maxLength: 50,
	});
	fc.assert(
		fc.property(whole, fc.constantFrom(0.25, 0.5, 0.75), (pieces, order) => {
			const lengths = pieces.map(([lengthMs]) => lengthMs);
			const levels = pieces.map(([, level]) => level);
			expect(levelQuantile(curveOf(0, pieces), order)).toBe(weightedQuantile(levels, lengths, order));
		}),
	);
});

test('mean age is the content-weighted delay plus half the content gap, exactly (identity A1)', () => {
	// Holds: sum H D / sum H + sum H^2 / (2 sum H). Content: sum G D / sum G + sum G^2 / (2 sum G), the same area cut the
	// other way; it closes when the stretch begins and ends with the same age.
	const gaps = fc.array(
		fc.record({
			gapMs: fc.double({ min: 1, max: 400, noNaN: true }),
			delayMs: fc.double({ min: 0, max: 900, noNaN: true }),
		}),
		{ minLength: 2, maxLength: 50 },
	);
	fc.assert(
		fc.property(gaps, (pictures) => {
			const takenMs: number[] = [0];
			const seenMs: number[] = [100];
			for (const { gapMs, delayMs } of pictures) {
				takenMs.push(takenMs.at(-1)! + gapMs);
				// Pictures keep their order on the screen.
				seenMs.push(Math.max(seenMs.at(-1)! + 0.001, takenMs.at(-1)! + delayMs));
			}
			// One more picture, as late as the first, closes the stretch.
			const closing = Math.max(seenMs.at(-1)! + 0.001 - 100, takenMs.at(-1)! + 1);
			takenMs.push(closing);
			seenMs.push(closing + 100);
			const builder = new CurveBuilder(1);
			let gapSum = 0;
			let gapDelay = 0;
			let gapSquares = 0;
			for (let k = 1; k < takenMs.length; k++) {
				builder.add(seenMs[k]! - seenMs[k - 1]!, seenMs[k - 1]! - takenMs[k - 1]!);
				const gap = takenMs[k]! - takenMs[k - 1]!;
				gapSum += gap;
				gapDelay += gap * (seenMs[k]! - takenMs[k]!);
				gapSquares += gap * gap;
			}
			const contentForm = gapDelay / gapSum + gapSquares / (2 * gapSum);
			expect(Math.abs(meanLevel(builder.finish()) - contentForm)).toBeLessThan(1e-9 * (1 + contentForm));
		}),
	);
});

test('a curve takes no negative time, no missing level, and is not empty', () => {
	const builder = new CurveBuilder(1);
	expect(() => builder.finish()).toThrow(RangeError);
	expect(() => builder.add(-1, 0)).toThrow('-1');
	expect(() => builder.add(1, Number.NaN)).toThrow(RangeError);
	expect(() => builder.add(Number.POSITIVE_INFINITY, 0)).toThrow(RangeError);
	builder.add(0, 5);
	builder.break();
	builder.add(1, 7);
	expect(builder.finish()).toMatchObject({ count: 1, totalMs: 1, segmentStarts: [0] });
});

test('eight hours at 60 pictures a second keep every piece', () => {
	const builder = new CurveBuilder(1);
	const count = 8 * 3600 * 60;
	for (let i = 0; i < count; i++) builder.add(1000 / 60, i % 20 === 0 ? 300 : 100);
	const curve = builder.finish();
	expect(curve.count).toBe(count);
	expect(shareOver(curve, 200)).toBeCloseTo(0.05, 9);
});

import { describe, expect, test } from 'vitest';
import { measureEdge } from '../../src/imaging/edgeResponse.ts';
import { flushRepeats, measureLensClear, type Sighting } from '../../src/metrics/lensClear.ts';
import { measureSmear } from '../../src/metrics/motionSmear.ts';
import { measurePulseKept } from '../../src/metrics/pulseKept.ts';
import { createRandom } from '../../src/statistics/random.ts';
import { madeEdge } from '../imaging/madeEdges.ts';

/** Clean for 2 s, smeared at 2 s, flushed at `flushMs`, then back to `back` of clean with that time constant. */
function clearing(
	rateHz: number,
	{
		flushMs,
		constantMs,
		back = 1,
		noise = 0,
	}: { flushMs: number; constantMs: number; back?: number; noise?: number },
): Sighting[] {
	const random = createRandom(3);
	return Array.from({ length: 12 * rateHz }, (_, i) => {
		const atMs = (i * 1000) / rateHz;
		const clean = 0.3;
		const low = 0.08;
		const value =
			atMs < 2000
				? clean
				: atMs < flushMs
					? low
					: low + (back * clean - low) * (1 - Math.exp(-(atMs - flushMs) / constantMs));
		return { atMs, value: value + noise * random.normal() };
	});
}

describe.each([25, 30, 60])('at %d pictures a second', (rateHz) => {
	const frameMs = 1000 / rateHz;

	test('the time to nine tenths of clean is right to one picture, flush marked or found', () => {
		const truth = 700 * Math.log(10);
		for (const flushMs of [null, 5000]) {
			const clear = measureLensClear(clearing(rateHz, { flushMs: 5000, constantMs: 700 }), {
				cleanUntilMs: 2000,
				flushMs,
			});
			if (clear.kind === 'notMeasured') throw new Error(clear.explanation);
			const endMs = clear.flushMs + clear.toNineTenthsMs!;
			expect(Math.abs(endMs - 5000 - truth)).toBeLessThan(frameMs);
			if (flushMs !== null) expect(Math.abs(clear.toNineTenthsMs! - truth)).toBeLessThan(frameMs);
			else expect(Math.abs(clear.flushMs - 5000)).toBeLessThan(0.11 * 700 + frameMs);
		}
	});

	test('a pulse of a pixel is kept to 5 % and its lag to 20 ms, through a late and coarser picture', () => {
		const random = createRandom(8);
		for (const ratePerMin of [15, 28, 44, 60]) {
			const place = (atMs: number) => 40 + 1.2 * Math.cos((2 * Math.PI * ratePerMin * atMs) / 60_000);
			const times = Array.from({ length: 20 * rateHz }, (_, i) => i * frameMs);
			const source = times.map((atMs) => ({ atMs, px: place(atMs) }));
			const seen = times.map((atMs) => ({
				atMs,
				px: 0.8 * (place(atMs - 130) - 40) + 12 + 0.15 * random.normal(),
			}));
			const pulse = measurePulseKept(source, seen);
			if (pulse.kind === 'notMeasured') throw new Error(pulse.explanation);
			expect(Math.abs(pulse.ratePerMin / ratePerMin - 1)).toBeLessThan(0.01);
			expect(Math.abs(pulse.keptRatio / 0.8 - 1)).toBeLessThan(0.05);
			expect(Math.abs(pulse.lagMs - 130)).toBeLessThan(20);
		}
	});
});

test('what never comes back says so by what remains', () => {
	const clear = measureLensClear(clearing(25, { flushMs: 5000, constantMs: 500, back: 0.8 }), {
		cleanUntilMs: 2000,
		flushMs: null,
	});
	expect(clear).toMatchObject({ kind: 'measured', toNineTenthsMs: null });
	if (clear.kind === 'measured') expect(clear.remainsRatio).toBeCloseTo(0.2, 2);
});

test('under noise of a twentieth the time holds to a tenth of a second', () => {
	const clear = measureLensClear(clearing(30, { flushMs: 5000, constantMs: 400, noise: 0.005 }), {
		cleanUntilMs: 2000,
		flushMs: 5000,
	});
	if (clear.kind === 'notMeasured') throw new Error(clear.explanation);
	expect(Math.abs(clear.toNineTenthsMs! - 400 * Math.log(10))).toBeLessThan(150);
});

test('a lens that was never smeared has nothing to clear, and a series must be in order', () => {
	const clean = Array.from({ length: 30 }, (_, i) => ({ atMs: i * 40, value: 0.3 }));
	expect(measureLensClear(clean, { cleanUntilMs: 400, flushMs: null })).toMatchObject({
		reason: 'notSmeared',
	});
	expect(measureLensClear(clean.slice(0, 5), { cleanUntilMs: 400, flushMs: null })).toMatchObject({
		reason: 'tooFewPictures',
	});
	expect(() => measureLensClear(clean.toReversed(), { cleanUntilMs: 400, flushMs: null })).toThrow(
		RangeError,
	);
});

test('several flushes are told by their middle, their range and those that failed', () => {
	const flush = (toNineTenthsMs: number | null) => ({
		kind: 'measured' as const,
		flushMs: 0,
		flushFound: 'marked' as const,
		clean: 1,
		low: 0.2,
		toNineTenthsMs,
		remainsRatio: 0,
	});
	expect(flushRepeats([900, 1300, null, 1000].map(flush))).toEqual({
		count: 3,
		middleMs: 1000,
		rangeMs: 400,
		neverCount: 1,
	});
	expect(flushRepeats([flush(null)])).toBeNull();
});

test('a movement shorter than two periods is no pulse', () => {
	const short = Array.from({ length: 30 }, (_, i) => ({ atMs: i * 40, px: Math.sin(i / 5) }));
	expect(measurePulseKept(short, short)).toMatchObject({ reason: 'tooShort' });
});

test('the shutter is told from how much an edge widens as it moves', () => {
	const spec = { sidePx: 80, sigmaPx: 1, angleDeg: 6, contrast: 4 };
	const still = madeEdge(spec);
	const moving = { ...still, data: still.data.slice() };
	// Open for 10 ms at 0.6 px/ms: the mean of seven places over 6 px along the row.
	for (let at = 3; at < still.data.length - 3; at++) {
		let sum = 0;
		for (let away = -3; away <= 3; away++) sum += still.data[at + away]!;
		moving.data[at] = sum / 7;
	}
	const [a, b] = [measureEdge(still), measureEdge(moving)];
	if (a.kind === 'notMeasured' || b.kind === 'notMeasured') throw new Error('not measured');
	const smear = measureSmear(a, b, 0.6);
	expect(Math.abs(smear.smearPx / 7 - 1)).toBeLessThan(0.12);
	expect(smear.detailKeptRatio).toBeLessThan(0.6);
	expect(() => measureSmear(a, b, 0)).toThrow(RangeError);
});

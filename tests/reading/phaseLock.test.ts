import fc from 'fast-check';
import { expect, test } from 'vitest';
import { beatFactor, findBeat, lockAmplitude } from '../../src/reading/phaseLock.ts';
import { fitStaircase, staircaseReading } from '../../src/reading/staircase.ts';
import { createRandom } from '../../src/statistics/random.ts';

/** Greatest distance of the mean index of an exposure from its mean over phases, by counting. */
function bruteAmplitude(lattice: number, exposure: number): number {
	const offs: number[] = [];
	for (let phase = 0; phase < 400; phase++) {
		const start = (phase / 400) * lattice;
		let sum = 0;
		for (let i = 0; i < 4000; i++)
			sum += Math.floor((start + ((i + 0.5) / 4000) * exposure) / lattice) / 4000;
		offs.push(sum * lattice - (start + exposure / 2 - lattice / 2));
	}
	return (Math.max(...offs) - Math.min(...offs)) / 2;
}

test('the amplitude of one phase is what counting gives', () => {
	for (const [lattice, exposure] of [
		[16.7, 10],
		[16.7, 2],
		[8.3, 12],
		[8.3, 20],
		[16.7, 33],
	] as const)
		expect(lockAmplitude(lattice, exposure)).toBeCloseTo(bruteAmplitude(lattice, exposure), 1);
});

test('an exposure of whole lattices leaves nothing', () => {
	fc.assert(
		fc.property(
			fc.double({ min: 1, max: 30, noNaN: true }),
			fc.integer({ min: 1, max: 6 }),
			(lattice, times) => {
				expect(lockAmplitude(lattice, lattice * times)).toBeLessThan(1e-6 * lattice);
			},
		),
	);
	expect(() => lockAmplitude(0, 1)).toThrow(RangeError);
});

test('whole beats leave nothing, the worst of broken ones a quarter over their number', () => {
	for (const cycles of [1, 2, 7]) expect(beatFactor(cycles)).toBe(0);
	expect(beatFactor(2.5)).toBeCloseTo(0.1, 12);
	expect(beatFactor(0.3)).toBe(1);
});

test('60 Hz filmed at 120 is locked in two parts, a 25 Hz scope on it in five', () => {
	expect(findBeat(0.5, 1000)).toEqual({ parts: 2, cycles: 0 });
	expect(findBeat(2.4, 500).parts).toBe(5);
	expect(findBeat(2, 500)).toEqual({ parts: 1, cycles: 0 });
	expect(findBeat(2.002, 500).cycles).toBeCloseTo(1, 6);
});

test('averaged over all phases a staircase reads time less half a tick less the response', () => {
	for (const [exposure, response] of [
		[0.2, 0.25],
		[0.9, 0.1],
		[2.3, 0.5],
	] as const) {
		let sum = 0;
		for (let i = 0; i < 1000; i++) sum += (staircaseReading(i / 1000, exposure, response) - i / 1000) / 1000;
		expect(sum).toBeCloseTo(-0.5 - response, 2);
	}
});

test('half of a beat is enough for the clock fit to find the phase, a tenth is not and is refused', () => {
	const swept = (cycles: number) => {
		const random = createRandom(4);
		const times = Float64Array.from({ length: 300 }, (_, i) => i);
		const slope = 2 + cycles / 300;
		const ticks = times.map(
			(time) => staircaseReading(50.2 + slope * time, 0.6, 0.25) + 0.03 * random.normal(),
		);
		return fitStaircase({ times, ticks, line: { offset: 49.45, slope } }, 0.25);
	};
	const half = swept(0.6)!;
	expect(half.coverage).toBeGreaterThan(0.4);
	expect(half.residual).toBeLessThan(0.1);
	expect(half.offset + half.slope * 150).toBeCloseTo(50.2 + (2 + 0.002) * 150, 0);
	expect(swept(0.1)).toBeNull();
});

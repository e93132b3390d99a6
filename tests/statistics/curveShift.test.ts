import { expect, test } from 'vitest';
import { CurveShift, type Measured } from '../../src/statistics/curveShift.ts';
import { CurveBuilder, type LevelCurve, shareOver } from '../../src/statistics/levelCurve.ts';
import { createRandom } from '../../src/statistics/random.ts';

const EXACT = { centreMs: 0, standardMs: 0, immaterialMs: 0 };

/** Pieces of 40 ms, each level drawn anew from a uniform number. */
function drawn(seed: number, level: (u: number, random: () => number) => number, seconds = 120): LevelCurve {
	const random = createRandom(seed);
	const builder = new CurveBuilder(0);
	for (let i = 0; i < seconds * 25; i++)
		builder.add(
			40,
			level(random.next(), () => random.next()),
		);
	return builder.finish();
}

const exactly = (curve: LevelCurve): Measured => ({ curve, ...EXACT });
/** Twenty ms and an exponential tail of 6. */
const link = (u: number): number => 20 - 6 * Math.log(1 - u);
/** The same, but 400 ms for 1.2 % of the time. */
const spells = (u: number): number => (u < 0.012 ? 400 : link((u - 0.012) / 0.988));
const home = exactly(drawn(2, link));

test('a link that is the same is hardly added to, and one that is later by a constant by that constant and as little more', () => {
	const same = new CurveShift(exactly(drawn(1, link)), home).leaving(0.03)!;
	expect(same).toBeGreaterThanOrEqual(0);
	expect(same).toBeLessThan(8);
	const later = new CurveShift(exactly(drawn(1, (u) => 60 + link(u))), home).leaving(0.03)!;
	expect(later - 60).toBeCloseTo(same, 4);
});

test('a link that is better here is not credited with it', () => {
	expect(new CurveShift(exactly(drawn(1, (u) => link(u) - 15)), home).leaving(0.03)).toBe(0);
});

test('what comes for 1.2 % of the time is left out where 3 % may be, and added in full where half a percent may be', () => {
	const shift = new CurveShift(exactly(drawn(3, spells, 310)), home);
	expect(shift.leaving(0.03)).toBeLessThan(60);
	expect(shift.leaving(0.005)).toBeGreaterThan(340);
});

test('whatever stands before the link, the sum is over a limit no more than the sum at home over the limit less the addition, and the share left', () => {
	const scope = (random: () => number): number => 90 + 70 * random();
	const atHome = drawn(5, (u, random) => link(u) + scope(random));
	for (const [seed, air] of [link, spells, (u: number) => 30 + 2 * link(u)].entries()) {
		const shift = new CurveShift(exactly(drawn(10 + seed, air)), home);
		const here = drawn(20 + seed, (u, random) => air(u) + scope(random));
		const added = shift.leaving(0.03)!;
		for (const limit of [120, 150, 170, 190, 220, 300])
			expect(shareOver(here, limit)).toBeLessThanOrEqual(shareOver(atHome, limit - added) + 0.03);
	}
});

test('what lies between two of the shares that are looked at is not passed over', () => {
	const shareAt100 = (share: number) => (u: number) => (u < share ? 100 : 10);
	const shift = new CurveShift(exactly(drawn(1, shareAt100(0.44))), exactly(drawn(2, shareAt100(0.36))));
	// Over 50 for 8 % more of the time, of which 3 may be left out.
	expect(shift.leaving(0.03)).toBeCloseTo(90, 4);
});

test('where the lowest levels alone are higher, the least level at home counts, less its doubt', () => {
	const even = (u: number): number => 100 * u;
	const here = exactly(drawn(1, (u) => Math.max(30, even(u))));
	const sure = new CurveShift(here, exactly(drawn(2, even))).leaving(0.03)!;
	expect(sure).toBeGreaterThan(29);
	expect(sure).toBeLessThan(32);
	const unsure = new CurveShift(here, { ...exactly(drawn(2, even)), standardMs: 2 }).leaving(0.03)!;
	expect(unsure - sure).toBeGreaterThan(1.645 * 2 * 0.7);
});

test('the doubts of both runs are added, each on its own side', () => {
	const here = drawn(1, link);
	const sure = new CurveShift(exactly(here), home).leaving(0.03)!;
	const unsure = new CurveShift({ ...exactly(here), standardMs: 3 }, { ...home, standardMs: 2 }).leaving(
		0.03,
	)!;
	expect(unsure - sure).toBeGreaterThan(1.645 * (3 + 2) * 0.6);
	const oneSided = new CurveShift({ ...exactly(here), centreMs: 8 }, home).leaving(0.03)!;
	expect(oneSided - sure).toBeCloseTo(8, 4);
});

test('a run too short for bounds gives none, and a share that is none is refused', () => {
	const shift = new CurveShift(exactly(drawn(1, link, 10)), home);
	expect(shift.leaving(0.03)).toBeNull();
	expect(() => shift.leaving(0)).toThrow(RangeError);
	expect(() => shift.leaving(1)).toThrow(RangeError);
});

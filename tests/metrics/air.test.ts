import { expect, test } from 'vitest';
import { measureAir } from '../../src/metrics/air.ts';
import { airWaysOf } from '../../src/metrics/airWays.ts';
import { candidateCauses } from '../../src/metrics/repeatCauses.ts';
import { findRepeating } from '../../src/metrics/repeating.ts';
import { packProbes } from '../../src/observations/probes.ts';
import type { Run } from '../../src/observations/run.ts';
import { createRandom } from '../../src/statistics/random.ts';
import { madeRun, madeSegment, steadyFrames } from './madeRun.ts';

type Way = Run['probes'][number]['way'];

/** Probes at 50 a second, jittered; `delayOf` gives a delay, or null for lost. */
function probesOf(way: Way, spanS: number, delayOf: (sentMs: number, i: number) => number | null) {
	const random = createRandom(way === 'toViewer' ? 1 : 2);
	const packets = Array.from({ length: spanS * 50 }, (_, i) => {
		const sentMs = (i + random.next()) * 20;
		const delayMs = delayOf(sentMs, i);
		return { sequence: i, sentMs, receivedMs: delayMs === null ? null : sentMs + delayMs };
	});
	return packProbes(packets, { segment: 0, way });
}

function runOf(spanS: number, probes: Run['probes']): Run {
	const frames = steadyFrames(spanS * 25, () => 50);
	return madeRun({ frames, probes, segments: [madeSegment({ endMs: spanS * 1000 })] });
}

test('the two ways are told apart, and delay counts from its least, whatever the clocks say', () => {
	const down = probesOf('toViewer', 20, (_, i) =>
		i % 100 === 50 || i % 100 === 52 ? null : 1000 + (i % 10),
	);
	const up = probesOf('toBench', 20, () => -300);
	const air = measureAir(runOf(20, [down, up]));
	if (air.kind !== 'measured') throw new Error(air.explanation);
	const [toViewer, toBench] = air.ways;
	expect(toViewer).toMatchObject({
		way: 'toViewer',
		carriedBy: 'probes',
		sent: 1000,
		lost: 20,
		lostRatio: 0.02,
	});
	expect(toViewer?.pdvMaxMs).toBeCloseTo(9, 2);
	expect(toViewer?.bursts).toMatchObject({ count: 10, densityRatio: 2 / 3, gapDensityRatio: 0 });
	expect(toViewer?.closeLossRatio).toBeCloseTo(0.5, 10);
	expect(toBench).toMatchObject({ way: 'toBench', lost: 0, gilbert: null, reordered: 0 });
	expect(toBench?.pdvMaxMs).toBeCloseTo(0, 2);
});

test('packets that overtake one another are counted as reordered', () => {
	const air = measureAir(runOf(4, [probesOf('toViewer', 4, (_, i) => (i % 50 === 10 ? 100 : 5))]));
	expect(air.kind === 'measured' && air.ways[0]).toMatchObject({ reordered: 4, lost: 0 });
});

test('of thirty packets of which one came there is no change of delay, and no failure', () => {
	const air = measureAir(runOf(2, [probesOf('toViewer', 2, (_, i) => (i === 20 ? 5 : null))]));
	expect(air.kind === 'measured' && air.ways[0]).toMatchObject({ sent: 100, lost: 99, ipdvP95Ms: 0 });
});

test('a way none of whose probes was sent in the observed time does not thin the chance of the other', () => {
	const probes = [probesOf('toViewer', 20, () => 5), probesOf('toBench', 4, () => 5)];
	const frames = steadyFrames(500, () => 30);
	const run = madeRun({ frames, probes, segments: [madeSegment({ warmUpUntilMs: 5000, endMs: 20_000 })] });
	expect(airWaysOf(run).map(({ way }) => way)).toEqual(['toViewer']);
});

test('without probes the pictures themselves tell of the way to the viewer', () => {
	const run = madeRun({ frames: steadyFrames(100, (i) => (i === 5 ? null : 30 + (i % 3))) });
	const air = measureAir(run);
	expect(air.kind === 'measured' && air.ways).toMatchObject([
		{ way: 'toViewer', carriedBy: 'pictures', sent: 100, lost: 1 },
	]);
	expect(measureAir(madeRun({ frames: steadyFrames(10, () => 30) })).kind).toBe('notMeasured');
});

test('what travelled during warm-up says nothing of the air, probes or pictures', () => {
	const segments = [madeSegment({ warmUpUntilMs: 4000, endMs: 20_000 })];
	const frames = steadyFrames(500, (i) => (i < 100 ? null : 30));
	// Everything is lost before the end of warm-up, nothing after.
	const probes = [probesOf('toViewer', 20, (sentMs) => (sentMs < 4000 ? null : 5))];
	const [probed, pictured] = [probes, []].map((some) =>
		measureAir(madeRun({ frames, probes: some, segments })),
	);
	expect(probed?.kind === 'measured' && probed.ways[0]).toMatchObject({
		carriedBy: 'probes',
		sent: 800,
		lost: 0,
	});
	expect(pictured?.kind === 'measured' && pictured.ways[0]).toMatchObject({
		carriedBy: 'pictures',
		sent: 400,
		lost: 0,
	});
});

test('what was sent when the observed time was over says nothing of the air', () => {
	const probes = [probesOf('toViewer', 20, (sentMs) => (sentMs < 16_000 ? 5 : null))];
	const frames = steadyFrames(500, () => 30);
	const air = measureAir(madeRun({ frames, probes, segments: [madeSegment({ endMs: 16_000 })] }));
	expect(air.kind === 'measured' && air.ways[0]).toMatchObject({ sent: 800, lost: 0 });
});

test('losses that come in runs are fewer readings, and bound the loss less well', () => {
	const bound = (delayOf: (sentMs: number, i: number) => number | null): number => {
		const air = measureAir(runOf(40, [probesOf('toViewer', 40, delayOf)]));
		if (air.kind !== 'measured') throw new Error(air.explanation);
		expect(air.ways[0]?.lost).toBe(40);
		return air.ways[0]!.lostUpperRatio;
	};
	const single = bound((_, i) => (i % 50 === 20 ? null : 5));
	// Of Wilson's interval for 40 of 2,000, one-sided 95 %: computed.
	expect(single).toBeCloseTo(0.02581, 4);
	expect(bound((_, i) => (i % 500 < 10 ? null : 5))).toBeGreaterThan(1.5 * single);
});

test('a picture that came too late is lost to the air, one that came and was not drawn is not', () => {
	const frames = steadyFrames(100, (i) => (i === 5 || i === 9 ? null : 30)).map((frame, i) =>
		i === 5 || i === 9 ? { ...frame, fate: i === 5 ? ('late' as const) : ('notDrawn' as const) } : frame,
	);
	const air = measureAir(madeRun({ frames }));
	expect(air.kind === 'measured' && air.ways[0]).toMatchObject({ carriedBy: 'pictures', sent: 99, lost: 1 });
});

test('of two ways looked at, the chance that is told is for both together', () => {
	const random = createRandom(11);
	const pulsed = (sentMs: number) => (sentMs % 1250 < 90 ? null : 5 + random.exponential(2));
	const down = probesOf('toViewer', 60, pulsed);
	const quiet = probesOf('toBench', 60, () => 5 + random.exponential(2));
	const chance = (probes: Run['probes']): number => {
		const found = findRepeating(runOf(60, probes));
		if (found.kind !== 'measured') throw new Error(found.explanation);
		expect(found.repeats).toHaveLength(1);
		return found.repeats[0]!.falseAlarmRatio;
	};
	expect(chance([down, quiet]) / chance([down])).toBeCloseTo(2, 6);
});

test('a period as clear as chance shows in one run of a hundred and thirty is told of one way, and of two looked at not', () => {
	const noise = createRandom(11);
	const faint = probesOf(
		'toViewer',
		30,
		(sentMs) => 5 + noise.exponential(2) + (sentMs % 1250 < 90 ? 1.27 : 0),
	);
	const quiet = probesOf('toBench', 30, () => 5 + noise.exponential(2));
	const chances = (probes: Run['probes']): number[] => {
		const found = findRepeating(runOf(30, probes));
		if (found.kind !== 'measured') throw new Error(found.explanation);
		return found.repeats.map(({ falseAlarmRatio }) => falseAlarmRatio);
	};
	const [alone, ...others] = chances([faint]);
	expect(others).toEqual([]);
	// Between half of the stated 1 % and all of it.
	expect(alone).toBeGreaterThan(0.0055);
	expect(alone).toBeLessThan(0.0095);
	expect(chances([faint, quiet])).toEqual([]);
});

test('the refreshes of the display that the page draws for are our own, and not found', () => {
	const noise = createRandom(12);
	const probes = [
		probesOf('toViewer', 30, (sentMs) => 5 + noise.exponential(2) + ((sentMs / 34) % 1 < 0.3 ? 2 : 0)),
	];
	const found = (displayPeriodMs: number | null): number[] => {
		const repeating = findRepeating({
			...runOf(30, probes),
			header: { ...runOf(30, probes).header, displayPeriodMs },
		});
		if (repeating.kind !== 'measured') throw new Error(repeating.explanation);
		return repeating.repeats.map(({ periodS }) => periodS);
	};
	expect(found(34)).toEqual([]);
	expect(found(null)).toEqual([expect.closeTo(0.034, 5)]);
});

test('a pulse that hits both ways is one thing that repeats, with candidates to look for and none named as found', () => {
	const random = createRandom(9);
	const pulsed = (sentMs: number) => (sentMs % 1250 < 90 ? null : 5 + random.exponential(2));
	const run = runOf(60, [probesOf('toViewer', 60, pulsed), probesOf('toBench', 60, pulsed)]);
	const found = findRepeating(run);
	if (found.kind !== 'measured') throw new Error(found.explanation);
	expect(found.toldBelowRatio).toBe(0.01);
	expect(found.repeats).toHaveLength(1);
	const [repeat] = found.repeats;
	expect(repeat).toMatchObject({ bothWays: true });
	expect(Math.abs(repeat!.periodS - 1.25)).toBeLessThan(repeat!.periodUncertaintyS);
	const causes = candidateCauses(repeat!.periodS, repeat!.periodUncertaintyS);
	expect(causes.map(({ id }) => id)).toEqual(['fence']);
});

test("pictures' own period, and that of key pictures, are put aside and never found", () => {
	const random = createRandom(10);
	const withKeys = (sentMs: number) => 5 + random.exponential(2) + (sentMs % 1000 < 60 ? 40 : 0);
	const run = runOf(60, [probesOf('toViewer', 60, withKeys)]);
	const own = { ...run, header: { ...run.header, path: { ...run.header.path!, keyEveryFrames: 25 } } };
	const found = findRepeating(own);
	if (found.kind !== 'measured') throw new Error(found.explanation);
	expect(found.repeats).toEqual([]);
	expect(found.ownPeriodsS).toEqual([0.04, 0.25, 1]);
});

test('every candidate names its source or that it has none, and no attempt touches a fence without its owner', () => {
	const all = [0.01, 0.02, 1 / 60, 0.04, 0.1024, 1.25, 2, 10].flatMap((s) => candidateCauses(s, 0.001));
	expect(new Set(all.map(({ id }) => id)).size).toBe(6);
	for (const { source, attempt } of all) {
		expect(source).toMatch(/no source|common practice|memory|arithmetic/);
		if (attempt.includes('fence')) expect(attempt).toMatch(/owner.*never switch it off yourself/);
	}
	expect(candidateCauses(0.7, 0.001)).toEqual([]);
});

import { describe, expect, test } from 'vitest';
import { measureColour } from '../../src/metrics/colour.ts';
import { measureFidelity } from '../../src/metrics/fidelity.ts';
import { lightFigures } from '../../src/metrics/light.ts';
import { measureMotion } from '../../src/metrics/motion.ts';
import { measureSmear } from '../../src/metrics/motionSmear.ts';
import { viewFigures } from '../../src/metrics/view.ts';
import type { Header } from '../../src/observations/records.ts';
import type { DetailSample } from '../../src/observations/run.ts';
import { motionRows } from '../../src/report/motionRows.ts';
import { lightRows, viewRows } from '../../src/report/viewRows.ts';
import { madeSamples, smallCard } from './madeCard.ts';
import { madeRun, madeSegment } from './madeRun.ts';

const NOTHING_READ: DetailSample = {
	...{ segment: 0, frameNumber: 0, atMs: 0, edges: [], lines: [], noise: [] },
	...{ blockinessRatio: null, chromaBleedRatio: null, rimLightRatio: null },
};

function fidelityOf(details: readonly Partial<DetailSample>[]) {
	const fidelity = measureFidelity(
		madeRun({
			frames: [],
			segments: [madeSegment({ warmUpUntilMs: 0, endMs: 100_000 })],
			header: { patches: [...smallCard] },
			details: details.map((detail) => ({ ...NOTHING_READ, atMs: 1000, ...detail })),
		}),
	);
	if (fidelity?.kind !== 'measured') throw new Error('not measured');
	return fidelity;
}

const grey = (
	patch: string,
	signalToNoiseRatio: number,
	over: Partial<DetailSample['noise'][number]> = {},
) => ({
	...{ patch, meanRatio: signalToNoiseRatio / 100, temporalRatio: null, fixedPatternRatio: 0.01 },
	...{ signalToNoiseRatio, frozen: false },
	...over,
});

test('a grey is called frozen only when it stood still in every look', () => {
	const look = (frozen: boolean) => ({ noise: [grey('grey', 40, { frozen })] });
	expect(fidelityOf([look(true), look(true)]).noise[0]!.frozen).toBe(true);
	expect(fidelityOf([look(true), look(false), look(true)]).noise[0]!.frozen).toBe(false);
});

test('grey lines have no redness to be seen, and coloured ones beside them have', () => {
	const line = (width: number, chromaRatio: number | null) =>
		(['across', 'down'] as const).map((axis) => ({
			...{ width, unit: 'mm' as const, axis, lumaRatio: 0.5, chromaRatio },
			...{ seen: true, seenByColour: chromaRatio !== null },
		}));
	const lines = [...line(2, null), ...line(1, 0.5)];
	expect(fidelityOf([{ lines }]).smallestSeenByColour).toEqual({ width: 1, unit: 'mm' });
	expect(fidelityOf([{ lines: line(2, null) }]).smallestSeenByColour).toBeNull();
});

test('a line that is seen in half of the pictures is not seen in most', () => {
	const lines = (fineSeen: boolean) => [
		{
			...{ width: 4, unit: 'px' as const, axis: 'across' as const, lumaRatio: 0.5, chromaRatio: null },
			seen: true,
			seenByColour: false,
		},
		{
			...{ width: 1, unit: 'px' as const, axis: 'across' as const, lumaRatio: 0.5, chromaRatio: null },
			seen: fineSeen,
			seenByColour: false,
		},
	];
	const smallest = (...seen: readonly boolean[]) =>
		fidelityOf(seen.map((fine) => ({ lines: lines(fine) }))).smallestSeen?.width;
	expect(smallest(true, false)).toBe(4);
	expect(smallest(true, false, true)).toBe(1);
});

test('of each light the middle grey is told, and what the dim view keeps of the bright one', () => {
	const look = (
		light: 'bright' | 'dim',
		[low, dark, middle, high]: readonly number[],
		mtf50CyPx: number,
	) => ({
		...NOTHING_READ,
		light,
		noise: [grey('black', low!), grey('dark', dark!), grey('middle', middle!), grey('light', high!)],
		edges: [{ place: 'middle', axis: 'across' as const, mtf50CyPx, mtf10CyPx: null, overshootRatio: 0 }].map(
			(edge) => ({ ...edge, referenceMtf50CyPx: null }),
		),
	});
	const figures = lightFigures([look('bright', [5, 10, 40, 90], 0.4), look('dim', [2, 4, 10, 80], 0.1)]);
	expect(figures.byLight).toMatchObject([
		{ light: 'bright', greyRatio: 0.4, mtf50CyPx: 0.4, signalToNoiseRatio: 40 },
		{ light: 'dim', greyRatio: 0.1, mtf50CyPx: 0.1, signalToNoiseRatio: 10 },
	]);
	const rows = lightRows({ ...fidelityOf([{}]), ...figures });
	expect(rows[1]![1]).toMatch(
		/^its middle grey at 10.0\s% of white; 25.0\s% of the bright view’s detail, 25.0\s% of its signal over noise$/,
	);
	expect(lightFigures([NOTHING_READ])).toEqual({});
});

describe('of nine edges from the middle to the corner', () => {
	const at = (fieldRatio: number, mtf50CyPx: number, pxPerMm = 10) => ({
		...{ place: `at ${fieldRatio}`, axis: 'across' as const, mtf50CyPx, mtf10CyPx: null, overshootRatio: 0 },
		...{ referenceMtf50CyPx: null, pxPerMm, fieldRatio },
	});
	const viewOf = (edges: DetailSample['edges']) => viewFigures([{ ...NOTHING_READ, edges }]).centreAndEdge;

	test('the nearest third stands beside the farthest, in cycles a millimetre, where the lens squeezes too', () => {
		const near = [0, 0.05, 0.1].map((field) => at(field, 0.4));
		const between = [0.2, 0.25, 0.3].map((field) => at(field, 0.1));
		// Half the pixels to a millimetre: as sharp in pixels is half as sharp on the card.
		const far = [0.5, 0.55, 0.6].map((field) => at(field, 0.4, 5));
		expect(viewOf([...far, ...between, ...near])).toEqual({
			...{ nearRatio: 0.05, farRatio: 0.55, nearMtf50CyPerMm: 4, farMtf50CyPerMm: 2, keptRatio: 0.5 },
		});
	});

	test('of a card read unscaled the edges of every picture stand together, by their pixels', () => {
		const unscaled = (fieldRatio: number, mtf50CyPx: number) => {
			const { pxPerMm: _, ...edge } = at(fieldRatio, mtf50CyPx);
			return edge;
		};
		// Two that stand are sharper than the two that lie: parted, the middle would tell the one from the other.
		const picture = [unscaled(0.25, 0.4), unscaled(0.25, 0.2), unscaled(0.75, 0.2), unscaled(0.75, 0.1)];
		for (const pictures of [1, 2, 5])
			expect(viewOf(Array.from({ length: pictures }, () => picture).flat())).toEqual({
				...{ nearRatio: 0.25, farRatio: 0.75, nearMtf50CyPx: expect.closeTo(0.3, 9) },
				...{ farMtf50CyPx: expect.closeTo(0.15, 9), keptRatio: expect.closeTo(0.5, 9) },
			});
		expect(viewOf(picture.slice(1))).toBeUndefined();
	});

	test('edges that lie equally far out, or too few of them, tell of no centre and edge', () => {
		const alike = Array.from({ length: 9 }, (_, i) => at(0.3 + i / 200, 0.4));
		expect(viewOf(alike)).toBeUndefined();
		expect(viewOf([0, 0.1, 0.2, 0.4, 0.5].map((field) => at(field, 0.4)))).toBeUndefined();
	});
});

test('a barrel bends lines outwards and a cushion inwards', () => {
	const said = (bendRatio: number) =>
		viewRows({ ...fidelityOf([{}]), view: { pxPerMm: 10, widthMm: 90, bendRatio } })[0]![1];
	expect(said(-0.2)).toMatch(/outwards, as a barrel/);
	expect(said(0.2)).toMatch(/inwards, as a cushion/);
	expect(said(0.002)).toMatch(/stay straight/);
});

type Moved = NonNullable<DetailSample['motion']>;

describe('parts that move', () => {
	const look = (frameNumber: number, atMs: number, over: Partial<Moved> = {}, segment = 0): DetailSample => ({
		...{ ...NOTHING_READ, segment, frameNumber, atMs },
		motion: { edges: [], ghosts: [], pulse: null, ...over },
	});
	const sine = (frameNumber: number, sizePx: number, lagPictures = 0): Moved['pulse'] => ({
		drawnPx: 3 * Math.sin((2 * Math.PI * frameNumber) / 60),
		seenPx: sizePx * Math.sin((2 * Math.PI * (frameNumber - lagPictures)) / 60),
	});
	const looks = (
		count: number,
		{
			sizePx = 3,
			lagPictures = 0,
			segment = 0,
		}: { sizePx?: number; lagPictures?: number; segment?: number } = {},
	) =>
		Array.from({ length: count }, (_, i) =>
			look(7 * i, 1e6 * segment + (7000 * i) / 25, { pulse: sine(7 * i, sizePx, lagPictures) }, segment),
		);
	const pulseSaid = (details: readonly DetailSample[]) =>
		motionRows({ motion: measureMotion(details) }).at(-1)!;

	test('the pulse is of the longest unbroken stretch, and the rate of the one that lasts longest', () => {
		const motion = measureMotion([
			...looks(3, { segment: 0, sizePx: 1 }),
			...looks(40, { segment: 1, sizePx: 1.5 }),
			...looks(2, { segment: 2, sizePx: 1 }),
		])!;
		expect(motion.picturesHz).toBeCloseTo(25, 9);
		if (motion.pulse.kind === 'notMeasured') throw new Error(motion.pulse.explanation);
		expect(motion.pulse.keptRatio).toBeCloseTo(0.5, 3);
	});

	test('smaller, larger, late and early pulses are told apart in words, and one that was not told is not kept', () => {
		expect(pulseSaid(looks(40, { sizePx: 1.5 }))[1]).toMatch(/^smaller: 50.0\s% of its size/);
		expect(pulseSaid(looks(40, { sizePx: 6 }))[1]).toMatch(/^larger: 200.0\s% of its size/);
		expect(pulseSaid(looks(40))[1]).toBe('yes, it keeps its size');
		// Four pictures of 25 a second are 160 ms.
		expect(pulseSaid(looks(40, { lagPictures: 4 }))[2]).toMatch(/; 160.\d\sms after the picture/);
		expect(pulseSaid(looks(40, { lagPictures: -4 }))[2]).toMatch(/; 160.\d\sms before the picture/);
		expect(pulseSaid(looks(5))[1]).toBe('not told');
	});

	test('a lag is told by the shorter way round, wherever in its beat the run began', () => {
		for (const startMs of [0, 400, 900, 1100, 1600]) {
			const place = (atMs: number) => 3 * Math.sin((2 * Math.PI * (atMs + startMs)) / 2000);
			const details = Array.from({ length: 40 }, (_, i) =>
				look(7 * i, 280 * i, { pulse: { drawnPx: place(280 * i), seenPx: place(280 * i - 300) } }),
			);
			const { pulse } = measureMotion(details)!;
			if (pulse.kind === 'notMeasured') throw new Error(pulse.explanation);
			expect(pulse.lagMs).toBeCloseTo(300, 0);
		}
	});

	test('a movement of another beat, however large, is not the pulse kept', () => {
		const beats = (perMin: number, atMs: number) => 3 * Math.sin((2 * Math.PI * perMin * atMs) / 60_000);
		const details = Array.from({ length: 100 }, (_, i) =>
			look(7 * i, 280 * i, { pulse: { drawnPx: beats(30, 280 * i), seenPx: beats(47, 280 * i) } }),
		);
		expect(pulseSaid(details)[1]).toMatch(/^smaller: [0-9]\./);
	});

	test('a source that stood still has no pulse that could be kept', () => {
		const still = Array.from({ length: 40 }, (_, i) =>
			look(7 * i, 280 * i, { pulse: { drawnPx: 0, seenPx: Math.sin(i) } }),
		);
		expect(measureMotion(still)!.pulse).toMatchObject({ kind: 'notMeasured', reason: 'noPulse' });
	});

	test('with no edge at rest, or numbers that do not rise, nothing is said of smear', () => {
		const edges = [{ speedPx: 6, mtf50CyPx: 0.2, riseWidthPx: 4 }];
		const { speeds } = measureMotion([look(0, 0, { edges }), look(10, 400, { edges })])!;
		expect(speeds).toMatchObject([{ speedPx: 6, smearPx: null, shutterMs: null, detailKeptRatio: null }]);
		const frozen = measureMotion([look(5, 0), look(5, 400)])!;
		expect(frozen.picturesHz).toBeNull();
		const rested = [{ speedPx: 0, mtf50CyPx: 0.4, riseWidthPx: 2 }, ...edges];
		const stood = measureMotion([look(5, 0, { edges: rested }), look(5, 400, { edges: rested })])!;
		expect(stood.speeds).toMatchObject([{ shutterMs: null }]);
		const row = motionRows({ motion: stood })[0]!;
		expect(row[1]).toBe('not read');
	});

	test('the shutter is told in the time that the card’s own pictures took', () => {
		const edges = [
			{ speedPx: 0, mtf50CyPx: 0.4, riseWidthPx: 2 },
			{ speedPx: 6, mtf50CyPx: 0.1, riseWidthPx: Math.sqrt(20) },
		];
		// Spread by 5 px at 6 px a picture of 50 a second: 16.7 ms (computed).
		const { speeds } = measureMotion([look(0, 0, { edges }), look(50, 1000, { edges })])!;
		expect(speeds[0]!.shutterMs).toBeCloseTo(50 / 3, 6);
		expect(speeds[0]!.detailKeptRatio).toBeCloseTo(0.25, 9);
		const said = (riseWidthPx: number) => {
			const moved = [edges[0]!, { ...edges[1]!, riseWidthPx }];
			const motion = measureMotion([look(0, 0, { edges: moved }), look(50, 1000, { edges: moved })]);
			return motionRows({ motion })[0]![2];
		};
		expect(said(Math.sqrt(20))).toMatch(/spread by 5\.0 px, as a shutter open for 16\.7\sms would/);
		// A spread of nothing is no shutter of 0 ms.
		expect(said(2)).toMatch(/; not spread by moving$/);
	});

	test('what shines through is the middle over the pictures, and one picture is not the rule', () => {
		const ghost = (earlierRatio: number) => ({ ghosts: [{ speedPx: 6, earlierRatio }] });
		const ratios = [0.9, 0.01, 0.02];
		expect(measureMotion(ratios.map((ratio, i) => look(i, 40 * i, ghost(ratio))))!.earlierRatio).toBe(0.02);
	});
});

test('an edge that rises faster as it moves is spread by nothing', () => {
	const smear = measureSmear({ riseWidthPx: 2, mtf50CyPx: 0.4 }, { riseWidthPx: 1.9, mtf50CyPx: 0.41 }, 0.1);
	expect(smear).toMatchObject({ smearPx: 0, shutterMs: 0 });
	// Even spread over 5 px rises by 4 (computed): 2 of its own and 4 together are the root of 20.
	const spread = measureSmear(
		{ riseWidthPx: 2, mtf50CyPx: 0.4 },
		{ riseWidthPx: Math.sqrt(20), mtf50CyPx: null },
		0.1,
	);
	expect(spread.smearPx).toBeCloseTo(5, 9);
	expect(spread.shutterMs).toBeCloseTo(50, 9);
	expect(spread.detailKeptRatio).toBeNull();
});

test('an HDR film with nothing to compare with says both', () => {
	const header: Partial<Header> = { patches: [...smallCard], colourReference: 'none', transfer: 'hlg' };
	const colour = measureColour(
		madeRun({
			frames: [],
			segments: [madeSegment({ endMs: 1000 })],
			patches: madeSamples(3, (rgb) => rgb),
			header,
		}),
	);
	expect(colour).toMatchObject({
		reason: 'noReference',
		explanation: expect.stringMatching(/HDR \(HLG\).*no picture/),
	});
});

test('a shift of twice what the reading adds, and no more, is not called unexplained', () => {
	const strange = ([r, g, b]: readonly [number, number, number]): [number, number, number] => {
		const paler = (code: number): number => 255 * (code / 255) ** 0.8;
		return [255 - paler(255 - r), paler(g), 0.6 * b + 0.4 * r];
	};
	const partly = (share: number) => (rgb: readonly [number, number, number]) => {
		const to = strange(rgb);
		return rgb.map((code, i) => code + share * (to[i]! - code)) as [number, number, number];
	};
	const unexplained = (medianDeltaE00: number) => {
		const colour = measureColour(
			madeRun({
				frames: [],
				segments: [madeSegment({ warmUpUntilMs: 1000, endMs: 100_000 })],
				patches: madeSamples(11, partly(0.13)),
				header: { patches: [...smallCard], colourControl: { medianDeltaE00, maxDeltaE00: 1, how: 'made' } },
			}),
		);
		if (colour.kind === 'notMeasured') throw new Error(colour.explanation);
		return colour.unexplainedDeltaE00;
	};
	expect(unexplained(0.1)).toBeGreaterThan(1);
	expect(unexplained(0.1)).toBeLessThan(1.9);
	expect(unexplained(0.95)).toBeUndefined();
});

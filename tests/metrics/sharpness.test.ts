import { expect, test } from 'vitest';
import { measureColour } from '../../src/metrics/colour.ts';
import { measureFidelity } from '../../src/metrics/fidelity.ts';
import { measureRun } from '../../src/metrics/measureRun.ts';
import type { Metric } from '../../src/metrics/metric.ts';
import { repeatHalfWidth } from '../../src/metrics/repeatBounds.ts';
import { measureSharpness } from '../../src/metrics/sharpness.ts';
import type { PatchReference } from '../../src/observations/records.ts';
import type { DetailSample } from '../../src/observations/run.ts';
import { madeSamples, smallCard } from './madeCard.ts';
import { madeRun, madeSegment, standardThresholds } from './madeRun.ts';

type Triple = PatchReference['rgb'];

function measured<T>(metric: Metric<T> | undefined): T {
	if (metric?.kind !== 'measured') throw new Error(metric?.explanation ?? 'left out');
	return metric;
}

const nothingRead: Omit<DetailSample, 'segment' | 'frameNumber' | 'atMs'> = {
	edges: [],
	lines: [],
	noise: [],
	blockinessRatio: null,
	chromaBleedRatio: null,
	rimLightRatio: null,
};

function runOf(details: readonly Partial<DetailSample>[], see?: (rgb: Triple) => Triple, tried = true) {
	return madeRun({
		frames: [],
		segments: [madeSegment({ warmUpUntilMs: 1000, endMs: 100_000 })],
		patches: see === undefined ? [] : madeSamples(11, see),
		header: {
			patches: [...smallCard],
			...(tried ? { colourControl: { medianDeltaE00: 0.2, maxDeltaE00: 0.5, how: 'made' } } : {}),
		},
		details: details.map((detail, i) => ({
			segment: 0,
			frameNumber: i,
			atMs: 500 + i * 1000,
			...nothingRead,
			...detail,
		})),
	});
}

const edge = (mtf50CyPx: number, reference: number | null = 0.5, place = 'middle') => ({
	place,
	axis: 'across' as const,
	mtf50CyPx,
	mtf10CyPx: null,
	overshootRatio: 0,
	referenceMtf50CyPx: reference,
});

test('sharpness is the middle over the pictures after warm-up, as a share of the same edge as it should be', () => {
	const sharpness = measured(
		measureSharpness(
			runOf([{ edges: [edge(0.01)] }, ...[0.3, 0.32, 0.31, 0.33, 0.29].map((v) => ({ edges: [edge(v)] }))]),
		),
	);
	expect(sharpness.mtf50CyPx).toBe(0.31);
	expect(sharpness.ofReferenceRatio).toBeCloseTo(0.62, 12);
	expect(sharpness.ofReferenceLowerRatio).toBeLessThan(0.62);
	expect(sharpness.ofReferenceUpperRatio).toBeLessThan(0.67);
	expect(sharpness.pictureCount).toBe(5);
});

test('bounds are laid round the reading and the mean of the pictures, whichever lies further out', () => {
	const values = [0.05, 0.15, 0.15, 0.15, 0.15];
	const shares = values.map((value) => value / 0.5);
	const boundsOf = (all: readonly number[]) =>
		measured(measureSharpness(runOf([{}, ...all.map((v) => ({ edges: [edge(v)] }))])));
	const low = boundsOf(values);
	const halfWidth = repeatHalfWidth(shares);
	// The middle is 0.3, the mean 0.26.
	expect(low.ofReferenceLowerRatio).toBeCloseTo(Math.max(0, 0.26 - halfWidth), 12);
	expect(low.ofReferenceUpperRatio).toBeCloseTo(0.3 + halfWidth, 12);
	const high = boundsOf([0.4, 0.35, 0.35, 0.35, 0.35]);
	const wide = repeatHalfWidth([0.8, 0.7, 0.7, 0.7, 0.7]);
	expect(high.ofReferenceLowerRatio).toBeCloseTo(0.7 - wide, 12);
	expect(high.ofReferenceUpperRatio).toBeCloseTo(0.72 + wide, 12);
});

test('two edges are told apart, and one picture has no bounds', () => {
	const sharpness = measured(
		measureSharpness(runOf([{}, { edges: [edge(0.4, null, 'middle'), edge(0.2, null, 'rim')] }])),
	);
	expect(sharpness.edges.map(({ place, mtf50CyPx }) => [place, mtf50CyPx])).toEqual([
		['middle', 0.4],
		['rim', 0.2],
	]);
	expect(sharpness).toMatchObject({ ofReferenceRatio: null, ofReferenceLowerRatio: null });
});

test('a run without close looks says nothing of fidelity, one whose looks fall into warm-up says why', () => {
	expect(measureFidelity(runOf([]))).toBeUndefined();
	expect(measureFidelity(runOf([{}]))).toMatchObject({ kind: 'notMeasured', reason: 'noPictures' });
	expect(measureSharpness(runOf([]))).toMatchObject({ reason: 'noEdgeReading' });
});

test('the smallest line seen has every wider one seen, both ways, in most pictures', () => {
	const line = (width: number, axis: 'across' | 'down', seen: boolean) => ({
		width,
		unit: 'px' as const,
		axis,
		lumaRatio: seen ? 0.6 : 0.1,
		chromaRatio: 0.05,
		seen,
		seenByColour: false,
	});
	const lines = [
		line(1, 'across', true),
		line(1, 'down', true),
		line(2, 'across', true),
		line(2, 'down', false),
		line(3, 'across', true),
		line(3, 'down', true),
	];
	const fidelity = measured(measureFidelity(runOf([{}, { lines }, { lines }])));
	expect(fidelity.smallestSeen).toEqual({ width: 3, unit: 'px' });
	expect(fidelity.smallestSeenByColour).toBeNull();
});

test('a fault is named only where the reading itself was tried, and colour that runs over edges is one', () => {
	const swapped = ([r, g, b]: Triple): Triple => [b, g, r];
	const same = (rgb: Triple): Triple => rgb;
	expect(measured(measureColour(runOf([], swapped)))).toMatchObject({
		namedFault: 'red and blue swapped',
		faultsLookedFor: true,
	});
	expect(measured(measureColour(runOf([], swapped, false)))).toMatchObject({
		namedFault: null,
		faultsLookedFor: false,
	});
	// A reading that itself adds what can be seen may take its own error for the picture's.
	const coarse = runOf([], swapped);
	const control = { medianDeltaE00: 1, maxDeltaE00: 2, how: 'made' };
	const by = { ...coarse, header: { ...coarse.header, colourControl: control } };
	expect(measured(measureColour(by))).toMatchObject({ namedFault: null, faultsLookedFor: false });
	expect(measured(measureColour(runOf([{}, {}], same)))).toMatchObject({
		namedFault: null,
		faultsLookedFor: true,
	});
	const bleeding = runOf([{}, { chromaBleedRatio: 0.3 }], same);
	expect(measured(measureColour(bleeding)).namedFault).toMatch(/^colour bleeds over edges: 0.30/);
	// Through a lens nobody knows how much of it is the card's own picture, scaled up.
	const throughLens = { ...bleeding, header: { ...bleeding.header, colourReference: 'picture' as const } };
	expect(measured(measureColour(throughLens))).toMatchObject({ namedFault: null, faultsLookedFor: true });
});

test('colours that differ by no known fault are told as unexplained and warned of, clean and named ones are not', () => {
	const paler = (code: number): number => 255 * (code / 255) ** 0.8;
	// A red curve of its own with the blue pulled towards the green: no single fault and no misreading with a tint.
	const strange = ([r, g, b]: Triple): Triple => [255 - paler(255 - r), paler(g), 0.6 * b + 0.4 * r];
	const colourAndCodes = (see: (rgb: Triple) => Triple) => {
		const { colour, warnings } = measureRun(runOf([], see), standardThresholds);
		return { colour: measured(colour), codes: warnings.map(({ code }) => code) };
	};
	const { colour, codes } = colourAndCodes(strange);
	expect(colour.namedFault).toBeNull();
	expect(colour.unexplainedDeltaE00).toBeGreaterThan(1);
	expect(codes).toContain('colourUnexplained');
	for (const see of [(rgb: Triple): Triple => rgb, ([r, g, b]: Triple): Triple => [b, g, r]]) {
		const quiet = colourAndCodes(see);
		expect(quiet.colour.unexplainedDeltaE00).toBeUndefined();
		expect(quiet.codes).not.toContain('colourUnexplained');
	}
});

test('a white balance that would cure the shift is told with what is left after it', () => {
	const tinted = ([r, g, b]: Triple): Triple => [r * 0.9, g, b * 0.8];
	const fidelity = measured(measureFidelity(runOf([{}, {}, {}], tinted)));
	expect(fidelity.fit!.medianAfterBothDeltaE00).toBeLessThan(1);
	expect(fidelity.fit!.redOverGreen).toBeLessThan(0.9);
	expect(fidelity.reds!.patchCount).toBe(2);
});

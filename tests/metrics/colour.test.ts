import { differenceCiede2000 } from 'culori';
import { expect, test } from 'vitest';
import { measureColour } from '../../src/metrics/colour.ts';
import { measureGreyTracking } from '../../src/metrics/greyTracking.ts';
import type { Metric } from '../../src/metrics/metric.ts';
import { measureWhiteBalance } from '../../src/metrics/whiteBalance.ts';
import type { PatchReference } from '../../src/observations/records.ts';
import type { PatchSample, Run } from '../../src/observations/run.ts';
import { createRandom } from '../../src/statistics/random.ts';
import { madeSamples, smallCard } from './madeCard.ts';
import { madeRun, madeSegment } from './madeRun.ts';

type Triple = PatchReference['rgb'];

function runOf(patches: readonly PatchSample[], card: readonly PatchReference[] = smallCard): Run {
	const segments = [madeSegment({ warmUpUntilMs: 1000, endMs: 100_000 })];
	return madeRun({ frames: [], segments, patches, header: { patches: [...card] } });
}

function measured<T>(metric: Metric<T>): T {
	if (metric.kind === 'notMeasured') throw new Error(metric.explanation);
	return metric;
}

const same = (rgb: Triple): Triple => rgb;
const greener = ([r, g, b]: Triple): Triple => [r * 0.95, Math.min(255, g * 1.02 + 4), b * 0.97];

test('colours that come as drawn are off by nothing, on every patch', () => {
	const colour = measured(measureColour(runOf(madeSamples(11, same))));
	expect(colour).toMatchObject({ medianDeltaE00: 0, p95DeltaE00: 0, maxDeltaE00: 0, sampleCount: 10 });
	expect(colour).toMatchObject({ medianUpper: 0, medianLower: 0, path: 'decoded', faultsLookedFor: false });
});

test('a known shift comes out per patch as a general colour library has it', () => {
	const colour = measured(measureColour(runOf(madeSamples(11, greener))));
	const difference = differenceCiede2000();
	const asCulori = ([r, g, b]: readonly [number, number, number]) => ({
		mode: 'rgb' as const,
		r: r / 255,
		g: g / 255,
		b: b / 255,
	});
	for (const { expectedRgb, seenRgb, deltaE00 } of colour.patches) {
		// The library goes by D50 Lab, so the two agree only about.
		expect(Math.abs(deltaE00 - difference(asCulori(expectedRgb), asCulori(seenRgb)))).toBeLessThan(0.35);
	}
	expect(colour.maxDeltaE00).toBe(Math.max(...colour.patches.map(({ deltaE00 }) => deltaE00)));
	expect(colour.medianDeltaE00).toBeLessThanOrEqual(colour.p95DeltaE00);
});

test('noise that averages out stays out of the reading, and in the bounds', () => {
	const random = createRandom(9);
	const noisy = (rgb: Triple): Triple => {
		const [r, g, b] = greener(rgb);
		return [r + 2 * random.normal(), g + 2 * random.normal(), b + 2 * random.normal()];
	};
	const steady = measured(measureColour(runOf(madeSamples(41, greener))));
	const shaken = measured(measureColour(runOf(madeSamples(41, noisy))));
	expect(Math.abs(shaken.medianDeltaE00 - steady.medianDeltaE00)).toBeLessThan(0.3);
	expect(shaken.medianUpper).toBeGreaterThan(shaken.medianDeltaE00);
	expect(shaken.medianLower).toBeLessThan(shaken.medianDeltaE00);
	expect(shaken.p95Upper).toBeGreaterThan(steady.p95DeltaE00);
	expect(shaken.p95Lower).toBeLessThan(steady.p95DeltaE00);
	expect(steady.medianUpper - steady.medianLower).toBeCloseTo(0, 9);
});

test('colour that wanders slowly is worth fewer repeats than colour that shakes', () => {
	const swing = (rgb: Triple, push: number): Triple => [Math.abs(rgb[0] - push), rgb[1], rgb[2]];
	const width = (see: (rgb: Triple, sample: number) => Triple) => {
		const { medianUpper, medianDeltaE00 } = measured(measureColour(runOf(madeSamples(41, see))));
		return medianUpper - medianDeltaE00;
	};
	const shaking = width((rgb, i) => swing(rgb, 10 + (i % 2 === 0 ? 5 : -5)));
	const wandering = width((rgb, i) => swing(rgb, i < 21 ? 15 : 5));
	expect(wandering).toBeGreaterThan(3 * shaking);
});

test('our own conversion comes before the browser’s, which stands in only where there is no other', () => {
	const displayed = madeSamples(11, greener, 'displayed');
	const both = measured(measureColour(runOf([...madeSamples(11, same), ...displayed])));
	expect(both).toMatchObject({ path: 'decoded', medianDeltaE00: 0 });
	expect(both.displayedMedianDeltaE00).toBeGreaterThan(1);
	const only = measured(measureColour(runOf([...madeSamples(2, same), ...displayed])));
	expect(only.path).toBe('displayed');
	expect(only.medianDeltaE00).toBe(both.displayedMedianDeltaE00);
	expect(measured(measureColour(runOf(madeSamples(11, same)))).displayedMedianDeltaE00).toBeNull();
});

test('samples of warm-up, and such as do not list every patch, are left out', () => {
	const short = madeSamples(10, same).map((sample) => ({ ...sample, rgb: sample.rgb.slice(1) }));
	expect(measureColour(runOf(short))).toMatchObject({ reason: 'tooFewSamples' });
	// The first of the three stands in warm-up.
	expect(measureColour(runOf(madeSamples(3, same)))).toMatchObject({ reason: 'tooFewSamples' });
	expect(measureColour(runOf(madeSamples(4, same)))).toMatchObject({ kind: 'measured', sampleCount: 3 });
});

test('codes beyond what a display can show are cut to it', () => {
	const beyond = madeSamples(9, ([r, g, b]) =>
		r === 255 ? [259, 256, 258] : r === 0 ? [-4, -1, -2] : [r, g, b],
	);
	expect(measured(measureColour(runOf(beyond))).maxDeltaE00).toBe(0);
});

test('a card without patches has no colour to measure', () => {
	expect(measureColour(runOf(madeSamples(9, same), []))).toMatchObject({ reason: 'noPatches' });
});

test('the white balance examples come out on the middle grey', () => {
	// Published method, computed for this project: sRGB (200,190,170) and (185,190,200) where grey should be.
	const seenAs = (seen: Triple) =>
		measured(measureWhiteBalance(runOf(madeSamples(9, (rgb) => (rgb[0] === 128 ? seen : rgb)))));
	const warm = seenAs([200, 190, 170]);
	expect(warm.patchName).toBe('grey 128');
	expect(warm.chroma).toBeCloseTo(11.365, 2);
	expect(warm.deltaUv).toBeCloseTo(0.01771, 4);
	expect(warm.redOverGreen).toBeCloseTo(1.1217, 3);
	expect(warm.blueOverGreen).toBeCloseTo(0.7807, 3);
	expect(warm.angleDeg).toBeCloseTo(8.299, 2);
	expect(seenAs([185, 190, 200]).chroma).toBeCloseTo(5.626, 2);
});

test('a card without neutral patches, or a black one, has no white balance', () => {
	const samples = madeSamples(9, same);
	const noNeutral = smallCard.map((patch) => ({ ...patch, role: 'other' as const }));
	expect(measureWhiteBalance(runOf(samples, noNeutral))).toMatchObject({ reason: 'noNeutralPatch' });
	expect(measureWhiteBalance(runOf(madeSamples(9, () => [0, 0, 0])))).toMatchObject({
		reason: 'neutralIsBlack',
	});
});

test('the same tone curve has slope 1, a stretched one its exponent', () => {
	expect(measured(measureGreyTracking(runOf(madeSamples(9, same))))).toMatchObject({
		monotonic: true,
		neutralCount: 5,
	});
	expect(measured(measureGreyTracking(runOf(madeSamples(9, same)))).toneSlope).toBeCloseTo(1, 9);
	// Codes on the pure power part of sRGB's curve: squaring linear light doubles the slope.
	const squared = ([code]: Triple): Triple => {
		const linear = code <= 10.3 ? code / 255 / 12.92 : ((code / 255 + 0.055) / 1.055) ** 2.4;
		const light = linear ** 2;
		const out = 255 * (light <= 0.0031308 ? 12.92 * light : 1.055 * light ** (1 / 2.4) - 0.055);
		return [out, out, out];
	};
	expect(measured(measureGreyTracking(runOf(madeSamples(9, squared)))).toneSlope).toBeCloseTo(2, 6);
});

test('greys that fold over, and greys with a cast, are told', () => {
	const folded = measured(
		measureGreyTracking(runOf(madeSamples(9, (rgb) => (rgb[0] === 255 ? [150, 150, 150] : rgb)))),
	);
	expect(folded.monotonic).toBe(false);
	const cast = measured(
		measureGreyTracking(runOf(madeSamples(9, ([r, g, b]) => [r, g, r === g && g === b ? b * 0.85 : b]))),
	);
	expect(cast.worstChroma).toBeGreaterThan(10);
	expect(cast.monotonic).toBe(true);
});

test('two greys with light in them are too few for a tone curve', () => {
	const dark = measureGreyTracking(runOf(madeSamples(9, (rgb) => (rgb[0] < 150 ? [0, 0, 0] : rgb))));
	expect(dark).toMatchObject({ reason: 'tooFewNeutrals' });
});

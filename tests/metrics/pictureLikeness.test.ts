import { expect, test } from 'vitest';
import type { PictureLikeness } from '../../src/metrics/metric.ts';
import { measureLikeness } from '../../src/metrics/pictureLikeness.ts';
import type { PictureSample } from '../../src/observations/run.ts';
import { madeRun, madeSegment } from './madeRun.ts';

function sample(i: number, over: Partial<PictureSample> = {}): PictureSample {
	return {
		segment: 0,
		frameNumber: i,
		atMs: 1000 + i * 100,
		meanSquaredError: 10,
		ssim: 0.98,
		ssimVariant: 'gaussian 11x11, 1.5',
		mismatchRatio: null,
		evidence: null,
		...over,
	};
}

function measure(pictures: PictureSample[]) {
	const segments = [madeSegment({ warmUpUntilMs: 1000, endMs: 20_000 })];
	return measureLikeness(madeRun({ frames: [], segments, pictures }));
}

function measured(pictures: PictureSample[]): PictureLikeness {
	const likeness = measure(pictures);
	if (likeness.kind === 'notMeasured') throw new Error(likeness.explanation);
	return likeness;
}

test('the PSNR constants: squared errors of 1, 10, 100 and 650.25 are 48.13, 38.13, 28.13 and 20 dB', () => {
	const psnr = (meanSquaredError: number) => measured([sample(0, { meanSquaredError })]).medianPsnrDb;
	expect(psnr(1)).toBeCloseTo(48.1308, 4);
	expect(psnr(10)).toBeCloseTo(38.1308, 4);
	expect(psnr(100)).toBeCloseTo(28.1308, 4);
	expect(psnr(650.25)).toBeCloseTo(20, 9);
});

test('identical pictures have no PSNR, and that is no number', () => {
	const likeness = measured([0, 1, 2].map((i) => sample(i, { meanSquaredError: 0, ssim: 1 })));
	expect(likeness).toMatchObject({ medianPsnrDb: null, worstPsnrDb: null, medianSsim: 1, worstSsim: 1 });
});

test('the worst picture is told beside the median, and what was kept as evidence is listed', () => {
	const likeness = measured([
		sample(0),
		sample(1, { meanSquaredError: 100, ssim: 0.6, evidence: 'stills/1.png', mismatchRatio: 0.2 }),
		sample(2),
	]);
	expect(likeness.medianPsnrDb).toBeCloseTo(38.1308, 4);
	expect(likeness.worstPsnrDb).toBeCloseTo(28.1308, 4);
	expect(likeness).toMatchObject({ medianSsim: 0.98, worstSsim: 0.6, sampleCount: 3 });
	expect(likeness.evidence).toEqual([{ frameNumber: 1, file: 'stills/1.png', mismatchRatio: 0.2 }]);
});

test('warm-up pictures and other SSIM variants are left out; none left is not measured', () => {
	const likeness = measured([
		sample(0, { atMs: 500, ssim: 0.1 }),
		sample(1),
		sample(2, { ssimVariant: 'block 8x8', ssim: 0.2 }),
	]);
	expect(likeness).toMatchObject({ sampleCount: 1, worstSsim: 0.98 });
	expect(measure([sample(0, { atMs: 500 })])).toMatchObject({ reason: 'noPictures' });
});

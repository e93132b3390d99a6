/**
 * Likeness of the viewer's luma to the frame as drawn, paired by frame number: PSNR = 10 log10(255^2 / MSE) and SSIM of the
 * variant that the rig names (variants must not be compared with each other; standards.md 5.1). An identical picture
 * has no PSNR; the median and the worst are therefore taken of the squared error, and null where that is zero.
 * It informs: no study ties SSIM to steering.
 */
import type { PictureSample, Run } from '../observations/run.ts';
import { quantileSorted, sortSamples } from '../statistics/quantile.ts';
import { hdrReason } from './hdr.ts';
import type { Metric, PictureLikeness } from './metric.ts';

const PEAK_CODE = 255;

export function measureLikeness(run: Run): Metric<PictureLikeness> {
	const observed = run.pictures.filter((picture) => isObserved(run, picture));
	const ssimVariant = observed[0]?.ssimVariant;
	if (ssimVariant === undefined) {
		return (
			hdrReason(run) ?? {
				kind: 'notMeasured',
				reason: 'noPictures',
				explanation: 'No picture of the observed time was compared with the frame as drawn.',
			}
		);
	}
	const samples = observed.filter((picture) => picture.ssimVariant === ssimVariant);
	const errors = sortSamples(samples.map(({ meanSquaredError }) => meanSquaredError));
	const ssims = sortSamples(samples.map(({ ssim }) => ssim));
	return {
		kind: 'measured',
		medianPsnrDb: psnrDb(quantileSorted(errors, 0.5)),
		worstPsnrDb: psnrDb(quantileSorted(errors, 1)),
		medianSsim: quantileSorted(ssims, 0.5),
		worstSsim: quantileSorted(ssims, 0),
		ssimVariant,
		sampleCount: samples.length,
		evidence: samples.flatMap(evidenceOf),
	};
}

function isObserved(run: Run, { segment, atMs }: PictureSample): boolean {
	const within = run.segments.find((candidate) => candidate.segment === segment);
	return within !== undefined && atMs >= within.warmUpUntilMs;
}

function psnrDb(meanSquaredError: number): number | null {
	return meanSquaredError === 0 ? null : 10 * Math.log10(PEAK_CODE ** 2 / meanSquaredError);
}

function evidenceOf({ frameNumber, evidence, mismatchRatio }: PictureSample): PictureLikeness['evidence'] {
	return evidence === null || mismatchRatio === null ? [] : [{ frameNumber, file: evidence, mismatchRatio }];
}

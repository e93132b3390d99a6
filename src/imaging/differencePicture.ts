/**
 * A picture of where two pictures differ, for a person to look at: differing pixels red on a faded copy, those that look
 * like anti-aliasing yellow and not counted. The figures to judge by are SSIM and PSNR, not this ratio.
 *
 * Source: the pixelmatch library, at its default threshold of 0.1 (its own scale of perceived difference).
 */
import pixelmatch from 'pixelmatch';
import { checkSameSize } from './planes.ts';
import { createRaster, type Raster } from './raster.ts';

const THRESHOLD = 0.1;

export type DifferencePicture = { readonly raster: Raster; readonly mismatchRatio: number };

/** `mismatchRatio`: differing pixels over all. RangeError when sizes differ. */
export function differencePicture(a: Raster, b: Raster): DifferencePicture {
	checkSameSize(a, b);
	const raster = createRaster(a.widthPx, a.heightPx);
	const mismatchCount = pixelmatch(a.rgba, b.rgba, raster.rgba, a.widthPx, a.heightPx, {
		threshold: THRESHOLD,
	});
	return { raster, mismatchRatio: mismatchCount / (a.widthPx * a.heightPx) };
}

/**
 * I420 to opaque RGBA. Each 2 x 2 block shares its chroma (no interpolation), so a block that came from one colour goes
 * back to it. Rounded and clipped. Browsers and players interpolate; edges of colour therefore look softer there.
 */
import { codeRange, lumaWeights, type YCbCrEncoding } from '../colour/yCbCr.ts';
import type { Planes } from './planes.ts';
import { createRaster, type Raster } from './raster.ts';

/** Fills `into` (made when absent) and returns it. RangeError when sizes differ. */
export function planesToRaster(planes: Planes, { matrix, range }: YCbCrEncoding, into?: Raster): Raster {
	const { widthPx, heightPx, y, u, v } = planes;
	const raster = into ?? createRaster(widthPx, heightPx);
	if (raster.widthPx !== widthPx || raster.heightPx !== heightPx) {
		throw new RangeError(
			`the raster must be of the planes' size ${widthPx} x ${heightPx}, got ${raster.widthPx} x ${raster.heightPx}`,
		);
	}
	const weights = lumaWeights(matrix);
	const { lumaOffset, lumaSpan, chromaSpan } = codeRange(range);
	const lumaGain = 255 / lumaSpan;
	const crToRed = (2 * (1 - weights.red) * 255) / chromaSpan;
	const cbToBlue = (2 * (1 - weights.blue) * 255) / chromaSpan;
	const crToGreen = (-weights.red * crToRed) / weights.green;
	const cbToGreen = (-weights.blue * cbToBlue) / weights.green;
	const { rgba } = raster;
	let to = 0;
	for (let rowPx = 0; rowPx < heightPx; rowPx += 1) {
		const lumaRow = rowPx * planes.yStride;
		const chromaRow = (rowPx >> 1) * planes.uvStride;
		for (let columnPx = 0; columnPx < widthPx; columnPx += 1) {
			const luma = (y[lumaRow + columnPx]! - lumaOffset) * lumaGain;
			const cb = u[chromaRow + (columnPx >> 1)]! - 128;
			const cr = v[chromaRow + (columnPx >> 1)]! - 128;
			// The clamped array rounds and clips.
			rgba[to] = luma + crToRed * cr;
			rgba[to + 1] = luma + crToGreen * cr + cbToGreen * cb;
			rgba[to + 2] = luma + cbToBlue * cb;
			rgba[to + 3] = 255;
			to += 4;
		}
	}
	return raster;
}

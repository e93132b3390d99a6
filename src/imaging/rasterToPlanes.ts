/**
 * RGBA to I420. Luma per pixel; chroma of the mean colour of each 2 x 2 block, which sites it in the block's middle.
 * Alpha is not looked at. Fixed point, 16 bits: within 0.51 code of the real-valued conversion (colour/yCbCr.ts).
 */
import { codeRange, lumaWeights, type YCbCrEncoding } from '../colour/yCbCr.ts';
import { createPlanes, type Planes } from './planes.ts';
import type { Raster } from './raster.ts';
import type { Rect } from './rect.ts';

/**
 * Fills `into` (made when absent) and returns it. With `rect` only that part is written, widened to even edges so that no
 * chroma block is left half old; the rest of `into` stays as it was. RangeError when sizes differ, when the rectangle leaves
 * the picture, or when there is a rectangle and nothing to put it into.
 */
export function rasterToPlanes(raster: Raster, encoding: YCbCrEncoding, into?: Planes, rect?: Rect): Planes {
	if (rect !== undefined && into === undefined)
		throw new RangeError('a partial update needs planes to update');
	const planes = into ?? createPlanes(raster.widthPx, raster.heightPx);
	if (planes.widthPx !== raster.widthPx || planes.heightPx !== raster.heightPx) {
		throw new RangeError(
			`planes must be of the raster's size ${raster.widthPx} x ${raster.heightPx}, got ${planes.widthPx} x ${planes.heightPx}`,
		);
	}
	const area = evenArea(raster, rect);
	const factors = fixedFactors(encoding);
	for (let rowPx = area.top; rowPx < area.bottom; rowPx += 2)
		convertRowPair(raster, planes, { rowPx, area, factors });
	return planes;
}

type Area = { readonly left: number; readonly top: number; readonly right: number; readonly bottom: number };

function evenArea({ widthPx, heightPx }: Raster, rect: Rect | undefined): Area {
	if (rect === undefined) return { left: 0, top: 0, right: widthPx, bottom: heightPx };
	const right = rect.xPx + rect.widthPx;
	const bottom = rect.yPx + rect.heightPx;
	const whole = [rect.xPx, rect.yPx, right, bottom].every(Number.isInteger);
	if (!whole || rect.xPx < 0 || rect.yPx < 0 || right > widthPx || bottom > heightPx) {
		throw new RangeError(
			`the rectangle must lie inside ${widthPx} x ${heightPx}, got ${JSON.stringify(rect)}`,
		);
	}
	return {
		left: rect.xPx & ~1,
		top: rect.yPx & ~1,
		right: Math.min(widthPx, (right + 1) & ~1),
		bottom: Math.min(heightPx, (bottom + 1) & ~1),
	};
}

const ONE = 65536;

/** Weights times 65536. Chroma weights are a quarter of that, for they meet the sum of four pixels. */
type Factors = {
	readonly luma: readonly [number, number, number];
	readonly lumaBias: number;
	readonly cb: readonly [number, number, number];
	readonly cr: readonly [number, number, number];
	readonly chromaBias: number;
};

function fixedFactors({ matrix, range }: YCbCrEncoding): Factors {
	const { red, blue } = lumaWeights(matrix);
	const { lumaOffset, lumaSpan, chromaSpan } = codeRange(range);
	const luma = (ONE * lumaSpan) / 255;
	const cb = (ONE * chromaSpan) / 255 / (8 * (1 - blue));
	const cr = (ONE * chromaSpan) / 255 / (8 * (1 - red));
	return {
		luma: balanced(luma * red, luma * blue, Math.round(luma)),
		lumaBias: lumaOffset * ONE + ONE / 2,
		cb: balanced(-cb * red, cb * (1 - blue), 0),
		cr: balanced(cr * (1 - red), -cr * blue, 0),
		chromaBias: 128 * ONE + ONE / 2,
	};
}

/** Rounds the outer two and lets green take the rest, so that a grey comes out with the exact sum: no tint. */
function balanced(red: number, blue: number, sum: number): readonly [number, number, number] {
	const roundedRed = Math.round(red);
	const roundedBlue = Math.round(blue);
	return [roundedRed, sum - roundedRed - roundedBlue, roundedBlue];
}

type Strip = { readonly rowPx: number; readonly area: Area; readonly factors: Factors };

/** Two rows at once, a 2 x 2 block a turn. At an odd edge the last row or column stands for its missing neighbour. */
function convertRowPair(
	{ widthPx, heightPx, rgba }: Raster,
	planes: Planes,
	{ rowPx, area, factors }: Strip,
): void {
	const [lumaR, lumaG, lumaB] = factors.luma;
	const [cbR, cbG, cbB] = factors.cb;
	const [crR, crG, crB] = factors.cr;
	const { lumaBias, chromaBias } = factors;
	const { y, u, v, yStride } = planes;
	const rowStep = rowPx + 1 < heightPx ? 1 : 0;
	let chromaAt = (rowPx >> 1) * planes.uvStride + (area.left >> 1);
	for (let columnPx = area.left; columnPx < area.right; columnPx += 2) {
		const columnStep = columnPx + 1 < widthPx ? 1 : 0;
		let sumR = 0;
		let sumG = 0;
		let sumB = 0;
		for (let corner = 0; corner < 4; corner += 1) {
			const atRow = rowPx + (corner >> 1) * rowStep;
			const atColumn = columnPx + (corner & 1) * columnStep;
			const from = (atRow * widthPx + atColumn) * 4;
			const red = rgba[from]!;
			const green = rgba[from + 1]!;
			const blue = rgba[from + 2]!;
			y[atRow * yStride + atColumn] = (lumaR * red + lumaG * green + lumaB * blue + lumaBias) >> 16;
			sumR += red;
			sumG += green;
			sumB += blue;
		}
		// Full-range red and blue come to 255.5 before rounding; a byte would wrap to 0.
		u[chromaAt] = Math.min(255, (cbR * sumR + cbG * sumG + cbB * sumB + chromaBias) >> 16);
		v[chromaAt] = Math.min(255, (crR * sumR + crG * sumG + crB * sumB + chromaBias) >> 16);
		chromaAt += 1;
	}
}

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

/**
 * Two rows at once, a 2 x 2 block a turn, written out because a loop over the four takes three times as long. At an odd edge
 * the last row or column stands for its missing neighbour.
 */
function convertRowPair(
	{ widthPx, heightPx, rgba }: Raster,
	planes: Planes,
	{ rowPx, area, factors }: Strip,
): void {
	const [lumaR, lumaG, lumaB] = factors.luma;
	const [cbR, cbG, cbB] = factors.cb;
	const [crR, crG, crB] = factors.cr;
	const { lumaBias, chromaBias } = factors;
	const { y, u, v, yStride, uvStride } = planes;
	const hasBelow = rowPx + 1 < heightPx;
	const lumaBelow = hasBelow ? yStride : 0;
	const pixelBelow = hasBelow ? 4 * widthPx : 0;
	let lumaAt = rowPx * yStride + area.left;
	let chromaAt = (rowPx >> 1) * uvStride + (area.left >> 1);
	let upper = 4 * (rowPx * widthPx + area.left);
	for (let columnPx = area.left; columnPx < area.right; columnPx += 2) {
		const right = columnPx + 1 < widthPx ? 1 : 0;
		const upperNext = upper + 4 * right;
		const lower = upper + pixelBelow;
		const lowerNext = upperNext + pixelBelow;
		const r0 = rgba[upper]!;
		const g0 = rgba[upper + 1]!;
		const b0 = rgba[upper + 2]!;
		const r1 = rgba[upperNext]!;
		const g1 = rgba[upperNext + 1]!;
		const b1 = rgba[upperNext + 2]!;
		const r2 = rgba[lower]!;
		const g2 = rgba[lower + 1]!;
		const b2 = rgba[lower + 2]!;
		const r3 = rgba[lowerNext]!;
		const g3 = rgba[lowerNext + 1]!;
		const b3 = rgba[lowerNext + 2]!;
		y[lumaAt] = (lumaR * r0 + lumaG * g0 + lumaB * b0 + lumaBias) >> 16;
		y[lumaAt + right] = (lumaR * r1 + lumaG * g1 + lumaB * b1 + lumaBias) >> 16;
		y[lumaAt + lumaBelow] = (lumaR * r2 + lumaG * g2 + lumaB * b2 + lumaBias) >> 16;
		y[lumaAt + lumaBelow + right] = (lumaR * r3 + lumaG * g3 + lumaB * b3 + lumaBias) >> 16;
		const red = r0 + r1 + r2 + r3;
		const green = g0 + g1 + g2 + g3;
		const blue = b0 + b1 + b2 + b3;
		// Full-range red and blue come to 255.5 before rounding; a byte would wrap to 0.
		u[chromaAt] = Math.min(255, (cbR * red + cbG * green + cbB * blue + chromaBias) >> 16);
		v[chromaAt] = Math.min(255, (crR * red + crG * green + crB * blue + chromaBias) >> 16);
		lumaAt += 2;
		chromaAt += 1;
		upper += 8;
	}
}

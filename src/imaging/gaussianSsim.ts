/**
 * Structural similarity of two luma planes as the paper has it: Gaussian window 11 x 11, sigma 1.5, only windows that lie
 * wholly inside ('valid'), no low-pass and no downsampling first; mean over windows. Several times slower than blockSsim.ts:
 * for sampled frames.
 *
 * Source: Wang, Bovik, Sheikh, Simoncelli, IEEE Transactions on Image Processing 13(4):600-612, 2004.
 */
import { checkSameSize, type LumaPlane } from './planes.ts';
import { SSIM_C1, SSIM_C2 } from './ssimTerms.ts';

const RADIUS_PX = 5;
const WINDOW_PX = 2 * RADIUS_PX + 1;
const SIGMA_PX = 1.5;
/** Half of the symmetric window, outermost first, centre last; the whole sums to 1. */
const WEIGHTS = halfWindow();

/** One row of each quantity after the vertical half of the window. */
type Row = {
	readonly a: Float64Array;
	readonly b: Float64Array;
	/** a a + b b: the formula needs the two variances only as a sum. */
	readonly squares: Float64Array;
	readonly products: Float64Array;
};

/** 1 when identical, lower with difference, below 0 for a negative. RangeError when sizes differ or a side is under 11 px. */
export function gaussianSsim(a: LumaPlane, b: LumaPlane): number {
	checkSameSize(a, b);
	if (a.widthPx < WINDOW_PX || a.heightPx < WINDOW_PX) {
		throw new RangeError(
			`Gaussian similarity needs sides of at least 11 px, got ${a.widthPx} x ${a.heightPx}`,
		);
	}
	const makeRow = () => new Float64Array(a.widthPx);
	const row: Row = { a: makeRow(), b: makeRow(), squares: makeRow(), products: makeRow() };
	const windowRows = a.heightPx - WINDOW_PX + 1;
	const windowColumns = a.widthPx - WINDOW_PX + 1;
	let total = 0;
	for (let topPx = 0; topPx < windowRows; topPx += 1) {
		weighColumns(a, b, { topPx, row });
		total += similarityOfRow(row, windowColumns);
	}
	return total / (windowRows * windowColumns);
}

/** The vertical half: rows that lie alike far from the centre share a weight, so they are added first, as whole numbers. */
function weighColumns(a: LumaPlane, b: LumaPlane, { topPx, row }: { topPx: number; row: Row }): void {
	const aData = a.data;
	const bData = b.data;
	const centreWeight = WEIGHTS[RADIUS_PX]!;
	for (let columnPx = 0; columnPx < a.widthPx; columnPx += 1) {
		let aUpper = topPx * a.stride + columnPx;
		let bUpper = topPx * b.stride + columnPx;
		let aLower = aUpper + (WINDOW_PX - 1) * a.stride;
		let bLower = bUpper + (WINDOW_PX - 1) * b.stride;
		let sumA = 0;
		let sumB = 0;
		let squares = 0;
		let products = 0;
		for (let tap = 0; tap < RADIUS_PX; tap += 1) {
			const weight = WEIGHTS[tap]!;
			const a0 = aData[aUpper]!;
			const a1 = aData[aLower]!;
			const b0 = bData[bUpper]!;
			const b1 = bData[bLower]!;
			sumA += weight * (a0 + a1);
			sumB += weight * (b0 + b1);
			squares += weight * (a0 * a0 + a1 * a1 + b0 * b0 + b1 * b1);
			products += weight * (a0 * b0 + a1 * b1);
			aUpper += a.stride;
			bUpper += b.stride;
			aLower -= a.stride;
			bLower -= b.stride;
		}
		const aCentre = aData[aUpper]!;
		const bCentre = bData[bUpper]!;
		row.a[columnPx] = sumA + centreWeight * aCentre;
		row.b[columnPx] = sumB + centreWeight * bCentre;
		row.squares[columnPx] = squares + centreWeight * (aCentre * aCentre + bCentre * bCentre);
		row.products[columnPx] = products + centreWeight * aCentre * bCentre;
	}
}

function similarityOfRow(row: Row, windowColumns: number): number {
	let total = 0;
	for (let leftPx = 0; leftPx < windowColumns; leftPx += 1) {
		const meanA = weighAlong(row.a, leftPx);
		const meanB = weighAlong(row.b, leftPx);
		const meanSquares = meanA * meanA + meanB * meanB;
		const meanProduct = meanA * meanB;
		const variances = weighAlong(row.squares, leftPx) - meanSquares;
		const covariance = weighAlong(row.products, leftPx) - meanProduct;
		total +=
			((2 * meanProduct + SSIM_C1) * (2 * covariance + SSIM_C2)) /
			((meanSquares + SSIM_C1) * (variances + SSIM_C2));
	}
	return total;
}

/** The horizontal half. */
function weighAlong(values: Float64Array, leftPx: number): number {
	let sum = WEIGHTS[RADIUS_PX]! * values[leftPx + RADIUS_PX]!;
	for (let tap = 0; tap < RADIUS_PX; tap += 1) {
		sum += WEIGHTS[tap]! * (values[leftPx + tap]! + values[leftPx + WINDOW_PX - 1 - tap]!);
	}
	return sum;
}

function halfWindow(): Float64Array {
	const bell = (distancePx: number) => Math.exp(-(distancePx ** 2) / (2 * SIGMA_PX ** 2));
	const half = Float64Array.from({ length: RADIUS_PX + 1 }, (_, tap) => bell(RADIUS_PX - tap));
	const outer = half.subarray(0, RADIUS_PX).reduce((sum, weight) => sum + weight, 0);
	return half.map((weight) => weight / (2 * outer + half[RADIUS_PX]!));
}

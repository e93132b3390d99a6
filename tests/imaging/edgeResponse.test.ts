import { describe, expect, test } from 'vitest';
import { type EdgeResponse, measureEdge } from '../../src/imaging/edgeResponse.ts';
import { createRealPlane, type RealPlane, transposed } from '../../src/imaging/realPlane.ts';
import { createRandom } from '../../src/statistics/random.ts';
import { gaussianEdgeRows } from '../vectors/imagingEdges.ts';
import { madeEdge, withNoise } from './madeEdges.ts';

function measured(plane: RealPlane): EdgeResponse {
	const reading = measureEdge(plane);
	if (reading.kind === 'notMeasured') throw new Error(reading.explanation);
	return reading;
}

describe.each([3, 5, 10, 15])('an edge %d degrees off the pixels', (angleDeg) => {
	test.each(gaussianEdgeRows)(
		'blurred by a Gaussian of %d px has its half contrast at %d cycles a pixel',
		(sigmaPx, mtf50) => {
			const edge = measured(madeEdge({ sidePx: 100, sigmaPx, angleDeg, contrast: 4 }));
			expect(edge.mtf50CyPx! / mtf50).toBeGreaterThan(0.995);
			expect(edge.mtf50CyPx! / mtf50).toBeLessThan(1.005);
			expect(edge.angleDeg).toBeCloseTo(angleDeg, 2);
			expect(edge.overshootRatio).toBe(0);
		},
	);
});

test.each([2, 4, 20])(
	'noise at a twentieth of the light, contrast %d to 1, does not push the figure by 2 %%',
	(contrast) => {
		const clean = madeEdge({ sidePx: 100, sigmaPx: 1, angleDeg: 5, contrast });
		const random = createRandom(11);
		const readings = Array.from(
			{ length: 40 },
			() => measured(withNoise(clean, 0.8 / 20, random)).mtf50CyPx! / 0.17996,
		);
		const mean = readings.reduce((sum, value) => sum + value, 0) / readings.length;
		const scatter = Math.sqrt(readings.reduce((sum, value) => sum + (value - mean) ** 2, 0) / 39);
		expect(Math.abs(mean - 1)).toBeLessThan(0.02);
		// The least scatter possible from 100 rows is 0.27 noise / step, so 2.7 % at 2 to 1 (computed, Cramer and Rao).
		expect(scatter).toBeLessThan(2.2 * 0.266 * (0.05 / (1 - 1 / contrast)));
	},
);

test('a lying edge is measured down the columns, a falling one as a rising one', () => {
	const edge = madeEdge({ sidePx: 80, sigmaPx: 0.8, angleDeg: 6, contrast: 4 });
	const across = measured(edge);
	const down = measured(transposed(edge));
	const falling = measured({ ...edge, data: edge.data.map((value) => 1 - value) });
	expect([across.axis, down.axis]).toEqual(['across', 'down']);
	expect(down.mtf50CyPx).toBeCloseTo(across.mtf50CyPx!, 10);
	expect(falling.mtf50CyPx).toBeCloseTo(across.mtf50CyPx!, 4);
});

test('an edge bent by a lens keeps its sharpness', () => {
	const straight = madeEdge({ sidePx: 100, sigmaPx: 1, angleDeg: 5, contrast: 4 });
	const bent = createRealPlane(100, 100);
	// Each row moved by up to 2 px along a parabola, by whole steps of the straight edge's own slant.
	for (let row = 0; row < 100; row++) {
		const from = Math.min(99, Math.max(0, row + Math.round(23 * ((row - 50) / 50) ** 2)));
		for (let column = 0; column < 100; column++)
			bent.data[row * 100 + column] = straight.data[from * 100 + column]!;
	}
	const rows = { ...bent, heightPx: 70, data: bent.data.subarray(0, 7000) };
	expect(measured(rows).mtf50CyPx! / 0.17996).toBeCloseTo(1, 1);
});

test('sharpening shows as overshoot and as a response over 1', () => {
	const soft = madeEdge({ sidePx: 100, sigmaPx: 1.2, angleDeg: 5, contrast: 4 });
	const sharpened = { ...soft, data: soft.data.slice() };
	for (let row = 0; row < 100; row++)
		for (let column = 2; column < 98; column++) {
			const at = row * 100 + column;
			sharpened.data[at] = soft.data[at]! + (2 * soft.data[at]! - soft.data[at - 2]! - soft.data[at + 2]!);
		}
	const edge = measured(sharpened);
	expect(edge.overshootRatio).toBeGreaterThan(0.1);
	expect(Math.max(...edge.response)).toBeGreaterThan(1.05);
	expect(edge.mtf50CyPx).toBeGreaterThan(measured(soft).mtf50CyPx!);
});

test('what is no slanted edge is refused with its reason', () => {
	const flat = createRealPlane(60, 60);
	const reason = (plane: RealPlane) => {
		const reading = measureEdge(plane);
		return reading.kind === 'notMeasured' ? reading.reason : 'measured';
	};
	expect(reason({ ...flat, data: flat.data.fill(0.4) })).toBe('noEdge');
	// A grain that rises to the right by chance fits a line that runs out of the plane.
	const random = createRandom(4);
	for (let i = 0; i < 200; i++) {
		const grain = createRealPlane(40, 40);
		for (let at = 0; at < grain.data.length; at++) grain.data[at] = 0.5 + 0.1 * random.normal();
		expect(reason(grain)).not.toBe('measured');
	}
	expect(reason(createRealPlane(12, 60))).toBe('tooSmall');
	expect(reason(madeEdge({ sidePx: 60, sigmaPx: 1, angleDeg: 0, contrast: 4 }))).toBe('wrongSlant');
	expect(reason(madeEdge({ sidePx: 60, sigmaPx: 1, angleDeg: 5, contrast: 1.02 }))).toBe('noContrast');
});

import fc from 'fast-check';
import { expect, test } from 'vitest';
import type { Rgb } from '../../src/colour/rgb.ts';
import { BT709_LIMITED, rgbToYCbCr, type YCbCrEncoding } from '../../src/colour/yCbCr.ts';
import { createPlanes, lumaOf, type Planes } from '../../src/imaging/planes.ts';
import { planesToRaster } from '../../src/imaging/planesToRaster.ts';
import { createRaster, type Raster } from '../../src/imaging/raster.ts';
import { rasterToPlanes } from '../../src/imaging/rasterToPlanes.ts';
import { yCbCrRows } from '../vectors/colourYCbCr.ts';
import { randomRaster } from './madePictures.ts';

const encodings: readonly YCbCrEncoding[] = (['601', '709'] as const).flatMap((matrix) => [
	{ matrix, range: 'limited' },
	{ matrix, range: 'full' },
]);

function flatRaster([widthPx, heightPx]: readonly [number, number], [red, green, blue]: Rgb): Raster {
	const raster = createRaster(widthPx, heightPx);
	for (let at = 0; at < raster.rgba.length; at += 4) raster.rgba.set([red, green, blue], at);
	return raster;
}

function pixel({ widthPx, rgba }: Raster, xPx: number, yPx: number): Rgb {
	const at = (yPx * widthPx + xPx) * 4;
	return [rgba[at]!, rgba[at + 1]!, rgba[at + 2]!];
}

/** Mean colour of a 2 x 2 block; past an odd edge the last pixel stands for its neighbour. */
function blockMean(raster: Raster, xPx: number, yPx: number): Rgb {
	const right = Math.min(xPx + 1, raster.widthPx - 1);
	const below = Math.min(yPx + 1, raster.heightPx - 1);
	const corners = [
		pixel(raster, xPx, yPx),
		pixel(raster, right, yPx),
		pixel(raster, xPx, below),
		pixel(raster, right, below),
	];
	const mean = (channel: 0 | 1 | 2) => corners.reduce((sum, corner) => sum + corner[channel], 0) / 4;
	return [mean(0), mean(1), mean(2)];
}

test.each(yCbCrRows)('a flat picture of $name has its BT.709 and BT.601 codes everywhere', (row) => {
	const raster = flatRaster([6, 4], row.rgb);
	const cases = [
		[BT709_LIMITED, row.limited709],
		[{ matrix: '601', range: 'limited' }, row.limited601],
	] as const;
	for (const [encoding, [y, cb, cr]] of cases) {
		const planes = rasterToPlanes(raster, encoding);
		expect(new Set(planes.y)).toEqual(new Set([y]));
		expect(new Set(planes.u)).toEqual(new Set([cb]));
		expect(new Set(planes.v)).toEqual(new Set([cr]));
	}
});

test('full-range red and blue are held at 255 and do not wrap to 0', () => {
	for (const matrix of ['601', '709'] as const) {
		expect(rasterToPlanes(flatRaster([2, 2], [255, 0, 0]), { matrix, range: 'full' }).v[0]).toBe(255);
		expect(rasterToPlanes(flatRaster([2, 2], [0, 0, 255]), { matrix, range: 'full' }).u[0]).toBe(255);
	}
});

test('a grey has no tint, at any brightness and in any encoding', () => {
	for (const encoding of encodings) {
		for (let grey = 0; grey <= 255; grey += 1) {
			const planes = rasterToPlanes(flatRaster([2, 2], [grey, grey, grey]), encoding);
			expect([planes.u[0], planes.v[0]]).toEqual([128, 128]);
		}
	}
});

// Two ways: fixed point against the real-valued conversion.
test.each(encodings)(
	'every code is within 0.51 of the real-valued conversion, $matrix $range',
	(encoding) => {
		const raster = randomRaster([37, 23], 7);
		const planes = rasterToPlanes(raster, encoding);
		for (let y = 0; y < raster.heightPx; y += 1) {
			for (let x = 0; x < raster.widthPx; x += 1) {
				const [luma] = rgbToYCbCr(pixel(raster, x, y), encoding);
				expect(Math.abs(planes.y[y * planes.yStride + x]! - luma)).toBeLessThanOrEqual(0.51);
				if (x % 2 === 1 || y % 2 === 1) continue;
				const [, cb, cr] = rgbToYCbCr(blockMean(raster, x, y), encoding);
				const at = (y / 2) * planes.uvStride + x / 2;
				expect(Math.abs(planes.u[at]! - cb)).toBeLessThanOrEqual(0.51);
				expect(Math.abs(planes.v[at]! - cr)).toBeLessThanOrEqual(0.51);
			}
		}
	},
);

test('a flat colour goes to planes and back within two codes', () => {
	const byte = fc.integer({ min: 0, max: 255 });
	fc.assert(
		fc.property(fc.tuple(byte, byte, byte), fc.constantFrom(...encodings), (rgb, encoding) => {
			const back = planesToRaster(rasterToPlanes(flatRaster([3, 3], rgb), encoding), encoding);
			for (const [at, value] of pixel(back, 2, 2).entries()) {
				expect(Math.abs(value - rgb[at]!)).toBeLessThanOrEqual(2);
			}
		}),
	);
});

test('a partial update equals a whole conversion where the picture changed, and touches nothing else', () => {
	const sides = [21, 15] as const;
	const side = (max: number) => fc.tuple(fc.nat({ max: max - 1 }), fc.nat({ max: max - 1 }));
	fc.assert(
		fc.property(side(sides[0]), side(sides[1]), (columns, rows) => {
			const [left, right] = [Math.min(...columns), Math.max(...columns)];
			const [top, bottom] = [Math.min(...rows), Math.max(...rows)];
			const rect = { xPx: left, yPx: top, widthPx: right - left + 1, heightPx: bottom - top + 1 };
			const before = randomRaster(sides, 1);
			const after = { ...before, rgba: before.rgba.slice() };
			for (let y = top; y <= bottom; y += 1) {
				for (let x = left; x <= right; x += 1) after.rgba.set([x * 9, y * 9, 77], (y * sides[0] + x) * 4);
			}
			const planes = rasterToPlanes(before, BT709_LIMITED);
			expect(rasterToPlanes(after, BT709_LIMITED, planes, rect)).toBe(planes);
			expect(planes).toEqual(rasterToPlanes(after, BT709_LIMITED));
		}),
	);
});

test('outside the widened rectangle nothing is written', () => {
	const planes = createPlanes(8, 8);
	rasterToPlanes(flatRaster([8, 8], [255, 255, 255]), BT709_LIMITED, planes, {
		xPx: 3,
		yPx: 3,
		widthPx: 2,
		heightPx: 2,
	});
	const written = Array.from(planes.y.entries()).filter(([, code]) => code !== 0);
	expect(written.map(([at]) => [at % 8, Math.floor(at / 8)])).toEqual(
		[2, 3, 4, 5].flatMap((y) => [2, 3, 4, 5].map((x) => [x, y])),
	);
});

test('padded planes are written row by row, and the padding is left alone', () => {
	const raster = randomRaster([10, 6], 3);
	const plain = rasterToPlanes(raster, BT709_LIMITED);
	const padded: Planes = {
		widthPx: 10,
		heightPx: 6,
		y: new Uint8Array(16 * 6),
		u: new Uint8Array(8 * 3),
		v: new Uint8Array(8 * 3),
		yStride: 16,
		uvStride: 8,
	};
	rasterToPlanes(raster, BT709_LIMITED, padded);
	for (let y = 0; y < 6; y += 1) {
		expect(padded.y.subarray(y * 16, y * 16 + 10)).toEqual(plain.y.subarray(y * 10, y * 10 + 10));
		expect(padded.y.subarray(y * 16 + 10, y * 16 + 16)).toEqual(new Uint8Array(6));
	}
	expect(planesToRaster(padded, BT709_LIMITED)).toEqual(planesToRaster(plain, BT709_LIMITED));
});

test('luma is looked at in place', () => {
	const planes = createPlanes(4, 2);
	planes.y[5] = 200;
	expect(lumaOf(planes)).toMatchObject({ stride: 4, widthPx: 4, heightPx: 2 });
	expect(lumaOf(planes).data[5]).toBe(200);
});

test('odd sides round the chroma up, and impossible sides are refused', () => {
	const { u, v, uvStride } = createPlanes(5, 3);
	expect([u.length, v.length, uvStride]).toEqual([6, 6, 3]);
	for (const wrong of [0, -2, 1.5, Number.NaN]) {
		expect(() => createRaster(wrong, 2)).toThrow(RangeError);
		expect(() => createPlanes(2, wrong)).toThrow(RangeError);
	}
});

test('a partial update outside the picture, or into nothing, is refused', () => {
	const raster = createRaster(8, 8);
	const rect = { xPx: 4, yPx: 0, widthPx: 6, heightPx: 2 };
	expect(() => rasterToPlanes(raster, BT709_LIMITED, undefined, rect)).toThrow(RangeError);
	expect(() => rasterToPlanes(raster, BT709_LIMITED, createPlanes(8, 8), rect)).toThrow(RangeError);
	expect(() => rasterToPlanes(raster, BT709_LIMITED, createPlanes(8, 6))).toThrow(RangeError);
	expect(() => planesToRaster(createPlanes(8, 6), BT709_LIMITED, raster)).toThrow(RangeError);
});

import { expect, test } from 'vitest';
import { differencePicture } from '../../src/imaging/differencePicture.ts';
import { createRaster } from '../../src/imaging/raster.ts';
import { randomRaster } from './madePictures.ts';

test('identical pictures have no differing pixel', () => {
	const picture = randomRaster([20, 10], 5);
	expect(differencePicture(picture, picture).mismatchRatio).toBe(0);
});

test('a block of other colour is counted by its area and drawn red', () => {
	const before = createRaster(20, 10);
	const after = createRaster(20, 10);
	for (let y = 2; y < 6; y += 1)
		for (let x = 5; x < 10; x += 1) after.rgba.set([255, 255, 255], (y * 20 + x) * 4);
	const { raster, mismatchRatio } = differencePicture(before, after);
	expect(mismatchRatio).toBeCloseTo(20 / 200, 12);
	const inside = (3 * 20 + 7) * 4;
	expect([...raster.rgba.subarray(inside, inside + 4)]).toEqual([255, 0, 0, 255]);
});

test('pictures of two sizes are refused', () => {
	expect(() => differencePicture(createRaster(4, 4), createRaster(4, 5))).toThrow(RangeError);
});

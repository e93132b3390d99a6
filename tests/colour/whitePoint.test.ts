import fc from 'fast-check';
import { expect, test } from 'vitest';
import { chromaticityOf } from '../../src/colour/chromaticity.ts';
import { colourTemperatureK } from '../../src/colour/colourTemperature.ts';
import { srgbToXyz65 } from '../../src/colour/srgbToXyz65.ts';
import { whitePointError } from '../../src/colour/whitePointError.ts';
import { colourTemperatures, tintedWhites } from '../vectors/colourSpaces.ts';

test.each(colourTemperatures)('chromaticity %j has the published colour temperature', (xy, kelvin) => {
	expect(colourTemperatureK(xy)).toBeCloseTo(kelvin, 3);
});

test.each(tintedWhites)('white seen as $rgb has the computed errors', (row) => {
	const seen = whitePointError(row.rgb);
	if (seen === null) throw new Error('a lit patch must have a white point');
	expect(seen.chroma).toBeCloseTo(row.chroma, 2);
	expect(Math.abs(seen.deltaUv - row.deltaUv)).toBeLessThan(1e-5);
	expect(seen.angleDeg).toBeCloseTo(row.angleDeg, 2);
	expect(Math.abs(colourTemperatureK(chromaticityOf(srgbToXyz65(row.rgb))) - row.kelvin)).toBeLessThan(1);
	if (row.redOverGreen !== null) expect(seen.redOverGreen).toBeCloseTo(row.redOverGreen, 4);
	if (row.blueOverGreen !== null) expect(seen.blueOverGreen).toBeCloseTo(row.blueOverGreen, 4);
});

test('a true grey of any brightness has no error', () => {
	fc.assert(
		fc.property(fc.double({ min: 1, max: 255, noNaN: true }), (grey) => {
			const seen = whitePointError([grey, grey, grey]);
			expect(seen).toMatchObject({ redOverGreen: 1, blueOverGreen: 1, angleDeg: 0 });
			expect(seen?.chroma).toBeCloseTo(0, 9);
			expect(seen?.deltaUv).toBeCloseTo(0, 9);
		}),
	);
});

test('a patch without green light has no white point', () => {
	expect(whitePointError([0, 0, 0])).toBeNull();
	expect(whitePointError([200, 0, 30])).toBeNull();
});

import { expect, test } from 'vitest';
import { OutsideFailure } from '../../src/failure.ts';
import { parseReferenceChart } from '../../src/reading/referenceChart.ts';

// Values: the classic 24-patch target after November 2014, Lab under D50, as published in the colour-science/colour library.
const LAB = `CGATS.17
ORIGINATOR "made for a test"   # a comment
NUMBER_OF_FIELDS 4
BEGIN_DATA_FORMAT
SAMPLE_ID LAB_L LAB_A LAB_B
END_DATA_FORMAT
NUMBER_OF_SETS 3
BEGIN_DATA
A1 37.54 14.37 14.92
A2 64.66 19.27 17.50
B1 50.76 -0.13 0.14
END_DATA
`;

test('Lab values under D50 become sRGB codes as published, at the places that their names say', () => {
	const chart = parseReferenceChart(LAB, null);
	expect(chart.patches.map(({ name, row, column }) => [name, row, column])).toEqual([
		['A1', 0, 0],
		['A2', 0, 1],
		['B1', 1, 0],
	]);
	expect(chart.patches.map(({ rgb }) => rgb.map(Math.round))).toEqual([
		[116, 79, 65],
		[197, 144, 127],
		[121, 121, 121],
	]);
	expect([chart.rowCount, chart.columnCount]).toEqual([2, 2]);
});

test('XYZ and RGB values are read, quoted names too, and a number of columns gives the places', () => {
	const xyz = LAB.replace('LAB_L LAB_A LAB_B', 'XYZ_X XYZ_Y XYZ_Z').replace(
		'A1 37.54 14.37 14.92',
		'"first one" 96.42 100 82.49',
	);
	expect(parseReferenceChart(xyz, 2).patches[0]!.rgb.map(Math.round)).toEqual([255, 255, 255]);
	const rgb = LAB.replace('LAB_L LAB_A LAB_B', 'RGB_R RGB_G RGB_B').replaceAll('-0.13', '0.13');
	expect(parseReferenceChart(rgb, 2).patches[2]).toMatchObject({
		rgb: [50.76, 0.13, 0.14],
		row: 1,
		column: 0,
	});
});

test.each([
	['', /BEGIN_DATA_FORMAT/],
	[LAB.replace('BEGIN_DATA\n', ''), /no BEGIN_DATA/],
	[LAB.replace('LAB_B', 'LAB_C'), /none of LAB_L/],
	[LAB.replace('37.54', 'dark'), /no number: dark/],
	[LAB.replace('A1 37.54', '37.54'), /do not fill rows of 4/],
	[LAB.replace('A1', 'skin'), /--columns/],
])('a wrong chart file is refused by name of what is wrong (%#)', (text, message) => {
	expect(() => parseReferenceChart(text, null)).toThrow(OutsideFailure);
	expect(() => parseReferenceChart(text, null)).toThrow(message);
});

/**
 * A chart of the user's own: a text file of patches and values in the keyword form of CGATS.17 and ISO 28178, and where the
 * patches lie between four corners. Values: LAB_L LAB_A LAB_B (D50), XYZ_X XYZ_Y XYZ_Z (0 to 100, D50) or RGB_R RGB_G RGB_B (0 to 255).
 * Places: names such as A1, B12 (letter the row), or ROW and COLUMN fields, or the order of the file over a given number of columns.
 *
 * Source: keyword text exchange of CGATS.17, from memory: a first line that names the form, keywords, BEGIN_DATA_FORMAT …
 * END_DATA_FORMAT, BEGIN_DATA … END_DATA. Spectral columns are passed over. D50 as ICC has it.
 */

import { ICC_D50, xyzOf } from '../colour/chromaticity.ts';
import { xyzToLab } from '../colour/lab.ts';
import { lab50ToSrgb } from '../colour/lab50ToSrgb.ts';
import type { Rgb } from '../colour/rgb.ts';
import { OutsideFailure } from '../failure.ts';
import type { Box } from '../pattern/detailCard.ts';

export type ReferenceChart = {
	readonly patches: readonly {
		readonly name: string;
		readonly rgb: Rgb;
		readonly row: number;
		readonly column: number;
	}[];
	readonly rowCount: number;
	readonly columnCount: number;
};

/** Throws `OutsideFailure` `chartWrong`, naming what is missing. `columns`: for files whose names say no place. */
export function parseReferenceChart(text: string, columns: number | null): ReferenceChart {
	const tokens =
		text
			.split(/\r?\n/)
			.map((line) => line.replace(/#.*/, ''))
			.join('\n')
			.match(/"[^"]*"|\S+/g) ?? [];
	const fields = between(tokens, 'BEGIN_DATA_FORMAT', 'END_DATA_FORMAT');
	const values = between(tokens, 'BEGIN_DATA', 'END_DATA');
	if (fields === null || fields.length === 0)
		throw wrong('it has no BEGIN_DATA_FORMAT … END_DATA_FORMAT that names its columns');
	if (values === null || values.length === 0) throw wrong('it has no BEGIN_DATA … END_DATA with values');
	if (values.length % fields.length !== 0)
		throw wrong(`its ${values.length} values do not fill rows of ${fields.length} columns`);
	const rows = Array.from({ length: values.length / fields.length }, (_, i) =>
		values.slice(i * fields.length, (i + 1) * fields.length),
	);
	const colourOf = colourReader(fields);
	const named = rows.map((row, i) => ({ name: nameIn(row, fields) ?? String(i + 1), rgb: colourOf(row) }));
	return placed(named, columns);
}

function between(tokens: readonly string[], from: string, to: string): string[] | null {
	const start = tokens.indexOf(from);
	const end = tokens.indexOf(to, start);
	return start < 0 || end < 0 ? null : tokens.slice(start + 1, end);
}

function nameIn(row: readonly string[], fields: readonly string[]): string | null {
	for (const field of ['SAMPLE_NAME', 'SAMPLE_LOC', 'SAMPLE_ID', 'SampleID']) {
		const at = fields.indexOf(field);
		if (at >= 0) return row[at]!.replaceAll('"', '');
	}
	return null;
}

type ColourReader = (row: readonly string[]) => Rgb;

function colourReader(fields: readonly string[]): ColourReader {
	const triple = (
		names: readonly string[],
	): ((row: readonly string[]) => [number, number, number]) | null => {
		const places = names.map((name) => fields.indexOf(name));
		if (places.some((place) => place < 0)) return null;
		return (row) => {
			const [first, second, third] = places.map((place) => Number(row[place]));
			if (![first, second, third].every(Number.isFinite))
				throw wrong(
					`a value of ${names.join(', ')} is no number: ${places.map((place) => row[place]).join(' ')}`,
				);
			return [first!, second!, third!];
		};
	};
	const lab = triple(['LAB_L', 'LAB_A', 'LAB_B']);
	if (lab !== null) return (row) => lab50ToSrgb(lab(row));
	const xyz = triple(['XYZ_X', 'XYZ_Y', 'XYZ_Z']);
	if (xyz !== null)
		return (row) => {
			const [x, y, z] = xyz(row);
			return lab50ToSrgb(xyzToLab([x / 100, y / 100, z / 100], xyzOf(ICC_D50)));
		};
	const rgb = triple(['RGB_R', 'RGB_G', 'RGB_B']);
	if (rgb !== null) return (row) => checkCodes(rgb(row));
	throw wrong('it has none of LAB_L LAB_A LAB_B, XYZ_X XYZ_Y XYZ_Z, RGB_R RGB_G RGB_B');
}

function checkCodes(rgb: Rgb): Rgb {
	if (rgb.some((code) => code < 0 || code > 255))
		throw wrong(`RGB values run from 0 to 255, got ${rgb.join(' ')}`);
	return rgb;
}

type Named = { readonly name: string; readonly rgb: Rgb };

function placed(named: readonly Named[], columns: number | null): ReferenceChart {
	const places = named.map(({ name }) => /^([A-Z])(\d{1,2})$/i.exec(name));
	const byName = columns === null && places.every((place) => place !== null);
	if (!byName && columns === null)
		throw wrong('its patches are not named by place (A1, B2 …): say how many columns it has with --columns');
	const patches = named.map((patch, i) => {
		const place = places[i];
		const row = byName ? place![1]!.toUpperCase().charCodeAt(0) - 65 : Math.floor(i / columns!);
		const column = byName ? Number(place![2]) - 1 : i % columns!;
		return { ...patch, row, column };
	});
	return {
		patches,
		rowCount: Math.max(...patches.map(({ row }) => row)) + 1,
		columnCount: Math.max(...patches.map(({ column }) => column)) + 1,
	};
}

/** The middle of a patch, in units of patches from the upper left corner of the first. */
export function chartBox({ row, column }: { readonly row: number; readonly column: number }): Box {
	return { x: column + 0.3, y: row + 0.3, width: 0.4, height: 0.4 };
}

function wrong(because: string): OutsideFailure {
	return new OutsideFailure(
		'chartWrong',
		`The chart file cannot be used: ${because}.`,
		'Give the maker’s text file of reference values (CGATS / ISO 28178 keywords).',
	);
}

/** The criteria editor: a built-in set to begin from, every number that may be changed, the reasoning, and a file at the end. */
import { mkdir, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { REGISTER_FOLDER } from '../register/registerFolder.ts';
import {
	bulletList,
	html,
	joinHtml,
	nothing,
	paragraph,
	type SafePiece,
	section,
	termList,
} from '../report/htmlParts.ts';
import { type Criteria, criteriaHash, differsFromStandard, lineLabel } from '../verdict/criteria.ts';
import type { CriteriaLine } from '../verdict/criteriaLine.ts';
import { changeableKeys, parseCriteria } from '../verdict/parseCriteria.ts';
import { presets } from '../verdict/presets.ts';
import {
	button,
	choiceField,
	getForm,
	postForm,
	REGISTER_PATH,
	registerPage,
	textField,
} from './registerFrame.ts';
import type { Answer } from './route.ts';

const PATH = `${REGISTER_PATH}/criteria`;
/** Where files that were written from this page are kept. */
export const CRITERIA_FOLDER = `${REGISTER_FOLDER}/criteria`;

export function criteriaPage(from: string): Answer {
	const preset = presets.get(from) ?? presets.get('standard');
	if (preset === undefined) throw new RangeError('there is no standard to begin from');
	const { criteria, reasoning } = preset;
	return registerPage('Criteria', [
		section('begin', 'Begin from', [
			getForm(PATH, [
				choiceField(
					'from',
					'a built-in set',
					[...presets.keys()].map((key) => [key, key] as const),
					criteria.name,
				),
				button('Show it'),
			]),
			bulletList(reasoning),
		]),
		postForm(PATH, [
			textField('name', 'name of your criteria'),
			...criteria.lines.map(linePart),
			button('Write the file'),
		]),
	]);
}

const KEY_WORDS: Readonly<Record<string, string>> = {
	level: 'counted from',
	limit: 'limit',
	limitLong: 'limit in long runs',
	comfort: 'comfortable',
	source: 'source of your numbers',
};

const UNIT_WORDS: Readonly<Record<CriteriaLine['unit'], string>> = {
	ratio: 'share, 0.05 is 5 %',
	ms: 'ms',
	perMin: 'a minute',
	deltaE: 'CIEDE2000',
	none: '',
};
/** Lines that count from a rate; every other level is a time. */
const COUNTED_IN_RATE: readonly string[] = ['rate', 'moving-record'];

/** What a number in that field is of, in brackets; nothing where it is words. */
function unitOf(line: CriteriaLine, key: string): string {
	if (key === 'source') return '';
	const levelUnit = COUNTED_IN_RATE.includes(line.id) ? 'pictures a second' : 'ms';
	const ofLevel = key === 'level' || (key === 'comfort' && line.level !== null);
	return ` (${ofLevel ? levelUnit : UNIT_WORDS[line.unit]})`;
}

function linePart(line: CriteriaLine): SafePiece {
	const keys = changeableKeys(line);
	const head = html`<h3>${lineLabel(line)} (${line.id})</h3>`;
	if (keys.length === 0)
		return joinHtml([
			head,
			html`<p class="small">Binding: it is the same in all criteria and cannot be moved. ${line.source}.</p>`,
		]);
	const fields = keys.map((key) => {
		const value = key === 'source' ? '' : (line[key] ?? '');
		return textField(`${line.id}.${key}`, `${KEY_WORDS[key] ?? key}${unitOf(line, key)}`, String(value));
	});
	return joinHtml([
		head,
		html`<p class="small">As it stands: ${line.source}. Evidence: ${line.strength}.</p>`,
		...fields,
	]);
}

/** What differs from the standard, as a criteria file; `parseCriteria` has the last word, and names line and key of a mistake. */
export async function criteriaSent(root: string, fields: ReadonlyMap<string, string>): Promise<Answer> {
	const name = fields.get('name')?.trim() ?? '';
	const text = fileText(name, fields);
	const criteria = parseCriteria(text, 'your criteria');
	const folder = join(root, CRITERIA_FOLDER);
	const path = join(folder, `${name.replace(/[^A-Za-z0-9_-]+/g, '-')}.json`);
	await mkdir(folder, { recursive: true });
	await writeFile(path, text);
	return registerPage('Criteria', [writtenPart(criteria, path)]);
}

function fileText(name: string, fields: ReadonlyMap<string, string>): string {
	const standard = presets.get('standard')?.criteria;
	const lines = (standard?.lines ?? []).flatMap((line) => {
		const said = changeableKeys(line).flatMap((key) => {
			const value = fields.get(`${line.id}.${key}`)?.trim() ?? '';
			if (value === '' || (key !== 'source' && Number(value) === line[key])) return [];
			return [[key, key === 'source' ? value : numberOr(value)] as const];
		});
		return said.length === 0 ? [] : [[line.id, Object.fromEntries(said)] as const];
	});
	const file = { format: 'steerworthy-criteria', version: 1, name, lines: Object.fromEntries(lines) };
	return `${JSON.stringify(file, null, '\t')}\n`;
}

/** A word that is no number goes on as it is: the schema names it. */
function numberOr(text: string): number | string {
	const value = Number(text.replace(',', '.'));
	return Number.isFinite(value) ? value : text;
}

function writtenPart(criteria: Criteria, path: string): SafePiece {
	const differ = differsFromStandard(criteria);
	const unsourced = criteria.lines.filter(({ source }) => source.includes('no source given'));
	return section('written', `Written: ${criteria.name}`, [
		termList([
			['file', path],
			['hash', criteriaHash(criteria)],
		]),
		paragraph(differ.length === 0 ? 'Nothing differs from standard.' : 'What differs from standard:'),
		differ.length === 0 ? nothing : bulletList(differ),
		unsourced.length === 0
			? nothing
			: paragraph(
					`Without a source, and every report will say so: ${unsourced.map(({ id }) => id).join(', ')}.`,
				),
		paragraph(
			`Judge a kept run by it under Judge again. For runs to come: steerworthy open --criteria ${path}`,
		),
	]);
}

/** The by-hand sheet filled in on the console: one person, one kit, better, same or worse than the scope they have now. */
import { existsSync } from 'node:fs';
import { mkdir, readdir, readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { readRegister, SHEETS_FOLDER } from '../register/registerFolder.ts';
import { paragraph, section } from '../report/htmlParts.ts';
import {
	blankSheet,
	HAND_ANSWERS,
	HAND_ITEMS,
	type HandItem,
	type HandSheet,
	parseSheet,
} from '../verdict/handSheet.ts';
import {
	button,
	type Choice,
	choiceField,
	dayField,
	postForm,
	REGISTER_PATH,
	registerPage,
	saidPart,
	textField,
} from './registerFrame.ts';
import type { Answer } from './route.ts';

const PATH = `${REGISTER_PATH}/sheet` as const;
const ANSWERS: readonly Choice[] = [['', 'not tried'], ...HAND_ANSWERS.map((word): Choice => [word, word])];
const ITEMS = Object.entries(HAND_ITEMS) as [HandItem, string][];

export async function sheetPage(root: string, said: string | null = null): Promise<Answer> {
	const { kits } = await readRegister(root);
	const items = ITEMS.flatMap(([key, label]) => [
		choiceField(`${key}.than`, label, ANSWERS),
		textField(`${key}.note`, `${label}: in words`),
	]);
	return registerPage('By-hand sheet', [
		saidPart(said),
		section('sheet', 'Than our present scope', [
			paragraph(
				'Each person alone, before hearing what others say; leave what you did not try. It stands beside the figures of a comparison and is in none of them.',
			),
			postForm(PATH, [
				choiceField(
					'kit',
					'kit',
					[...kits.keys()].map((key): Choice => [key, key]),
				),
				textField('person', 'person'),
				textField('presentScope', 'our present scope'),
				dayField('day', 'day'),
				...items,
				button('Keep this sheet'),
			]),
		]),
	]);
}

/** One sheet a kit and person: a later one takes the earlier one's place. */
export async function sheetSent(root: string, fields: ReadonlyMap<string, string>): Promise<Answer> {
	const text = (key: string): string => fields.get(key)?.trim() ?? '';
	const sheet = {
		...blankSheet(text('kit'), text('person')),
		...{ presentScope: text('presentScope'), day: text('day') },
		answers: Object.fromEntries(
			ITEMS.map(([key]) => [key, { than: text(`${key}.than`) || null, note: text(`${key}.note`) }]),
		),
	};
	const kept = parseSheet(JSON.stringify(sheet), 'what was sent');
	await mkdir(join(root, SHEETS_FOLDER), { recursive: true });
	await writeFile(await pathFor(root, kept), `${JSON.stringify(kept, null, '\t')}\n`);
	return sheetPage(root, `The sheet of ${kept.person} on ${kept.kit} is kept.`);
}

/** Where this person's sheet on this kit is kept, else a name that is free: two people may differ in a letter that no file name has. */
async function pathFor(root: string, { kit, person }: HandSheet): Promise<string> {
	const own = (await sheetFiles(root)).find(({ sheet }) => sheet.kit === kit && sheet.person === person);
	if (own !== undefined) return own.path;
	const stem = join(root, SHEETS_FOLDER, `${kit}-${person}`.replace(/[^A-Za-z0-9_-]+/g, '-'));
	let path = `${stem}.json`;
	for (let next = 2; existsSync(path); next++) path = `${stem}-${next}.json`;
	return path;
}

/** All sheets that were kept here. Throws `OutsideFailure` `handSheetWrong` for one that cannot be read. */
export async function keptSheets(root: string): Promise<HandSheet[]> {
	return (await sheetFiles(root)).map(({ sheet }) => sheet);
}

async function sheetFiles(root: string): Promise<{ readonly path: string; readonly sheet: HandSheet }[]> {
	const folder = join(root, SHEETS_FOLDER);
	const names = (await readdir(folder).catch(() => [])).filter((name) => name.endsWith('.json')).sort();
	return Promise.all(
		names.map(async (name) => {
			const path = join(folder, name);
			return { path, sheet: parseSheet(await readFile(path, 'utf8'), path) };
		}),
	);
}

/** A second-opinion pack from the console: pictures by path or chosen in the browser, the cover's words, and the ZIP to fetch. */
import { randomBytes } from 'node:crypto';
import { createWriteStream, existsSync } from 'node:fs';
import { mkdir, rm } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { OutsideFailure } from '../failure.ts';
import { PATIENT_WARNING } from '../pack/coverPage.ts';
import { MOST_BYTES, makePack, ORIGINAL_ANSWERS, packedWords, SEDATED_ANSWERS } from '../pack/packJob.ts';
import { REGISTER_FOLDER } from '../register/registerFolder.ts';
import { readRunIndex } from '../register/runIndex.ts';
import { bulletList, html, paragraph, section } from '../report/htmlParts.ts';
import {
	areaField,
	button,
	type Choice,
	choiceField,
	dayField,
	filesField,
	linesOf,
	postForm,
	REGISTER_PATH,
	registerPage,
	textField,
	tickField,
} from './registerFrame.ts';
import { folderOf } from './registerJudgePage.ts';
import { type Answer, jsonAnswer } from './route.ts';

export const PACK_PATH = `${REGISTER_PATH}/pack` as const;
export const PACK_FILE_PATH = `${REGISTER_PATH}/pack-file` as const;
const PACKS_FOLDER = `${REGISTER_FOLDER}/packs`;
/** What was chosen in the browser lies here until the pack is made, and no longer. */
const INCOMING = `${PACKS_FOLDER}/.incoming`;
const KEPT_NAME = /^[0-9a-f]{16}\/[A-Za-z0-9_-][A-Za-z0-9._-]*$/;

export async function packPage(root: string): Promise<Answer> {
	// Pictures of a form that was never sent on must not stay behind.
	await rm(join(root, INCOMING), { recursive: true, force: true });
	const runs = (await readRunIndex(root)).filter(({ facts }) => facts !== null);
	return registerPage('Second opinion', [
		paragraph(PATIENT_WARNING),
		section('pack', 'A pack to send', [
			postForm(PACK_PATH, [
				html`<h3>The pictures</h3>`,
				filesField('chosen', 'clips and stills, chosen here', PACK_FILE_PATH),
				areaField('paths', 'or by their paths on this laptop, one a line; of a folder all its pictures'),
				choiceField('run', 'the run under whose reading they were made', [
					['', 'none'],
					...runs.map(({ folder }): Choice => [folder, folder]),
				]),
				choiceField(
					'original',
					'are they as the kit wrote them?',
					ORIGINAL_ANSWERS.map((word): Choice => [word, word]),
					'not known',
				),
				textField('smaller', 'make each clip no larger than, MB (needs ffmpeg)'),
				tickField('keepLocation', 'yes', 'leave in where the pictures were taken'),
				html`<h3>The cover</h3>`,
				textField('animal', 'which animal'),
				dayField('date', 'taken on'),
				textField('side', 'side: left, right, both'),
				textField('structure', 'what is looked at'),
				choiceField(
					'sedated',
					'sedated?',
					SEDATED_ANSWERS.map((word): Choice => [word, word]),
					'not stated',
				),
				textField('consent', 'who agreed that this is sent, and when'),
				areaField('question', 'the question'),
				textField('uplink', 'your uplink, Mbit/s: tells how long sending takes'),
				button('Make the pack'),
			]),
		]),
	]);
}

type Sent = {
	readonly root: string;
	readonly fields: ReadonlyMap<string, string>;
	readonly toolVersion: string;
};

/** Files that were chosen in the browser are gone from here afterwards, whatever came of it. */
export async function packSent({ root, fields, toolVersion }: Sent): Promise<Answer> {
	const text = (key: string): string => fields.get(key)?.trim() ?? '';
	const stated = (key: string): string => text(key) || 'not stated';
	const chosen = linesOf(text('chosen')).map((name) => incomingPath(root, name));
	try {
		for (const [key, words] of NEEDED)
			if (text(key) === '') throw new RangeError(`Say ${words}: the cover needs it.`);
		const pictures = [...chosen, ...linesOf(text('paths'))];
		if (pictures.length === 0) throw new RangeError('Choose at least one clip or still.');
		const out = await freePath(root, `${text('animal')}-${text('date')}`);
		const packed = await makePack({
			...{ out, pictures, toolVersion, at: new Date() },
			about: {
				...{ animal: text('animal'), question: text('question'), consent: text('consent') },
				...{ date: stated('date'), side: stated('side'), structure: stated('structure') },
				sedated: oneOf(SEDATED_ANSWERS, text('sedated'), 'not stated'),
			},
			original: oneOf(ORIGINAL_ANSWERS, text('original'), 'not known'),
			run: text('run') === '' ? null : await folderOf(root, text('run')),
			keepLocation: text('keepLocation') === 'yes',
			smaller: numberOf(text('smaller'), 'megabytes'),
		});
		return packedPage(packedWords(packed, out, numberOf(text('uplink'), 'Mbit/s of your uplink')), out);
	} finally {
		for (const path of chosen) await rm(dirname(path), { recursive: true, force: true });
	}
}

const NEEDED: readonly (readonly [key: string, words: string])[] = [
	['animal', 'which animal it is'],
	['question', 'what is asked'],
	['consent', 'who agreed that it is sent'],
];

function packedPage(lines: readonly string[], out: string): Answer {
	const name = basename(out);
	return registerPage('Second opinion', [
		section('packed', 'The pack is made', [
			bulletList(lines),
			html`<p><a href="/runs/${PACKS_FOLDER}/${encodeURIComponent(name)}" download="${name}">Fetch ${name}</a></p>`,
			paragraph('Look into it before you send it: its first page is index.html.'),
		]),
	]);
}

/** Keeps one file as it comes; gives the name by which the form asks for it. Throws `OutsideFailure` `pictureTooLarge`. */
export async function keepPackFile(
	root: string,
	{ name, bytes }: { readonly name: string; readonly bytes: AsyncIterable<Uint8Array> },
): Promise<Answer> {
	const safe =
		basename(name)
			.replace(/[^A-Za-z0-9._-]+/g, '-')
			.replace(/^\.+/, '') || 'picture';
	const kept = `${randomBytes(8).toString('hex')}/${safe}`;
	const path = join(root, INCOMING, kept);
	await mkdir(dirname(path), { recursive: true });
	try {
		await pipeline(Readable.from(notTooMany(bytes, safe)), createWriteStream(path));
	} catch (failure) {
		await rm(dirname(path), { recursive: true, force: true });
		throw failure;
	}
	return jsonAnswer({ kept });
}

async function* notTooMany(bytes: AsyncIterable<Uint8Array>, name: string): AsyncGenerator<Uint8Array> {
	let count = 0;
	for await (const piece of bytes) {
		count += piece.length;
		if (count > MOST_BYTES)
			throw new OutsideFailure(
				'pictureTooLarge',
				`${name} has more than ${Math.floor(MOST_BYTES / 1e6)} MB.`,
				'Cut the clip to what is asked about.',
			);
		yield piece;
	}
}

/** Only a name that was given out here. */
function incomingPath(root: string, kept: string): string {
	if (!KEPT_NAME.test(kept)) throw new RangeError('A chosen file did not come whole: choose it again.');
	return join(root, INCOMING, kept);
}

/** A name for the pack that is not taken yet. */
async function freePath(root: string, words: string): Promise<string> {
	const folder = join(root, PACKS_FOLDER);
	await mkdir(folder, { recursive: true });
	const stem =
		words
			.replace(/[^A-Za-z0-9_-]+/g, '-')
			.replace(/^-+|-+$/g, '')
			.slice(0, 80) || 'pack';
	let path = join(folder, `${stem}.zip`);
	for (let next = 2; existsSync(path); next++) path = join(folder, `${stem}-${next}.zip`);
	return path;
}

function oneOf<T extends string>(known: readonly T[], word: string, otherwise: T): T {
	return known.find((one) => one === word) ?? otherwise;
}

/** Null where nothing was written. */
function numberOf(text: string, what: string): number | null {
	if (text === '') return null;
	const value = Number(text.replace(',', '.'));
	if (!(Number.isFinite(value) && value > 0))
		throw new RangeError(`${text} is no number of ${what} above 0.`);
	return value;
}

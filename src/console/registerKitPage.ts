/** Kits and places added and changed on the console: what is known of each, and which runs stand for a kit as it should be. */
import { serialPair, setKit, setPlace, setReference } from '../register/kitEntry.ts';
import { type Kit, keySchema } from '../register/records.ts';
import { type Register, readRegister } from '../register/registerFolder.ts';
import { html, joinHtml, nothing, paragraph, type SafePiece, section } from '../report/htmlParts.ts';
import {
	areaField,
	button,
	getForm,
	hiddenField,
	linesOf,
	postForm,
	REGISTER_PATH,
	registerPage,
	saidPart,
	textField,
	tickField,
} from './registerFrame.ts';
import type { Answer } from './route.ts';

export const KIT_PATH = `${REGISTER_PATH}/kit` as const;
export const REFERENCE_PATH = `${REGISTER_PATH}/reference` as const;
export const PLACE_PATH = `${REGISTER_PATH}/place` as const;
const KEY_WORDS = 'short name: letters, digits, dots, dashes, underlines; 80 at most';
/** Between the name of the field and the run's own id. */
const RUN_FIELD = 'run.';

/** The form of one kit, filled in where the register knows it; without a key, which kit and the form of a place. */
export async function kitPage(root: string, key: string, said: string | null = null): Promise<Answer> {
	const register = await readRegister(root);
	if (key === '')
		return registerPage('Kits and places', [saidPart(said), whichPart(register), placePart(register)]);
	checkKey(key);
	const kit = register.kits.get(key);
	return registerPage(`Kit ${key}`, [
		saidPart(said),
		section('kit', kit === undefined ? 'A new kit' : 'What is known of it', [kitForm(key, kit)]),
		kit === undefined ? nothing : referencePart(kit, register),
	]);
}

function whichPart({ kits }: Register): SafePiece {
	const links = [...kits.values()].map(
		({ key, name }) => html`<li><a href="${KIT_PATH}?kit=${encodeURIComponent(key)}">${key}</a> ${name}</li>`,
	);
	return section('which', 'Kits', [
		kits.size === 0 ? paragraph('The register holds no kit yet.') : html`<ul>${joinHtml(links)}</ul>`,
		getForm(KIT_PATH, [textField('kit', `a new kit, ${KEY_WORDS}`), button('Begin')]),
	]);
}

function kitForm(key: string, kit: Kit | undefined): SafePiece {
	const serials = Object.entries(kit?.serialNumbers ?? {}).map(([what, number]) => `${what}=${number}`);
	return postForm(KIT_PATH, [
		hiddenField('kit', key),
		textField('name', 'as people call it', kit?.name ?? ''),
		textField('firmware', 'firmware version', kit?.firmware),
		textField('appVersion', 'version of its app', kit?.appVersion),
		textField('tabletVersion', 'tablet, and version of its system', kit?.tabletVersion),
		areaField('serials', 'serial numbers, one a line, as scope=A123', serials.join('\n')),
		areaField('parts', 'parts that belong to it, one a line', kit?.parts.join('\n')),
		areaField('notes', 'notes', kit?.notes),
		button('Keep it'),
	]);
}

function referencePart(kit: Kit, { entries }: Register): SafePiece {
	const own = [...entries.values()].filter((entry) => entry.kit === kit.key);
	const ticks = own.map(({ runId, session }) =>
		tickField(
			`${RUN_FIELD}${runId}`,
			'yes',
			`${runId}, session ${session}`,
			kit.referenceRuns.includes(runId),
		),
	);
	return section('reference', 'Its reference', [
		paragraph('Runs that stand for the kit as it should be: at least three sessions, each from power off.'),
		own.length === 0
			? paragraph('No run is entered as one of this kit yet.')
			: postForm(REFERENCE_PATH, [
					hiddenField('kit', kit.key),
					html`<fieldset><legend>runs</legend>${joinHtml(ticks)}</fieldset>`,
					button('Let these be its reference'),
				]),
	]);
}

function placePart({ places }: Register): SafePiece {
	const known = [...places.values()].map(({ key, name, notes }) =>
		[key, name === key ? '' : name, notes].filter((word) => word !== '').join(': '),
	);
	return section('places', 'Places', [
		html`<ul>${joinHtml(known.map((words) => html`<li>${words}</li>`))}</ul>`,
		postForm(PLACE_PATH, [
			textField('key', `a place, ${KEY_WORDS}`),
			textField('name', 'as people call it'),
			areaField('notes', 'walls, radios, what stands there'),
			button('Keep it'),
		]),
	]);
}

type Fields = ReadonlyMap<string, string>;

/** What the form shows is what is kept: a line taken out of it is taken out of the register. */
export async function kitSent(root: string, fields: Fields): Promise<Answer> {
	const text = (name: string): string => fields.get(name)?.trim() ?? '';
	const key = text('kit');
	checkKey(key);
	const serials = linesOf(text('serials')).map((line) => {
		const pair = serialPair(line);
		if (pair === null)
			throw new RangeError(
				`${line} is no serial number: write what carries it and the number, as scope=A123.`,
			);
		return pair;
	});
	await setKit(root, key, () => ({
		name: text('name') || key,
		serialNumbers: Object.fromEntries(serials),
		...{ firmware: text('firmware'), appVersion: text('appVersion'), tabletVersion: text('tabletVersion') },
		...{ parts: linesOf(text('parts')), notes: text('notes') },
	}));
	return kitPage(root, key, `Kit ${key} is kept.`);
}

export async function referenceSent(root: string, fields: Fields): Promise<Answer> {
	const key = fields.get('kit') ?? '';
	const runs = [...fields.keys()]
		.filter((name) => name.startsWith(RUN_FIELD))
		.map((name) => name.slice(RUN_FIELD.length));
	await setReference(root, key, runs);
	return kitPage(root, key, `${key} has ${runs.length} reference ${runs.length === 1 ? 'run' : 'runs'}.`);
}

export async function placeSent(root: string, fields: Fields): Promise<Answer> {
	const text = (name: string): string => fields.get(name)?.trim() ?? '';
	const key = text('key');
	checkKey(key);
	await setPlace(root, { key, name: text('name') || key, notes: text('notes') });
	return kitPage(root, '', `Place ${key} is kept.`);
}

function checkKey(key: string): void {
	if (!keySchema.safeParse(key).success)
		throw new RangeError(
			`"${key}" cannot be a short name: letters, digits, dots, dashes and underlines, 80 at most.`,
		);
}

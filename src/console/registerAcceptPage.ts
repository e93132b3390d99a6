/** Accept from the console: the form, the record it gives, and the sign-off with its second press. */
import { acceptanceRecord, becomeReference, knownOf } from '../register/acceptanceRecords.ts';
import { signOffCode, writeAcceptance } from '../register/acceptances.ts';
import { readRegister } from '../register/registerFolder.ts';
import { acceptanceParts, renderAcceptanceHtml } from '../report/acceptanceHtml.ts';
import { html, joinHtml, nothing, paragraph, type SafePiece, section } from '../report/htmlParts.ts';
import { type AcceptanceForm, blankForm, CHECKS, FORM_WORDS, parseForm } from '../verdict/acceptanceForm.ts';
import { type AcceptanceRecord, signOffObstacles } from '../verdict/acceptanceRecord.ts';
import {
	button,
	type Choice,
	choiceField,
	dayField,
	getForm,
	hiddenField,
	postForm,
	REGISTER_PATH,
	registerPage,
	textField,
} from './registerFrame.ts';
import type { Answer } from './route.ts';

const PATH = `${REGISTER_PATH}/accept`;

export async function acceptPage(root: string, kit: string): Promise<Answer> {
	const { kits } = await readRegister(root);
	const known = kits.get(kit);
	if (known === undefined)
		return registerPage('Accept after repair', [
			section('which', 'Which kit', [
				kits.size === 0
					? paragraph('The register holds no kit yet. Add one under Kits and places.')
					: getForm(PATH, [
							choiceField(
								'kit',
								'kit',
								[...kits.keys()].map((key): Choice => [key, key]),
							),
							button('Go on'),
						]),
			]),
		]);
	return registerPage(`Accept ${kit} after repair`, [
		paragraph(
			'Make three sessions from power off since its return, at the place of its reference, and enter them; then fill this in.',
		),
		formPart(kit, blankForm(knownOf(known))),
	]);
}

const NOT_SAID: Choice = ['', 'not said yet'];
const FIELDS: readonly (readonly [
	key: 'newPart' | 'use' | 'orientation' | 'wheelUpPictureUp' | 'decision',
	label: string,
	choices: readonly Choice[],
])[] = [
	[
		'newPart',
		'new part',
		[
			['none', 'none'],
			['tube', 'tube'],
			['camera', 'camera'],
		],
	],
	[
		'use',
		'to be used for',
		[
			['steering', 'steering'],
			['recording', 'recording only'],
		],
	],
	[
		'orientation',
		'the picture is',
		[
			NOT_SAID,
			['upright', 'upright'],
			['asBefore', 'as before'],
			['mirror', 'a mirror image'],
			['turned', 'turned, and was not so before'],
		],
	],
	['wheelUpPictureUp', 'wheel up: does the picture go up?', [NOT_SAID, ['yes', 'yes'], ['no', 'no']]],
	[
		'decision',
		'decision',
		[
			NOT_SAID,
			['released', 'released'],
			['releasedWithRestrictions', 'released with restrictions'],
			['notReleased', 'not released'],
			['backToRepairer', 'back to the repairer'],
		],
	],
];
const STATES: readonly Choice[] = [
	NOT_SAID,
	['done', 'done'],
	['notDone', 'not done'],
	['notApplicable', 'not applicable'],
];

function formPart(kit: string, form: AcceptanceForm): SafePiece {
	const words = (Object.keys(FORM_WORDS) as (keyof typeof FORM_WORDS)[]).map((key) =>
		textField(key, FORM_WORDS[key], form[key]),
	);
	const checks = (Object.keys(CHECKS) as (keyof typeof CHECKS)[]).flatMap((key) => [
		choiceField(`checks.${key}.state`, CHECKS[key], STATES),
		textField(`checks.${key}.by`, `${CHECKS[key]}: by whom`),
		textField(`checks.${key}.reference`, `${CHECKS[key]}: reference`),
	]);
	return postForm(PATH, [
		hiddenField('kit', kit),
		...words,
		dayField('returnedOn', 'came back on'),
		...FIELDS.map(([key, label, choices]) => choiceField(key, label, choices, String(form[key] ?? ''))),
		textField('restrictions', 'restrictions'),
		textField('rig', 'only runs of this rig, if more than one was used'),
		html`<h3>The maker’s tests</h3>`,
		...checks,
		textField('notes', 'notes'),
		button('Hold it against its reference'),
	]);
}

/** The form as its fields were sent; the schema of `parseForm` has the last word. */
function formOf(fields: ReadonlyMap<string, string>): AcceptanceForm {
	const text = (key: string): string => fields.get(key)?.trim() ?? '';
	const orNull = (key: string): string | null => text(key) || null;
	const checks = Object.keys(CHECKS).map((key) => [
		key,
		{
			state: orNull(`checks.${key}.state`),
			by: text(`checks.${key}.by`),
			reference: text(`checks.${key}.reference`),
		},
	]);
	const wheel = text('wheelUpPictureUp');
	const form = {
		...blankForm(),
		...Object.fromEntries(Object.keys(FORM_WORDS).map((key) => [key, text(key)])),
		...{ returnedOn: text('returnedOn'), newPart: text('newPart'), use: text('use') },
		...{ orientation: orNull('orientation'), decision: orNull('decision') },
		wheelUpPictureUp: wheel === '' ? null : wheel === 'yes',
		...{ restrictions: text('restrictions'), notes: text('notes'), checks: Object.fromEntries(checks) },
	};
	return parseForm(JSON.stringify(form), 'the form');
}

type Sent = {
	readonly root: string;
	readonly fields: ReadonlyMap<string, string>;
	readonly toolVersion: string;
};

/** Shown first, then pressed twice: the second press carries the code of what was shown, and any change since makes it void. */
export async function acceptSent({ root, fields, toolVersion }: Sent): Promise<Answer> {
	const form = formOf(fields);
	if (form.returnedOn === '')
		throw new RangeError('Say on which day the kit came back: attempts are counted from then on.');
	const rig = fields.get('rig')?.trim() || null;
	const record = await acceptanceRecord({ root, kit: fields.get('kit') ?? '', form, rig, toolVersion });
	const code = signOffCode(record);
	const press = fields.get('press') ?? '';
	if (press !== '' && press !== 'first') return sign({ root, record, isSame: press === code });
	await writeAcceptance(root, record, renderAcceptanceHtml(record));
	return recordPage(record, signPart(record, fields, { code, isPressed: press === 'first' }));
}

async function sign({
	root,
	record,
	isSame,
}: {
	root: string;
	record: AcceptanceRecord;
	isSame: boolean;
}): Promise<Answer> {
	if (!isSame)
		throw new RangeError('Something changed since the record was shown: nothing is signed. Begin again.');
	const [obstacle] = signOffObstacles(record);
	if (obstacle !== undefined) throw new RangeError(`It cannot be signed as it stands: ${obstacle}.`);
	const signed = { ...record, signedAt: new Date().toISOString() };
	await writeAcceptance(root, signed, renderAcceptanceHtml(signed));
	await becomeReference(signed, root);
	return recordPage(signed, nothing);
}

function signPart(
	record: AcceptanceRecord,
	fields: ReadonlyMap<string, string>,
	{ code, isPressed }: { code: string; isPressed: boolean },
): SafePiece {
	if (signOffObstacles(record).length > 0) return nothing;
	const carried = [...fields]
		.filter(([key]) => key !== 'press')
		.map(([key, value]) => hiddenField(key, value));
	const press = isPressed
		? button('Press again to sign what is shown above', 'press', code)
		: button('Sign off', 'press', 'first');
	return section('sign', 'Sign off', [
		paragraph(
			isPressed
				? `Pressed once. The second press signs the record of code ${code}; it is never written over.`
				: 'A signed record stays as it is.',
		),
		postForm(PATH, [...carried, press]),
	]);
}

function recordPage(record: AcceptanceRecord, below: SafePiece): Answer {
	return registerPage(`Accept ${record.kit} after repair`, [joinHtml(acceptanceParts(record)), below]);
}

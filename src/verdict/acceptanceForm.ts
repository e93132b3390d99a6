/**
 * What a person writes down of an acceptance: who, what, where, and the maker's tests that this tool does not make. Blank
 * fields are named before a sign-off. The tool checks no claim made here; it keeps it.
 */
import { z } from 'zod';
import { OutsideFailure } from '../failure.ts';
import { refuseNewer } from './fileVersion.ts';

const FORMAT = 'steerworthy-acceptance-form';
const VERSION = 1;

const words = z.string().max(1000);

export const CHECKS = {
	leak: 'leak test',
	electricalSafety: 'electrical safety test',
	channel: 'channel',
	bendingAngles: 'bending angles',
	lightOutput: 'light output',
	reprocessing: 'reprocessing',
} as const;
type Check = keyof typeof CHECKS;
const CHECK_KEYS = Object.keys(CHECKS) as Check[];

export const FORM_WORDS = {
	jobNumber: 'job number',
	serialBefore: 'serial number before',
	serialNow: 'serial number now',
	firmware: 'firmware',
	appVersion: 'app',
	tabletVersion: 'tablet',
	channel: 'radio channel',
	countrySetting: 'country setting',
	charge: 'charge',
	distance: 'distance',
	room: 'room',
	laptop: 'laptop used',
	phone: 'phone used',
	testedBy: 'tested by',
	releasedBy: 'released by',
} as const;
const WORD_KEYS = Object.keys(FORM_WORDS) as (keyof typeof FORM_WORDS)[];

const checkSchema = z.strictObject({
	state: z.enum(['done', 'notDone', 'notApplicable']).nullable(),
	by: words,
	/** Number of a protocol, a certificate, a date. */
	reference: words,
});

const formSchema = z.strictObject({
	format: z.literal(FORMAT),
	version: z.literal(VERSION),
	...(Object.fromEntries(WORD_KEYS.map((key) => [key, words])) as Record<
		keyof typeof FORM_WORDS,
		typeof words
	>),
	/** ISO 8601 day: every attempt from then on stands in the record. */
	returnedOn: z.union([z.literal(''), z.iso.date('a day as 2026-03-01')]),
	newPart: z.enum(['none', 'tube', 'camera']),
	use: z.enum(['steering', 'recording']),
	orientation: z.enum(['upright', 'asBefore', 'mirror', 'turned']).nullable(),
	wheelUpPictureUp: z.boolean().nullable(),
	decision: z.enum(['released', 'releasedWithRestrictions', 'notReleased', 'backToRepairer']).nullable(),
	restrictions: words,
	checks: z.strictObject(
		Object.fromEntries(CHECK_KEYS.map((key) => [key, checkSchema])) as Record<Check, typeof checkSchema>,
	),
	notes: words,
});
export type AcceptanceForm = z.infer<typeof formSchema>;

/** `known`: what the register holds of the kit, so that nobody types it again. */
export function blankForm(known: Partial<AcceptanceForm> = {}): AcceptanceForm {
	const check = { state: null, by: '', reference: '' };
	return {
		format: FORMAT,
		version: VERSION,
		...(Object.fromEntries(WORD_KEYS.map((key) => [key, ''])) as Record<keyof typeof FORM_WORDS, string>),
		returnedOn: '',
		newPart: 'none',
		use: 'steering',
		orientation: null,
		wheelUpPictureUp: null,
		decision: null,
		restrictions: '',
		checks: Object.fromEntries(CHECK_KEYS.map((key) => [key, check])) as Record<Check, typeof check>,
		notes: '',
		...known,
	};
}

/** Throws `OutsideFailure` `fileNewer`, or `acceptanceFormWrong`, with the key that is wrong. */
export function parseForm(text: string, fileName: string): AcceptanceForm {
	let value: unknown;
	try {
		value = JSON.parse(text);
	} catch (cause) {
		throw wrong(fileName, 'it is not JSON', cause);
	}
	refuseNewer(value, { fileName, format: FORMAT, version: VERSION });
	const parsed = formSchema.safeParse(value);
	if (parsed.success) return parsed.data;
	const [issue] = parsed.error.issues;
	throw wrong(fileName, `"${issue?.path.map(String).join('.') || 'the file'}": ${issue?.message ?? 'wrong'}`);
}

function wrong(fileName: string, what: string, cause?: unknown): OutsideFailure {
	return new OutsideFailure(
		'acceptanceFormWrong',
		`${fileName} is no acceptance form: ${what}.`,
		'Begin from a blank one: steerworthy accept KIT --blank FILE',
		{ cause },
	);
}

/** What is not written down yet, in words; empty when the form is whole. */
export function blanksOf(form: AcceptanceForm): string[] {
	const empty = WORD_KEYS.filter((key) => form[key].trim() === '').map((key) => FORM_WORDS[key]);
	const checks = CHECK_KEYS.filter((key) => {
		const { state, by } = form.checks[key];
		return state === null || (state === 'done' && by.trim() === '');
	}).map((key) => `${CHECKS[key]}: done, not done or not applicable, and by whom`);
	return [
		...empty,
		...(form.returnedOn === '' ? ['day of return'] : []),
		...checks,
		...(form.decision === null ? ['the decision'] : []),
		...(form.decision === 'releasedWithRestrictions' && form.restrictions.trim() === ''
			? ['the restrictions']
			: []),
	];
}

/**
 * The by-hand sheet: what no bench reads, said by one person of one kit against the scope they have now. Stands beside the
 * figures and never in them.
 */
import { z } from 'zod';
import { OutsideFailure } from '../failure.ts';
import { refuseNewer } from './fileVersion.ts';

const FORMAT = 'steerworthy-hand-sheet';
const VERSION = 1;

export const HAND_ITEMS = {
	steeringFeel: 'steering feel and lock',
	flush: 'flush: water and air',
	light: 'light',
	balance: 'balance and finger strain',
	tipAndEntry: 'tip and ease of entry',
	length: 'length',
	bulk: 'bulk, to carry and to hold',
	cleaning: 'cleaning',
	screenInDaylight: 'screen in daylight',
	recordingsOut: 'getting recordings out',
	bagToPicture: 'from bag to first picture',
	linkBreaks: 'what happens when the link breaks',
	batteryEnds: 'what happens when the battery ends',
	support: 'support',
	price: 'price',
} as const;
export type HandItem = keyof typeof HAND_ITEMS;
const ITEM_KEYS = Object.keys(HAND_ITEMS) as HandItem[];
export const HAND_ANSWERS = ['better', 'same', 'worse'] as const;

const answerSchema = z.strictObject({
	/** Than our present scope; null: not tried. */
	than: z.enum(HAND_ANSWERS).nullable(),
	note: z.string().max(500),
});
const sheetSchema = z.strictObject({
	format: z.literal(FORMAT),
	version: z.literal(VERSION),
	kit: z.string().min(1),
	person: z.string().min(1),
	/** What it was compared with. */
	presentScope: z.string(),
	day: z.string(),
	answers: z.strictObject(
		Object.fromEntries(ITEM_KEYS.map((key) => [key, answerSchema])) as Record<HandItem, typeof answerSchema>,
	),
});
export type HandSheet = z.infer<typeof sheetSchema>;

/** A sheet to fill in. */
export function blankSheet(kit: string, person: string): HandSheet {
	const blank = { than: null, note: '' };
	return {
		format: FORMAT,
		version: VERSION,
		kit,
		person,
		presentScope: '',
		day: '',
		answers: Object.fromEntries(ITEM_KEYS.map((key) => [key, blank])) as Record<HandItem, typeof blank>,
	};
}

/** Throws `OutsideFailure` `fileNewer`, or `handSheetWrong`, with the key that is wrong and what is allowed there. */
export function parseSheet(text: string, fileName: string): HandSheet {
	let value: unknown;
	try {
		value = JSON.parse(text);
	} catch (cause) {
		throw wrong(fileName, 'it is not JSON', cause);
	}
	refuseNewer(value, { fileName, format: FORMAT, version: VERSION });
	const parsed = sheetSchema.safeParse(value);
	if (parsed.success) return parsed.data;
	const [issue] = parsed.error.issues;
	throw wrong(fileName, `"${issue?.path.map(String).join('.') || 'the file'}" is wrong`);
}

function wrong(fileName: string, what: string, cause?: unknown): OutsideFailure {
	return new OutsideFailure(
		'handSheetWrong',
		`${fileName} is no by-hand sheet: ${what}.`,
		`An answer is ${HAND_ANSWERS.map((word) => `"${word}"`).join(', ')} or null; begin from a blank one: steerworthy compare --sheet`,
		{ cause },
	);
}

export type HandTally = {
	readonly item: HandItem;
	readonly counts: Readonly<Record<(typeof HAND_ANSWERS)[number], number>>;
	readonly notes: readonly string[];
};

/** What everyone said of one kit, item by item; counted, not averaged. */
export function tallySheets(sheets: readonly HandSheet[], kit: string): HandTally[] {
	const ofKit = sheets.filter((sheet) => sheet.kit === kit);
	return ITEM_KEYS.map((item) => {
		const answers = ofKit.map((sheet) => ({ person: sheet.person, ...sheet.answers[item] }));
		const count = (word: string): number => answers.filter(({ than }) => than === word).length;
		return {
			item,
			counts: { better: count('better'), same: count('same'), worse: count('worse') },
			notes: answers.filter(({ note }) => note !== '').map(({ person, note }) => `${person}: ${note}`),
		};
	});
}

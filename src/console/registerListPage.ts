/** Runs, kits and places as the console shows them: search, a figure over time, and entering a run as a session. */
import { changedSince, knownTroubles } from '../register/checkRegister.ts';
import { enterRuns } from '../register/enterRuns.ts';
import { mergeRegisters } from '../register/mergeRegisters.ts';
import { type Register, readRegister } from '../register/registerFolder.ts';
import { readRunIndex } from '../register/runIndex.ts';
import type { RunRow, RunRowFacts } from '../register/runRow.ts';
import { type FoundRun, type RunFilter, searchRuns } from '../register/searchRuns.ts';
import { trendOf } from '../register/trend.ts';
import {
	bulletList,
	html,
	joinHtml,
	nothing,
	paragraph,
	type SafePiece,
	section,
	table,
} from '../report/htmlParts.ts';
import { trendWords } from '../report/registerText.ts';
import { comparedFigures } from '../verdict/comparedLine.ts';
import {
	button,
	type Choice,
	choiceField,
	dayField,
	getForm,
	postForm,
	REGISTER_PATH,
	registerPage,
	saidPart,
	textField,
	tickField,
} from './registerFrame.ts';
import { KIT_PATH } from './registerKitPage.ts';
import type { Answer } from './route.ts';

/** More would make a page that nobody reads; the search narrows it. */
const MOST_SHOWN = 200;

export async function listPage(
	root: string,
	query: URLSearchParams,
	said: string | null = null,
): Promise<Answer> {
	const [rows, register] = await Promise.all([readRunIndex(root), readRegister(root)]);
	const runs = searchRuns(rows, register, filterOf(query));
	const trend = query.get('trend') ?? '';
	return registerPage('Runs and kits', [
		saidPart(said),
		section('search', 'Search', [searchForm(register, query, rows)]),
		trend === '' ? nothing : section('trend', 'Over time', [bulletList(trendWords(trendOf(runs, trend)))]),
		runsPart(runs),
		await troublesPart({ root, rows, register, runs, isCheck: query.get('check') === 'yes' }),
		enterPart(runs, register),
		kitsPart(register),
		mergePart(),
	]);
}

const FILTERS = [
	...(['search', 'kit', 'place', 'session', 'rig', 'profile', 'fitness', 'since', 'until'] as const),
] as const;

export function filterOf(query: URLSearchParams): RunFilter {
	return Object.fromEntries(
		FILTERS.flatMap((key) => {
			const value = query.get(key)?.trim() ?? '';
			return value === '' ? [] : [[key, value]];
		}),
	);
}

function searchForm(register: Register, query: URLSearchParams, rows: readonly RunRow[]): SafePiece {
	const value = (key: string): string => query.get(key) ?? '';
	const seen = (of: (facts: RunRowFacts) => string): string[] =>
		[...new Set(rows.flatMap(({ facts }) => (facts === null ? [] : [of(facts)])))].sort();
	return getForm(REGISTER_PATH, [
		textField('search', 'words', value('search')),
		choiceField('kit', 'kit', anyOf([...register.kits.keys()]), value('kit')),
		choiceField('place', 'place', anyOf([...register.places.keys()]), value('place')),
		choiceField('session', 'session', anyOf([...register.sessions.keys()]), value('session')),
		choiceField('rig', 'rig', anyOf(seen(({ rig }) => rig)), value('rig')),
		choiceField('profile', 'length', anyOf(seen(({ profile }) => profile)), value('profile')),
		choiceField('fitness', 'answer', anyOf(seen(({ fitness }) => fitness)), value('fitness')),
		dayField('since', 'from this day on', value('since')),
		dayField('until', 'up to this day', value('until')),
		choiceField('trend', 'one figure over time', figureChoices(rows), value('trend')),
		button('Search'),
		button('Look whether every file is what it was', 'check', 'yes'),
	]);
}

/** The figures that are compared, by their names; then every other figure that any run holds. */
function figureChoices(rows: readonly RunRow[]): Choice[] {
	const named = comparedFigures.map(({ path, label }): Choice => [path, label]);
	const known = new Set(named.map(([path]) => path));
	const others = new Set(rows.flatMap(({ facts }) => Object.keys(facts?.figures ?? {})));
	for (const path of known) others.delete(path);
	return [['', 'none'], ...named, ...[...others].sort().map((path): Choice => [path, spacedWords(path)])];
}

/** "freshDelay.overLimit.shareRatio": "fresh delay: over limit: share ratio" */
function spacedWords(path: string): string {
	return path.replaceAll('.', ': ').replace(/(?<=[a-z0-9])[A-Z]/g, (letter) => ` ${letter.toLowerCase()}`);
}

export function anyOf(keys: readonly string[]): Choice[] {
	return [['', 'any'], ...keys.map((key): Choice => [key, key])];
}

function runsPart(runs: readonly FoundRun[]): SafePiece {
	const shown = runs.slice(0, MOST_SHOWN);
	return section('runs', runs.length === 1 ? '1 run' : `${runs.length} runs`, [
		table(
			shown.length < runs.length ? `The newest ${MOST_SHOWN} are shown.` : 'Newest first.',
			[{ title: 'run' }, { title: 'answer' }, { title: 'whose' }, { title: 'of what' }],
			shown.map(({ folder, facts, kit, session, place, trouble }) => [
				html`<a href="/runs/${encodeURIComponent(folder)}/report.html">${folder}</a> ${facts.startedAt.slice(0, 16).replace('T', ' ')}`,
				trouble ?? facts.headline,
				[kit, session === null ? null : `session ${session}`, place]
					.filter((word) => word !== null)
					.join(', ') || 'entered for no kit',
				`${facts.rig}, ${facts.profile}: ${facts.subject}`,
			]),
		),
	]);
}

type Checked = {
	readonly root: string;
	readonly rows: readonly RunRow[];
	readonly register: Register;
	readonly runs: readonly FoundRun[];
	/** Whether every file is opened. */
	readonly isCheck: boolean;
};

async function troublesPart({ root, rows, register, runs, isCheck }: Checked): Promise<SafePiece> {
	const changed = isCheck ? await changedSince(root, register, runs) : [];
	const troubles = [...knownTroubles(rows, register, runs), ...changed];
	if (troubles.length > 0) return section('troubles', 'Not as it should be', [bulletList(troubles)]);
	return isCheck
		? section('troubles', 'Looked at', [
				paragraph(
					`Every file of ${runs.length === 1 ? 'the 1 run' : `the ${runs.length} runs`} shown is as it was when it was sealed.`,
				),
			])
		: nothing;
}

export const MERGE_PATH = `${REGISTER_PATH}/merge` as const;

function mergePart(): SafePiece {
	return section('merge', 'Another computer’s register', [
		paragraph('What it has and this one has not is copied; what the two know differently is named.', 'small'),
		postForm(MERGE_PATH, [textField('from', 'its folder on this laptop'), button('Take it over')]),
	]);
}

export async function mergeSent(root: string, fields: ReadonlyMap<string, string>): Promise<Answer> {
	const from = fields.get('from')?.trim() ?? '';
	if (from === '') throw new RangeError('Say in which folder the other register lies.');
	const { runsCopied, recordsTaken, conflicts } = await mergeRegisters(from, root);
	const said = [
		`${runsCopied.length} runs copied, ${recordsTaken} records of the register taken over.`,
		...conflicts,
	];
	return listPage(root, new URLSearchParams(), said.join(' '));
}

function enterPart(runs: readonly FoundRun[], register: Register): SafePiece {
	const open = runs.filter(({ kit }) => kit === null).slice(0, MOST_SHOWN);
	if (open.length === 0 || register.kits.size === 0)
		return section('enter', 'Enter a run', [
			paragraph(
				register.kits.size === 0
					? 'The register holds no kit yet. Add one under Kits and places.'
					: 'Every run shown is entered.',
			),
		]);
	return section('enter', 'Enter a run', [
		paragraph(
			'A session is everything between two times of power off; runs of one session count once.',
			'small',
		),
		postForm(`${REGISTER_PATH}/enter`, [
			choiceField(
				'run',
				'run',
				open.map(({ folder }): Choice => [folder, folder]),
			),
			choiceField(
				'kit',
				'kit',
				[...register.kits.keys()].map((key): Choice => [key, key]),
			),
			textField('session', 'session, a short name'),
			choiceField('place', 'place', [
				['', 'not stated'],
				...[...register.places.keys()].map((key): Choice => [key, key]),
			]),
			textField('setting', 'set differently'),
			textField('by', 'tested by'),
			tickField('poweredOff', 'yes', 'kit and tablet were off before it began'),
			button('Enter'),
		]),
	]);
}

export async function enterRun(root: string, fields: ReadonlyMap<string, string>): Promise<Answer> {
	const text = (key: string): string => fields.get(key)?.trim() ?? '';
	await enterRuns({
		...{ root, kit: text('kit'), runs: [text('run')], session: text('session'), by: text('by') },
		...(text('place') === '' ? {} : { place: text('place') }),
		...(text('setting') === '' ? {} : { setting: text('setting') }),
		poweredOff: text('poweredOff') === 'yes',
	});
	return listPage(
		root,
		new URLSearchParams(),
		`${text('run')} is entered as session ${text('session')} of ${text('kit')}.`,
	);
}

function kitsPart({ kits, places }: Register): SafePiece {
	const rows = [...kits.values()].map((kit) => [
		kit.key,
		kit.name,
		Object.entries(kit.serialNumbers)
			.map(([what, number]) => `${what} ${number}`)
			.join(', '),
		[kit.firmware, kit.appVersion, kit.tabletVersion].filter((word) => word !== '').join(', '),
		kit.referenceRuns.join(', ') || 'none',
		html`<a href="${KIT_PATH}?kit=${encodeURIComponent(kit.key)}">change</a> <a href="${REGISTER_PATH}/accept?kit=${encodeURIComponent(kit.key)}">accept after repair</a>`,
	]);
	const columns = ['kit', 'name', 'serial numbers', 'versions', 'reference', ''].map((title) => ({ title }));
	return section('kits', 'Kits and places', [
		table('What is known of each kit.', columns, rows),
		joinHtml([paragraph(`Places: ${[...places.keys()].join(', ') || 'none'}.`)]),
	]);
}

/** Compare from the console: which kits, or places or settings of one; the answer is the page for the partners, to print. */
import type { ArmKind } from '../register/arms.ts';
import { gatherComparison } from '../register/gatherComparison.ts';
import { readRegister } from '../register/registerFolder.ts';
import { renderComparisonHtml } from '../report/comparisonHtml.ts';
import { planWords } from '../report/comparisonText.ts';
import { bulletList, html, joinHtml, nothing, paragraph, section } from '../report/htmlParts.ts';
import { HANDS_ON_MIN, RUN_MIN, sessionPlan, shortRounds, USUAL_ROUNDS } from '../verdict/sessionPlan.ts';
import {
	button,
	choiceField,
	dayField,
	getForm,
	REGISTER_PATH,
	registerPage,
	textField,
	tickField,
} from './registerFrame.ts';
import { anyOf, filterOf } from './registerListPage.ts';
import { keptSheets } from './registerSheetPage.ts';
import type { Answer } from './route.ts';

const PATH = `${REGISTER_PATH}/compare`;

type Asked = { readonly root: string; readonly query: URLSearchParams; readonly toolVersion: string };

export async function comparePage(asked: Asked): Promise<Answer> {
	const { query } = asked;
	const names = [...query.getAll('name'), ...(query.get('names') ?? '').split(',')]
		.map((name) => name.trim())
		.filter((name) => name !== '');
	if (names.length === 0) return askPage(asked, []);
	if (query.get('do') === 'compare') return comparison(asked, names);
	const rounds = query.get('do') === 'short' ? shortRounds(names.length) : USUAL_ROUNDS;
	return askPage(asked, planWords(sessionPlan(names, rounds), { handsOnMin: HANDS_ON_MIN, runMin: RUN_MIN }));
}

async function comparison({ root, query, toolVersion }: Asked, names: readonly string[]): Promise<Answer> {
	const by =
		(['place', 'setting'] as const).find((kind) => kind === query.get('by')) ?? ('kit' satisfies ArmKind);
	const document = await gatherComparison({
		...{ root, by, names, toolVersion },
		filter: filterOf(query),
		sheets: (await keptSheets(root)).filter(({ kit }) => names.includes(kit)),
	});
	return { status: 200, type: 'text/html; charset=utf-8', body: renderComparisonHtml(document) };
}

async function askPage({ root }: Asked, plan: readonly string[]): Promise<Answer> {
	const { kits, places } = await readRegister(root);
	const keys = [...kits.keys()];
	const narrower = [
		choiceField('place', 'only at this place', anyOf([...places.keys()])),
		dayField('since', 'from this day on'),
		dayField('until', 'up to this day'),
	];
	return registerPage('Compare', [
		plan.length === 0 ? nothing : section('plan', 'In which order to measure', [bulletList(plan)]),
		section('kits', 'Kits', [
			paragraph(
				'Two to eight. Three sessions of each or more, each from power off, in turn; with fewer nothing is judged.',
			),
			getForm(PATH, [
				html`<fieldset><legend>kits</legend>${joinHtml(keys.map((key) => tickField('name', key, key)))}</fieldset>`,
				...narrower,
				button('Compare', 'do', 'compare'),
				button('Plan: three rounds', 'do', 'plan'),
				button('Plan: short form', 'do', 'short'),
			]),
		]),
		section('one', 'One kit in several places or settings', [
			getForm(PATH, [
				choiceField(
					'kit',
					'kit',
					keys.map((key) => [key, key] as const),
				),
				choiceField('by', 'what differs', [
					['place', 'place'],
					['setting', 'setting'],
				]),
				textField('names', 'their names, with commas between'),
				button('Compare', 'do', 'compare'),
			]),
		]),
	]);
}

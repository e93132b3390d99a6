/** May this kit be steered by here? Three kept runs chosen on the console, and the answer. Writes nothing. */
import { readRunIndex } from '../register/runIndex.ts';
import type { RunRow } from '../register/runRow.ts';
import { paragraph, type SafePiece, section } from '../report/htmlParts.ts';
import { kitHereParts } from '../report/kitHereHtml.ts';
import type { ToldHere } from '../report/kitHereWords.ts';
import { button, type Choice, choiceField, getForm, REGISTER_PATH, registerPage } from './registerFrame.ts';
import { folderOf } from './registerJudgePage.ts';
import type { Answer } from './route.ts';

export const HERE_PATH = `${REGISTER_PATH}/here` as const;

type ThreeFolders = Readonly<Record<'kit' | 'link' | 'home', string>>;
/** `cli/kitHere.ts` does it, for it alone holds the whole way from observations to answer. */
export type KitHereOf = (folders: ThreeFolders) => Promise<ToldHere>;

type Asked = { readonly root: string; readonly kitHere: KitHereOf };

export async function herePage({ root, kitHere }: Asked, query: URLSearchParams): Promise<Answer> {
	const runs = await readRunIndex(root);
	const [kit, link, home] = ['kit', 'link', 'home'].map((name) => query.get(name) ?? '') as [
		string,
		string,
		string,
	];
	const form = askPart(runs, { kit, link, home });
	if (kit === '' || link === '' || home === '') return registerPage('A kit here', [form]);
	const found = await kitHere({
		kit: await folderOf(root, kit),
		link: await folderOf(root, link),
		home: await folderOf(root, home),
	});
	return registerPage('A kit here', [...kitHereParts(found), form]);
}

function askPart(runs: readonly RunRow[], chosen: ThreeFolders): SafePiece {
	const [kits, links] = [choicesOf(runs, 'optical'), choicesOf(runs, 'link')];
	const title = 'May this kit be steered by here?';
	if (kits.length === 0 || links.length === 0)
		return section('which', title, [
			paragraph(
				'It needs films of the kit through its own lens and two link runs with the tablet, one at home and one here. Not all of them are kept yet.',
			),
		]);
	return section('which', title, [
		paragraph(
			'What the link here adds to the one at home is added to what the kit had. It takes some seconds.',
			'small',
		),
		getForm(HERE_PATH, [
			choiceField('kit', 'the kit through its own lens', kits, chosen.kit),
			choiceField('link', 'the link here', links, chosen.link),
			// The newest is taken for here, the oldest for home, until someone chooses.
			choiceField(
				'home',
				'the link at home, same tablet and settings',
				links,
				chosen.home || (links.at(-1)?.[0] ?? ''),
			),
			button('Judge it'),
		]),
	]);
}

function choicesOf(runs: readonly RunRow[], rig: string): Choice[] {
	return runs.flatMap(({ folder, facts }): Choice[] =>
		facts?.rig === rig ? [[folder, `${folder} (${facts.startedAt.slice(0, 10)}, ${facts.subject})`]] : [],
	);
}

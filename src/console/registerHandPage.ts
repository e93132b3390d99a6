/** What a kept run's delay costs the hand, on the console, for tip speeds of one's own. Explains, decides nothing. */
import { runDelay } from '../register/runDelay.ts';
import { readRunIndex } from '../register/runIndex.ts';
import { NOT_IN_LOOP } from '../report/handWords.ts';
import { handTables } from '../report/htmlHand.ts';
import { nothing, paragraph, section } from '../report/htmlParts.ts';
import { checkHandChoice, USUAL_HAND } from '../verdict/handCost.ts';
import {
	button,
	type Choice,
	choiceField,
	getForm,
	REGISTER_PATH,
	registerPage,
	textField,
} from './registerFrame.ts';
import { folderOf } from './registerJudgePage.ts';
import type { Answer } from './route.ts';

export const HAND_PATH = `${REGISTER_PATH}/hand` as const;

export async function handPage(root: string, query: URLSearchParams): Promise<Answer> {
	const runs = (await readRunIndex(root)).filter(
		({ facts }) => facts?.figures['freshDelay.medianMs'] !== undefined,
	);
	const run = query.get('run') ?? '';
	const tip = query.get('tip') ?? USUAL_HAND.tipSpeedsMmPerS.join(' ');
	const bits = query.get('bits') ?? String(USUAL_HAND.difficultyBits);
	const form = section('which', 'Which run, which hand', [
		runs.length === 0
			? paragraph('No run with a delay is kept here yet.')
			: getForm(HAND_PATH, [
					choiceField(
						'run',
						'run',
						runs.map(({ folder }): Choice => [folder, folder]),
						run,
					),
					textField('tip', 'tip speeds, mm/s, with spaces between', tip),
					textField('bits', 'how hard the reach is, in bits', bits),
					button('Show it'),
				]),
	]);
	if (run === '') return registerPage('What delay costs the hand', [form]);
	const choice = {
		difficultyBits: numberOf(bits),
		tipSpeedsMmPerS: tip
			.trim()
			.split(/[\s;]+/)
			.map(numberOf),
	};
	checkHandChoice(choice);
	const { delay, linkOnly } = await runDelay(await folderOf(root, run));
	return registerPage('What delay costs the hand', [
		form,
		section('hand', 'What this delay costs the hand', [
			handTables(delay, choice),
			linkOnly ? paragraph(NOT_IN_LOOP, 'small') : nothing,
		]),
	]);
}

/** With a comma or a point; anything else is no number, and the check says so. */
function numberOf(text: string): number {
	return text.trim() === '' ? Number.NaN : Number(text.trim().replace(',', '.'));
}

/** A comparison for a terminal. */
import { LEAST_SESSIONS } from '../verdict/comparison.ts';
import type { ComparisonDocument } from '../verdict/comparisonDocument.ts';
import { HAND_ITEMS } from '../verdict/handSheet.ts';
import type { PlannedSession } from '../verdict/sessionPlan.ts';
import {
	answerRows,
	certainWords,
	differenceWords,
	INVENTED_WORDS,
	methodWords,
	pairWords,
	readingWords,
	tallyWords,
} from './comparisonWords.ts';
import { clean, item, type Page, paragraphLines, title } from './paper.ts';
import { tableLines } from './textLayout.ts';

export function renderComparison(document: ComparisonDocument, page: Page): string {
	const certain = certainWords(document);
	const lines = [
		...(document.invented ? paragraphLines(INVENTED_WORDS, page) : []),
		...title('May it be steered by, and is it good as a record', page),
		...answerRows(document).flatMap(([name = '', steer = '', record = '', spare = '']) =>
			item(`${name}: steer: ${steer}; record: ${record}; least room to spare: ${spare}`, page),
		),
		...title('What can be said for certain', page),
		...(certain.length === 0
			? paragraphLines('Nothing: these sessions do not tell the arms apart on any figure.', page)
			: certain.flatMap((text) => item(text, page))),
		...document.figures.flatMap((one) => figureLines(one, page)),
		...byHandLines(document, page),
		...title('How it was compared', page),
		...methodWords(document).flatMap((text) => item(text, page)),
		...document.leftOut.flatMap((text) => item(text, page)),
		...title('What we did not test', page),
		...document.notTested.flatMap((text) => item(text, page)),
	];
	return `${lines.join('\n')}\n`;
}

function figureLines({ figure, arms, pairs }: ComparisonDocument['figures'][number], page: Page): string[] {
	const rows = arms.map(({ name, readings, mean }) => [
		name,
		readingWords(mean, figure.unit),
		readings.map((value) => readingWords(value, figure.unit)).join('  '),
	]);
	const width = page.columns - 4;
	const columns = [
		{ width: Math.floor(width * 0.25), align: 'left' },
		{ width: Math.floor(width * 0.2), align: 'right' },
		{ width: Math.floor(width * 0.55), align: 'left' },
	] as const;
	return [
		...title(`${figure.label} (${figure.better} is better)`, page),
		...tableLines(columns, [
			['', 'mean', 'each session'],
			...rows.map((row) => row.map((cell) => clean(cell, page))),
		]),
		...pairs.flatMap((pair) =>
			item(
				`${pair.second} less ${pair.first}: ${differenceWords(pair, figure.unit)}. ${pairWords(pair)}.`,
				page,
			),
		),
	];
}

function byHandLines({ byHand }: ComparisonDocument, page: Page): string[] {
	return byHand.flatMap(({ arm, people, tally }) => [
		...title(`By hand, ${arm}, than our present scope`, page),
		...paragraphLines(people.join('; ') || 'nobody', page),
		...tally.flatMap(({ item: key, counts, notes }) => [
			...item(`${HAND_ITEMS[key]}: ${tallyWords(counts)}`, page),
			...notes.flatMap((note) => item(note, page, '    ')),
		]),
	]);
}

type Minutes = { readonly handsOnMin: number; readonly runMin: number };

/** Sentence by sentence, for terminal and page. */
export function planWords(plan: readonly PlannedSession[], { handsOnMin, runMin }: Minutes): string[] {
	const minutes = plan.length * handsOnMin;
	const rounds = plan.at(-1)?.round ?? 0;
	return [
		`${plan.length} sessions, about ${minutes} min of hands-on in all (${handsOnMin} min each: an estimate); the bench measures alone in between, about ${runMin} min each by the verdict profile.`,
		...(rounds < LEAST_SESSIONS
			? [
					`${rounds === 1 ? 'One session' : `${rounds} sessions`} each: readings are shown side by side and no difference is judged; go on with the same plan to ${LEAST_SESSIONS} rounds. Two kits have their ${LEAST_SESSIONS} rounds in about ${2 * LEAST_SESSIONS * handsOnMin} min of hands-on.`,
				]
			: []),
		...plan.map(({ round, arm }, i) => `${String(i + 1).padStart(3)}. round ${round}: ${arm}`),
		'For each: kit and tablet off; on again; everything at its marked place; start the run; leave it alone until it ends; enter it: steerworthy kits enter KIT RUN --session NAME --powered-off',
	];
}

export function renderPlan(
	plan: readonly PlannedSession[],
	{ handsOnMin, runMin, ...page }: Page & Minutes,
): string {
	const lines = planWords(plan, { handsOnMin, runMin });
	return `${lines.flatMap((line) => paragraphLines(line, page)).join('\n')}\n`;
}

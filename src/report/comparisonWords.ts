/** The words of a comparison, shared by terminal and page. Nothing is computed here. */

import type { FigureComparison, PairDifference } from '../verdict/comparison.ts';
import type { ComparisonDocument } from '../verdict/comparisonDocument.ts';
import type { Answer } from '../verdict/verdict.ts';
import { formatAgainst, formatNumber } from './numbers.ts';
import { ORDER_RISK } from './risk.ts';
import { marginWords } from './words.ts';

type Unit = FigureComparison['figure']['unit'];

export function readingWords(value: number | null, unit: Unit): string {
	return value === null ? 'not measured' : formatAgainst(value, null, unit);
}

/** "+12.0 ms, give or take 8.1 ms", of the second against the first. */
export function differenceWords({ difference, halfWidth }: PairDifference, unit: Unit): string {
	if (difference === null) return '–';
	const signed = `${difference > 0 ? '+' : ''}${formatAgainst(difference, null, unit)}`;
	return halfWidth === null ? signed : `${signed}, give or take ${formatAgainst(halfWidth, null, unit)}`;
}

export function pairWords(pair: PairDifference): string {
	if (pair.better === null) return pair.because;
	const little = pair.slight ? '; by little: less than this project would act on' : '';
	return `${pair.better} is better: ${pair.because}${little}`;
}

/** What can be said for certain, one line a figure; never a ranking of what was not told apart. */
export function certainWords({ figures }: ComparisonDocument): string[] {
	return figures.flatMap(({ figure, arms, pairs }) => {
		const told = arms.flatMap(({ name }) => {
			const worse = pairs.filter(({ better }) => better === name);
			if (worse.length === 0) return [];
			const others = worse.map(({ first, second, slight }) => {
				const other = name === first ? second : first;
				return slight ? `${other} (by little)` : other;
			});
			return [`${name} is better than ${others.join(', ')}`];
		});
		return told.length === 0 ? [] : [`${figure.label}: ${told.join('; ')}.`];
	});
}

const SAID: Readonly<Record<Answer, string>> = {
	yes: 'yes',
	no: 'no',
	undetermined: 'not enough evidence yet',
	notAsked: 'not asked',
};

/** Before any figure: may it be steered by, is it good as a record. One "no" is a no, however good the other sessions were. */
export function answerRows({ arms }: ComparisonDocument): (readonly string[])[] {
	return arms.map(({ name, sessions }) => {
		const margins = sessions.map(({ margin }) => margin).filter((margin) => margin !== null);
		const spare =
			sessions.length === 0 || margins.length < sessions.length ? '–' : marginWords(Math.min(...margins));
		return [
			name,
			answersWords(sessions.map(({ steer }) => steer)),
			answersWords(sessions.map(({ record }) => record)),
			spare,
		];
	});
}

function answersWords(answers: readonly Answer[]): string {
	if (answers.length === 0) return 'no session';
	const counts = (Object.keys(SAID) as Answer[]).flatMap((answer) => {
		const count = answers.filter((one) => one === answer).length;
		return count === 0 ? [] : [`${SAID[answer]} in ${formatNumber(count)}`];
	});
	return `${counts.join(', ')} of ${formatNumber(answers.length)}`;
}

export const INVENTED_WORDS = 'INVENTED for rehearsal: no such device was tested, nothing real was compared.';

export function methodWords({ alternated, criteria }: ComparisonDocument): string[] {
	return [
		'The unit is the session, from power off to power off. The intervals hold 95 times in 100 for all pairs of one figure together; not for all figures together.',
		'An order is stated only where 98 % intervals for all pairs leave zero out. What is not told apart may still differ.',
		alternated
			? 'The sessions took turns.'
			: 'Not all took turns: between two of which one came mostly before the other no order is stated, for what changed over the day cannot be told from the kits.',
		'“By little”: less than the least tolerance of an acceptance (20 ms of delay or age, 1 of colour shift, and so on; this project’s own proposal).',
		'Where a figure counts events, the number of events must tell the two apart as well as the scatter between sessions.',
		ORDER_RISK,
		...criteria.map((text) => `Criteria of the runs: ${text}`),
	];
}

/** "2 better, 1 same" */
export function tallyWords(counts: Readonly<Record<string, number>>): string {
	const said = Object.entries(counts).filter(([, count]) => count > 0);
	return said.length === 0
		? 'not tried'
		: said.map(([word, count]) => `${formatNumber(count)} ${word}`).join(', ');
}

/** The words of a comparison, shared by terminal and page. Nothing is computed here. */

import type { FigureComparison, PairDifference } from '../verdict/comparison.ts';
import type { ComparisonDocument } from '../verdict/comparisonDocument.ts';
import { formatAgainst, formatNumber } from './numbers.ts';

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
	return pair.better === null ? pair.because : `${pair.better} is better: ${pair.because}`;
}

/** What can be said for certain, one sentence a pair and figure; never a ranking of what was not told apart. */
export function certainWords({ figures }: ComparisonDocument): string[] {
	return figures.flatMap(({ figure, pairs }) =>
		pairs.flatMap(({ first, second, better }) =>
			better === null
				? []
				: [`${better} is better than ${better === first ? second : first}: ${figure.label}.`],
		),
	);
}

export function methodWords({ alternated, criteria }: ComparisonDocument): string[] {
	return [
		'The unit is the session, from power off to power off. The intervals hold 95 times in 100 for all pairs of one figure together; not for all figures together.',
		'An order is stated only where 98 % intervals for all pairs leave zero out. What is not told apart may still differ.',
		alternated
			? 'The sessions took turns.'
			: 'Not all took turns: between two of which one came mostly before the other no order is stated, for what changed over the day cannot be told from the kits.',
		'Where a figure counts events, the number of events must tell the two apart as well as the scatter between sessions.',
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

/** A comparison for the practice's partners: prints in black and white, opens with no network. */

import type { FigureComparison } from '../verdict/comparison.ts';
import type { ComparisonDocument } from '../verdict/comparisonDocument.ts';
import { HAND_ITEMS, type HandSheet } from '../verdict/handSheet.ts';
import { LIMITS_CAUTION } from './cautions.ts';
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
import { renderPage } from './htmlPage.ts';
import {
	bulletList,
	html,
	joinHtml,
	nothing,
	paragraph,
	type SafePiece,
	section,
	table,
	termList,
} from './htmlParts.ts';

export function renderComparisonHtml(document: ComparisonDocument): string {
	const names = document.arms.map(({ name }) => name);
	return renderPage({
		title: `Comparison: ${names.join(', ')}`,
		masthead: ['comparison', names.join(', '), document.subject],
		body: [
			document.invented ? paragraph(INVENTED_WORDS) : nothing,
			answersPart(document),
			certainPart(document),
			armsPart(document),
			...document.figures.map((one, i) => figurePart(one, i)),
			byHandPart(document),
			section('method', 'How it was compared', [
				bulletList(methodWords(document)),
				paragraph(LIMITS_CAUTION, 'small'),
				paragraph(`steerworthy ${document.toolVersion}`, 'small'),
			]),
			section('not-tested', 'What we did not test', [bulletList(document.notTested)]),
		],
	});
}

function answersPart(document: ComparisonDocument): SafePiece {
	return section('answers', 'May it be steered by, and is it good as a record', [
		table(
			'How many sessions said so, by the criteria named below. One “no” is a no: a kit that is better on some figure may still not be steered by.',
			[{ title: 'which' }, { title: 'steer' }, { title: 'record' }, { title: 'least room to spare' }],
			answerRows(document),
		),
	]);
}

function certainPart(document: ComparisonDocument): SafePiece {
	const certain = certainWords(document);
	return section('certain', 'What can be said for certain', [
		certain.length === 0
			? paragraph('Nothing: these sessions do not tell them apart on any figure.')
			: bulletList(certain),
		paragraph('What is not listed here was not told apart, or not judged: it may still differ.', 'small'),
	]);
}

function armsPart({ arms, leftOut }: ComparisonDocument): SafePiece {
	return section('arms', 'What was measured', [
		termList(
			arms.map(({ name, sessions }) => [
				name,
				sessions
					.map(({ key, startedAt }) => `${key} (${startedAt.slice(0, 16).replace('T', ' ')})`)
					.join('; ') || 'no session',
			]),
		),
		leftOut.length === 0 ? nothing : bulletList(leftOut),
	]);
}

function figurePart({ figure, arms, pairs }: FigureComparison, place: number): SafePiece {
	const rows = pairs.map((pair) => [
		`${pair.second} less ${pair.first}`,
		differenceWords(pair, figure.unit),
		pairWords(pair),
	]);
	return section(`figure-${place}`, `${figure.label} (${figure.better} is better)`, [
		dotPlot(arms, figure.unit),
		table(
			'Means over sessions; differences with 95 % intervals that hold for all pairs of this figure together.',
			[{ title: 'pair' }, { title: 'difference', numeric: true }, { title: 'what it says' }],
			rows,
		),
	]);
}

const PLOT = { width: 900, rowHeight: 34, left: 230, right: 150 } as const;

/** One row an arm, one ring a session, a bar at the mean. */
function dotPlot(arms: FigureComparison['arms'], unit: FigureComparison['figure']['unit']): SafePiece {
	const all = arms.flatMap(({ readings }) => readings);
	const [least, most] = [Math.min(0, ...all), Math.max(...all, Number.MIN_VALUE)];
	const x = (value: number): string =>
		(PLOT.left + ((value - least) / (most - least)) * (PLOT.width - PLOT.left - PLOT.right)).toFixed(1);
	const rows = arms.map(({ name, readings, mean }, i) => {
		const y = PLOT.rowHeight * (i + 0.5);
		const rings = readings.map(
			(value) =>
				html`<circle cx="${x(value)}" cy="${y}" r="6" fill="none" stroke="currentColor" stroke-width="2"/>`,
		);
		const bar =
			mean === null
				? nothing
				: html`<line x1="${x(mean)}" x2="${x(mean)}" y1="${y - 13}" y2="${y + 13}" stroke="currentColor" stroke-width="3"/>`;
		return html`<text x="8" y="${y + 5}">${name}</text>${joinHtml(rings)}${bar}<text x="${PLOT.width - PLOT.right + 20}" y="${y + 5}">${readingWords(mean, unit)}</text>`;
	});
	return html`<svg class="dots" viewBox="0 0 ${PLOT.width} ${PLOT.rowHeight * arms.length}" role="img" aria-label="one ring a session, a bar at the mean, from ${readingWords(least, unit)}">${joinHtml(rows)}</svg>`;
}

function byHandPart({ byHand }: ComparisonDocument): SafePiece {
	if (byHand.length === 0) return nothing;
	const items = Object.entries(HAND_ITEMS);
	return section('by-hand', 'By hand, than our present scope', [
		...byHand.map(({ arm, people }) => paragraph(`${arm}: ${people.join('; ') || 'nobody'}.`, 'small')),
		paragraph('What people said, counted. It stands beside the figures and is in none of them.', 'small'),
		table(
			'How many found it better, the same, worse.',
			[{ title: 'what' }, ...byHand.map(({ arm }) => ({ title: arm }))],
			items.map(([key, label]) => [
				label,
				...byHand.map(({ tally }) => {
					const found = tally.find(({ item }) => item === key);
					return [tallyWords(found?.counts ?? {}), ...(found?.notes ?? [])].join('; ');
				}),
			]),
		),
	]);
}

/** A sheet to print and fill in by hand. */
export function renderSheetHtml(sheet: HandSheet): string {
	const boxes = html`<span class="box"></span> better &nbsp; <span class="box"></span> same &nbsp; <span class="box"></span> worse`;
	const write = html`<span class="write">&nbsp;</span>`;
	return renderPage({
		title: `By-hand sheet: ${sheet.kit}, ${sheet.person}`,
		masthead: ['by-hand sheet', sheet.kit, sheet.person],
		body: [
			html`<p>Kit: <strong>${sheet.kit}</strong>. Person: <strong>${sheet.person}</strong>. Day: ${write} Our present scope: ${write}</p>`,
			table(
				'Than our present scope. Leave a line empty if you did not try it. Say it alone, before you hear what others say.',
				[{ title: 'what' }, { title: 'than our present scope' }, { title: 'in words' }],
				Object.values(HAND_ITEMS).map((label) => [label, boxes, write]),
			),
			section('sheet-not-tested', 'What we did not test', [
				html`<p>${write}</p><p>${write}</p><p>${write}</p>`,
			]),
		],
	});
}

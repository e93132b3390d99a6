/** The first things a reader needs: the headline in its frame with the order, what decided it, room left, the lines. */
import { reasoningOf } from '../verdict/presets.ts';
import type { ResultDocument } from '../verdict/resultDocument.ts';
import type { JudgedLine, Verdict } from '../verdict/verdict.ts';
import { LIMITS_CAUTION } from './cautions.ts';
import { isTimeless, judgedRows } from './facts.ts';
import { html, joinHtml, nothing, paragraph, type SafePiece, section, table, termList } from './htmlParts.ts';
import { formatDuration, formatMs } from './numbers.ts';
import {
	ANSWER_WORDS,
	boundWords,
	FITNESS_FRAME,
	limitWords,
	marginWords,
	measuringPointsWords,
	readingWords,
	STATE_WORDS,
} from './words.ts';

type Row = readonly [term: string, detail: string];

/** The frame whose line carries the meaning, with what may not be read without it beside. */
export function answerPart({ verdict, run }: ResultDocument): SafePiece {
	const invented = run.subject.invented
		? html`<p class="invented">INVENTED for rehearsal: no such device was tested</p>`
		: nothing;
	return html`<div class="answer">
<div class="frame frame-${verdict.fitness}" role="group" aria-label="the answer">
${invented}<p class="judged">${run.subject.name}</p>
<h1>${sentence(verdict.headline)}</h1>
<p class="order">${verdict.order}</p>
${termList(answerRows(verdict))}
</div>
<p class="small">Frame, ${FITNESS_FRAME[verdict.fitness]}. Judged: ${verdict.subject}. ${isTimeless(run) ? 'Stills:' : `Over ${formatDuration(run.observedMs)},`} ${measuringPointsWords(run.measuringPoints)}.</p>
<p class="small">${LIMITS_CAUTION}</p>
</div>`;
}

function answerRows(verdict: Verdict): Row[] {
	return [
		['steer by it?', ANSWER_WORDS[verdict.steer]],
		['record with it?', ANSWER_WORDS[verdict.record]],
		...roomRows(verdict),
		...settleRows(verdict),
	];
}

function roomRows({ roomLeftMs, margin }: Verdict): Row[] {
	const left: Row[] =
		roomLeftMs === null
			? []
			: [['room left', `${formatMs(roomLeftMs)} for the scope and its app, which were not in the loop`]];
	const spare: Row[] = margin === null ? [] : [['room to spare', marginWords(margin)]];
	return [...left, ...spare];
}

function settleRows({ settleBySeconds }: Verdict): Row[] {
	if (settleBySeconds === null) return [];
	return [['what would settle it', `a fresh run, longer by about ${formatDuration(settleBySeconds * 1000)}`]];
}

function sentence(text: string): string {
	return text.charAt(0).toUpperCase() + text.slice(1);
}

export function judgedPart({ run, verdict }: ResultDocument): SafePiece {
	return section('judged', 'What was judged, and for how long', [
		termList([['subject', verdict.subject], ...judgedRows(run)]),
		paragraph(`This run ${verdict.speaksFor}.`),
	]);
}

export function decidedPart({ criteria, verdict }: ResultDocument): SafePiece {
	const decided = verdict.decidedBy.map((id) => decidedItem(id, criteria));
	const body =
		decided.length > 0
			? html`<ul>${joinHtml(decided)}</ul>`
			: paragraph('No single line: all the required ones together.');
	return section('decided', 'What decided it', [body]);
}

function decidedItem(id: string, criteria: readonly JudgedLine[]): SafePiece {
	const line = criteria.find((candidate) => candidate.id === id);
	if (line === undefined) return html`<li>${id}</li>`;
	return html`<li>${stateMark(line)} ${line.label}<span class="because">${line.because}${settleWords(line)}</span></li>`;
}

/** What would settle an open line, in words; empty for a line that is settled. */
function settleWords(line: JudgedLine): string {
	if (line.state !== 'undecided') return '';
	if (line.settleBySeconds !== null)
		return ` About ${formatDuration(line.settleBySeconds * 1000)} more would settle it.`;
	return line.longerWillSettle ? '' : ' A longer run alone will not settle it.';
}

function stateMark(line: JudgedLine): SafePiece {
	return html`<span class="state state-${line.state}">${STATE_WORDS[line.state]}</span>`;
}

export function linesPart({ criteria, criteriaSet }: ResultDocument): SafePiece {
	// What was not read and decides nothing stands last: of a still, that is everything that moves.
	const last = (line: JudgedLine): number => (line.required.length === 0 && line.reading === null ? 1 : 0);
	const rows = criteria
		.toSorted((a, b) => last(a) - last(b))
		.map((line) => [
			html`${line.label}<span class="because">${line.because}${settleWords(line)}</span><span class="because">${gateWords(line)}; limit from: ${line.source}; strength: ${line.strength}</span>`,
			readingWords(line),
			boundWords(line),
			limitWords(line),
			stateMark(line),
		]);
	return section('lines', 'The lines it was held against', [
		table(
			'Could be as bad as: 19 chances in 20 that it is no worse, this rig’s own uncertainty included (one-sided 95 % bound); at best, where a line is not met: that it is no better. A line is met or not met by that figure, never by the reading alone.',
			[
				{ title: 'line' },
				{ title: 'read', numeric: true },
				{ title: 'could be as bad as', numeric: true },
				{ title: 'limit', numeric: true },
				{ title: 'state' },
			],
			rows,
		),
		paragraph(criteriaWords(criteriaSet), 'small'),
		...(reasoningOf(criteriaSet.hash) ?? []).map((words) => paragraph(words, 'small')),
	]);
}

function criteriaWords(set: ResultDocument['criteriaSet']): string {
	const differs =
		set.differsFromStandard.length === 0
			? 'They are the standard ones.'
			: `They differ from the standard ones: ${set.differsFromStandard.join('; ')}.`;
	return `Criteria "${set.name}", fingerprint ${set.hash}. ${differs}`;
}

function gateWords(line: JudgedLine): string {
	if (line.required.length === 0) return 'informs, decides nothing here';
	return `decides ${line.required.map((answer) => (answer === 'steer' ? 'steering' : 'recording')).join(' and ')}`;
}

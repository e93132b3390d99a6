/** The kit here, in words: what it rests on, what the link adds here, what decided it. */

import type { KitHere } from '../verdict/kitHere.ts';
import type { JudgedLine } from '../verdict/verdict.ts';
import { SHORT_CAUTIONS } from './cautions.ts';
import { formatDuration, formatMs } from './numbers.ts';
import type { Section } from './wordSection.ts';
import { ANSWER_WORDS, boundWords, limitWords, STATE_WORDS } from './words.ts';

/** Who was judged: what stands in the frame above the headline. */
export function kitHereSubject({ kit, place, runs }: KitHere): string {
	return `${kit}, here: ${place ?? 'place not given'}, ${runs.here.startedAt.slice(0, 16).replace('T', ' ')}`;
}

/** With what was noticed of the three folders' files. */
export type ToldHere = KitHere & { readonly notes: readonly string[] };

export function kitHereSections(here: ToldHere): Section[] {
	return [
		{ title: 'What it rests on', items: restsOn(here) },
		{ title: 'What the link adds here', items: addedWords(here) },
		{
			title: here.steer === 'yes' ? 'The lines' : 'What decided it, and the other lines',
			items: lineItems(here),
		},
		{ title: 'What it cannot know', items: UNKNOWN },
		{ title: 'Before you go on', items: SHORT_CAUTIONS },
	];
}

function restsOn({ runs: { kit, here, home }, speaksFor, notes, invented }: ToldHere): string[] {
	const said = (run: typeof kit): string =>
		`${run.runId} of ${run.startedAt.slice(0, 10)}, ${formatDuration(run.observedMs)}${run.simulatedAir === null ? '' : `, through a SIMULATED air (${run.simulatedAir})`}`;
	const own = (run: typeof kit): string =>
		run.steer === null ? '' : `; by itself: steer ${ANSWER_WORDS[run.steer]}`;
	return [
		`The kit through its own lens: ${said(kit)}${own(kit)}.`,
		`The link here: ${said(here)}${own(here)}.`,
		`The link at home, same kind of tablet: ${said(home)}.`,
		`Together it ${speaksFor}.`,
		...(invented ? ['The kit is INVENTED for rehearsal: nothing real was filmed.'] : []),
		...notes,
	];
}

function addedWords({ shift }: KitHere): string[] {
	if (shift.kind === 'notMeasured') return [shift.explanation];
	const signed = (ms: number): string =>
		Math.abs(ms) < 0.05 ? 'the same' : `${ms > 0 ? '+' : '−'}${formatMs(Math.abs(ms))}`;
	return [
		`Delay here beside home: median ${signed(shift.medianMs)}, 19 times in 20 ${signed(shift.p95Ms)}.`,
		'What is added to the kit’s own delay and age is the most that the two runs leave open, their uncertainty included; a link that is better here is not credited.',
	];
}

function lineItems({ lines, decidedBy }: KitHere): string[] {
	const decisive = (line: JudgedLine): boolean => decidedBy.includes(line.id);
	const ordered = [...lines.filter(decisive), ...lines.filter((line) => !decisive(line))];
	return ordered.map((line) => {
		const bound =
			line.bound === null ? 'no bound' : `${line.state === 'notMet' ? '' : 'as bad as '}${boundWords(line)}`;
		const figures = line.limit === null ? '' : ` (${bound}, limit ${limitWords(line)})`;
		return `${line.label}: ${STATE_WORDS[line.state]}${figures}. ${sentence(line.because)}.`;
	});
}

function sentence(text: string): string {
	return text.charAt(0).toUpperCase() + text.slice(1);
}

const UNKNOWN: readonly string[] = [
	'Whether the scope’s own Wi-Fi does here as our link did: it stands elsewhere, and has its own radio and channel.',
	'How much another set-up, hour or charge would change it: each of the three runs is one draw.',
	'It says nothing of recording: for that the kit’s own recording is judged.',
];

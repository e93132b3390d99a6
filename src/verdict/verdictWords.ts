/** The headline, its order and the subject, in the words of design.md 1, 6 and 7. Words only: nothing is decided here. */
import type { Header } from '../observations/records.ts';
import type { Answer, Fitness } from './verdict.ts';

export type Outcome = {
	readonly subject: Header['subject'];
	readonly steer: Answer;
	readonly record: Answer;
	readonly roomLeftMs: number | null;
	/** A brief run that saw nothing at all against steering. */
	readonly nothingAgainst: boolean;
	/** What to do next, where something is open. */
	readonly next: string;
};

export function fitnessOf(steer: Answer, record: Answer): Fitness {
	if (steer === 'yes') return 'steering';
	if (steer === 'undetermined') return 'undetermined';
	if (record === 'yes') return 'recording';
	return record === 'no' ? 'unfit' : 'undetermined';
}

export function headlineOf(outcome: Outcome): string {
	const words = outcome.steer === 'notAsked' ? fileHeadline(outcome.record) : steerHeadline(outcome);
	return outcome.subject.invented ? `${words} (an invented kit)` : words;
}

function fileHeadline(record: Answer): string {
	if (record === 'yes') return 'good as a record';
	return record === 'no' ? 'not good as a record' : 'not enough evidence yet';
}

function steerHeadline(outcome: Outcome): string {
	const { steer, record } = outcome;
	if (steer === 'yes') return `${fitForSteering(outcome)}; ${recordBeside(record)}`;
	if (steer === 'no') {
		if (record === 'yes') return 'fit for recording only';
		return record === 'no' ? 'unfit' : 'not fit for live steering; recording not settled';
	}
	const open = outcome.nothingAgainst
		? 'not enough evidence yet: nothing against it in two minutes'
		: 'not enough evidence yet';
	if (record === 'yes') return `${open}; at least fit for recording`;
	return record === 'no' ? `${open}; not fit for recording` : open;
}

function fitForSteering({ subject, roomLeftMs }: Outcome): string {
	if (subject.kind !== 'link') return 'fit for live steering';
	return `this link is fit for live steering if the scope and its app add no more than ${roomLeftMs} ms`;
}

function recordBeside(record: Answer): string {
	if (record === 'yes') return 'fit for recording';
	return record === 'no' ? 'not fit for recording' : 'recording not settled';
}

export function orderOf(outcome: Outcome): string {
	const { steer, record, subject, next } = outcome;
	if (steer === 'notAsked') return fileOrder(record, next);
	if (steer === 'yes') {
		return subject.kind === 'link'
			? 'Nothing in the air against steering here; the scope’s own delay is not in this.'
			: 'Steer: this place, this channel, these settings.';
	}
	if (steer === 'no') {
		if (record === 'no') return 'Do not start.';
		const wired = 'Do not steer by this tablet; use a wired screen if you have one.';
		return record === 'yes' ? wired : `${wired} To settle recording: ${next}.`;
	}
	return `Treat as not fit to steer; do this next: ${next}.`;
}

function fileOrder(record: Answer, next: string): string {
	if (record === 'yes') return 'Keep it: this file, and no other, was judged.';
	if (record === 'no') return 'Do not diagnose from it or send it on; record again.';
	return `Treat as not good as a record; do this next: ${next}.`;
}

/** Who was judged, and what was not in the loop. */
export function subjectWords({ kind, name, invented }: Header['subject']): string {
	if (invented) return `${name}: invented for the rehearsal, nothing real was judged`;
	if (kind === 'link')
		return `${name}: this tablet over this air, here; the scope and its app were not in the loop`;
	if (kind === 'kit') return `${name}: lens to tablet glass`;
	return kind === 'recording' ? `${name}: this file` : `${name}: this computer, no tablet`;
}

/**
 * What a recording can and cannot say. A file has no clock beside its own, so no delay and no age is in it. What its reader found
 * by name (cuts, new times, a converted rate, an end that is missing) comes as events of the run; here each becomes a count that
 * the criteria ask for, or a warning with what to do.
 */
import type { Run } from '../observations/run.ts';
import { hdrReason } from './hdr.ts';
import type { Freezes, Metric, Metrics, NotMeasured, Warning } from './metric.ts';

export function isRecording({ header }: Run): boolean {
	return header.rig === 'recording';
}

export const NO_DELAY_IN_A_FILE: NotMeasured = {
	kind: 'notMeasured',
	reason: 'notThisRig',
	explanation: 'A recording does not hold when its pictures were seen: delay and age need the optical rig.',
};

/** Of stills and of a clip of one standing view: nothing was sent and seen, so nothing in time can be told. */
export function withoutTime({ header }: Run): Partial<Metrics> {
	if (header.rig !== 'still') return {};
	const none: NotMeasured = {
		kind: 'notMeasured',
		reason: 'notThisRig',
		explanation: 'A still shows no pictures sent and seen: no delay, age, freeze or gap is in it.',
	};
	return { freshDelay: none, pictureAge: none, delayVariation: none, freezes: none, gaps: none };
}

const CADENCE_UNSTABLE: NotMeasured = {
	kind: 'notMeasured',
	reason: 'cadenceUnstable',
	explanation:
		'The pictures in the file come at no steady rate of their own, so nobody can say which of them are missing.',
};

/** Why lost pictures cannot be counted in this recording; null where they can. */
export function uncountable(run: Run): NotMeasured | null {
	return isRecording(run) && has(run, 'cadenceUnstable') ? CADENCE_UNSTABLE : null;
}

/** Freezes with the cuts of a recording; null: the file itself is cut off, so nobody knows what is missing. */
export function withCuts(run: Run, freezes: Metric<Freezes>): Metric<Freezes> {
	if (freezes.kind === 'notMeasured' || !isRecording(run)) return freezes;
	const cuts = has(run, 'notClosed') ? null : run.events.filter(({ code }) => code === 'cut').length;
	return { ...freezes, cuts };
}

const advices: Readonly<Record<string, string>> = {
	stretched:
		'Nothing need be done: the figures are in true time. Whoever plays the file sees it slowed down or sped up.',
	rateConverted:
		'Have the kit store its own picture rate if it can; repeated pictures make movement jerky and are not new ones.',
	retimed:
		'Do not read times or speeds off this file. Look for a setting that keeps the original times (variable frame rate).',
	cadenceUnstable:
		'Record again with the kit near its access point; if it is so again, that is the kit’s own doing.',
	cardUnread: 'Record the card larger, sharper and without glare, if this is more than a few frames.',
	damagedFrames:
		'Copy the original again, by cable. If it is so in the kit too, its storage or app damages recordings.',
	notClosed:
		'Copy the original again, whole. If it is so in the kit too, it was not closed properly (battery, app): a finding.',
	framesWithoutTime: 'Give the original file; a copy through another program may have lost its times.',
	timesNotRising: 'Give the original file; a copy through another program may have spoilt its times.',
	cut: 'A record with parts left out is no record of an exam. Look for a setting that records in one piece.',
};

/** One for each kind of finding. */
export function fileWarnings(run: Run): Warning[] {
	if (!isRecording(run)) return [];
	const warnings: Warning[] = hdrWarnings(run);
	for (const [code, advice] of Object.entries(advices)) {
		const found = run.events.filter((event) => event.code === code);
		const [first] = found;
		if (first === undefined) continue;
		const more = found.length > 1 ? ` (and ${found.length - 1} more like it)` : '';
		warnings.push({ code, seen: `${sentence(first.detail ?? code)}${more}.`, advice });
	}
	return warnings;
}

function hdrWarnings(run: Run): Warning[] {
	if (hdrReason(run) === null) return [];
	const advice = 'Switch HDR off at the kit and record again; counts and times of this file stand.';
	return [{ code: 'hdr', seen: 'The file is HDR: its colours and fine detail were not measured.', advice }];
}

function sentence(words: string): string {
	return `${words.charAt(0).toUpperCase()}${words.slice(1)}`;
}

function has({ events }: Run, code: string): boolean {
	return events.some((event) => event.code === code);
}

/**
 * From judged lines to the two answers (design.md 6): no if any required line is not met, else undetermined if any is
 * undecided or not measured, else yes, and a yes only when nothing about the run itself holds it back.
 *
 * Safety first: a yes is given only on positive evidence for every required line. Anything missing, unknown or out of
 * order falls to undetermined.
 */
import type { Metrics } from '../metrics/metric.ts';
import { requiredIds } from './judgeLines.ts';
import { profileOf, VERDICT_OBSERVED_MS } from './profiles.ts';
import { requirementOf } from './requiredLines.ts';
import { roomLeftMs } from './roomLeft.ts';
import type { Answer, JudgedLine } from './verdict.ts';

export type Answered = {
	readonly answer: Answer;
	/** The lines that made it so. */
	readonly decidedBy: readonly string[];
	/** What held a yes back although no line did, the weightiest first. */
	readonly holds: readonly Hold[];
};

type Hold = {
	/** What held the yes back, and what to do next, as an order. */
	readonly next: string;
	/** Whether a longer run with the same set-up would lift it. */
	readonly longerLifts: boolean;
};

export function answer(metrics: Metrics, lines: readonly JudgedLine[], which: 'steer' | 'record'): Answered {
	const requirement = requirementOf(metrics.facts.header.rig, which);
	if (requirement.kind === 'notAsked') return { answer: 'notAsked', decidedBy: [], holds: [] };
	if (requirement.kind === 'elsewhere') {
		return undetermined([], [{ next: requirement.because, longerLifts: false }]);
	}
	const ids = requiredIds(metrics, which);
	const required = lines.filter((line) => ids.some((id) => id === line.id));
	const notMet = required.filter((line) => line.state === 'notMet');
	const holds = [...runHolds(metrics), ...(which === 'steer' ? steerHolds(metrics, required) : [])];
	if (notMet.length > 0) return { answer: 'no', decidedBy: idsOf(notMet), holds };

	const open = ids.filter((id) => required.find((line) => line.id === id)?.state !== 'met');
	if (open.length > 0 || holds.length > 0) return undetermined(open, holds);
	const nothingCompared =
		requirement.atLeastOneReferenced && !requirement.whereReferenced.some((id) => ids.includes(id));
	if (ids.length === 0 || nothingCompared) {
		return undetermined([], [{ next: 'give a reference to compare it with', longerLifts: false }]);
	}
	return { answer: 'yes', decidedBy: tightest(required), holds };
}

/** What about the run itself keeps any yes from it. */
function runHolds(metrics: Metrics): Hold[] {
	const { facts } = metrics;
	const { rig, profile: name } = facts.header;
	const profile = profileOf(name);
	const file = rig === 'recording' || rig === 'still';
	const holds: Hold[] = [];
	if (facts.torn !== false) {
		holds.push({ next: 'the run broke off: make it again, to its own end', longerLifts: false });
	}
	for (const next of sessionAsks(metrics.facts)) holds.push({ next, longerLifts: false });
	if (!profile.maySayYes) {
		const length = `${VERDICT_OBSERVED_MS / 1000} s`;
		holds.push({ next: `make a fresh run with the verdict profile (${length} observed)`, longerLifts: true });
	} else if (!(facts.observedMs >= profile.observedMs)) {
		const length = `${profile.observedMs / 1000} s`;
		holds.push({ next: `make a fresh run of the declared length (${length} observed)`, longerLifts: true });
	}
	if (profile.census !== file) {
		holds.push({
			next: `make a fresh run: the profile "${name}" does not suit this rig`,
			longerLifts: false,
		});
	}
	return holds;
}

/** A filmed kit gets a yes from a whole session only; a run that does not say what was filmed is not one. */
function sessionAsks({ header, sessionMissing }: Metrics['facts']): readonly string[] {
	if (header.rig !== 'optical') return [];
	return sessionMissing ?? ['film a whole session: this run does not say what its clips were'];
}

/** Whose steering may be answered at all: a tablet's link, a kit seen by the optical rig, or an invented kit. */
function steerHolds(metrics: Metrics, required: readonly JudgedLine[]): Hold[] {
	const { rig, subject } = metrics.facts.header;
	if (subject.kind === 'computer' && subject.invented !== true) {
		return [{ next: 'run again with the tablet: only this computer was looking', longerLifts: false }];
	}
	const suits =
		(rig === 'link' && (subject.kind === 'link' || subject.invented === true)) ||
		(rig === 'optical' && subject.kind === 'kit');
	if (!suits) {
		return [{ next: 'judge a kit with the optical rig: this run cannot speak for it', longerLifts: false }];
	}
	const allMet = required.every((line) => line.state === 'met');
	if (subject.kind === 'link' && allMet && roomLeftMs(metrics, required) === null) {
		const next = 'make a fresh run: how much room is left for the scope and its app could not be told';
		return [{ next, longerLifts: false }];
	}
	return [];
}

/** The line with the least room to spare; all of them where none has a margin. */
function tightest(met: readonly JudgedLine[]): string[] {
	const margins = met.flatMap(({ margin }) => (margin === null ? [] : [margin]));
	if (margins.length === 0) return idsOf(met);
	const least = Math.min(...margins);
	return idsOf(met.filter(({ margin }) => margin === least));
}

function undetermined(decidedBy: readonly string[], holds: readonly Hold[]): Answered {
	return { answer: 'undetermined', decidedBy, holds };
}

function idsOf(lines: readonly JudgedLine[]): string[] {
	return lines.map(({ id }) => id);
}

/** Runs of the register put together as sessions, and sessions as the arms of a comparison: kits, or one kit's places or settings. */
import type { ComparedRun } from '../verdict/comparable.ts';
import { type Arm, type ArmSession, type SessionAnswers, sessionAnswer } from '../verdict/comparison.ts';
import type { Register } from './registerFolder.ts';
import type { FoundRun } from './searchRuns.ts';

export type ArmKind = 'kit' | 'place' | 'setting';

/** What the arms rest on. */
type Gathered = {
	readonly arms: readonly Arm[];
	/** The runs in them, for the question whether they may be compared. */
	readonly runs: readonly (ComparedRun & { readonly folder: string; readonly criteria: string })[];
	/** Why they may not be compared, whatever their figures: what else differs between the arms. Empty when nothing does. */
	readonly confounded: readonly string[];
	/** What was not counted, each in one sentence. */
	readonly leftOut: readonly string[];
};

/** `names`: which arms, in which order. Sessions that did not begin from power off are left out: they are no new draw. */
export function gatherArms(
	found: readonly FoundRun[],
	register: Register,
	{ by, names }: { readonly by: ArmKind; readonly names: readonly string[] },
): Gathered {
	const leftOut: string[] = [];
	const sessions = new Map<string, { arm: string; runs: FoundRun[] }>();
	for (const run of found) {
		const session = run.session === null ? undefined : register.sessions.get(run.session);
		if (session === undefined) {
			if (run.session !== null && run.kit !== null && (by !== 'kit' || names.includes(run.kit)))
				leftOut.push(`Run ${run.facts.runId}: nothing can be read of its session ${run.session}.`);
			continue;
		}
		const arm = run[by];
		if (arm === null || !names.includes(arm)) continue;
		if (run.trouble !== null || run.facts.torn)
			leftOut.push(`Run ${run.facts.runId}: ${run.trouble ?? 'it was broken off'}.`);
		else if (session.poweredOffBefore) {
			const kept = sessions.get(session.key) ?? { arm, runs: [] };
			kept.runs.push(run);
			sessions.set(session.key, kept);
		} else leftOut.push(`Run ${run.facts.runId}: its session ${session.key} did not begin from power off.`);
	}
	const kept = [...sessions];
	return {
		arms: names.map((name) => ({
			name,
			sessions: kept
				.filter(([, { arm }]) => arm === name)
				.map(([key, { runs }]) => ({ ...sessionOf(key, runs), ...answersOf(runs) }))
				.sort((a, b) => (a.startedAt < b.startedAt ? -1 : 1)),
		})),
		runs: kept.flatMap(([, { runs }]) =>
			runs.map(({ folder, facts }) => ({ ...facts, folder, criteria: criteriaWords(facts) })),
		),
		confounded: confoundedBy(
			kept.flatMap(([, { runs }]) => runs),
			by,
		),
		leftOut: [
			...leftOut,
			...lengthNote(kept.flatMap(([, { runs }]) => runs)),
			...(by === 'kit' ? nameNotes(kept.flatMap(([, session]) => session)) : []),
		],
	};
}

const OTHERS: Readonly<Record<ArmKind, readonly ('place' | 'setting')[]>> = {
	kit: ['place', 'setting'],
	place: ['setting'],
	setting: ['place'],
};

/** One kit at home and the other in the barn: then nobody can tell the kit from the barn. */
function confoundedBy(runs: readonly FoundRun[], by: ArmKind): string[] {
	return OTHERS[by].flatMap((other) => {
		const found = [...new Set(runs.map((run) => run[other] ?? 'none stated'))].sort();
		return found.length > 1
			? [
					`Their sessions are of more than one ${other} (${found.join('; ')}), and ${by} and ${other} could not be told apart.`,
				]
			: [];
	});
}

function lengthNote(runs: readonly FoundRun[]): string[] {
	const profiles = [...new Set(runs.map(({ facts }) => facts.profile))].sort();
	return profiles.length > 1
		? [`Runs of unlike length stand beside each other (${profiles.join(', ')}); each session counts once.`]
		: [];
}

/** A run says itself which kit it was of; one that was entered for another would put the wrong name to a figure. */
function nameNotes(
	sessions: readonly { readonly arm: string; readonly runs: readonly FoundRun[] }[],
): string[] {
	const armsOf = new Map<string, Set<string>>();
	const namesOf = new Map<string, Set<string>>();
	for (const { arm, runs } of sessions)
		for (const { facts } of runs.filter((run) => run.facts.subjectKind === 'kit')) {
			armsOf.set(facts.subject, (armsOf.get(facts.subject) ?? new Set()).add(arm));
			namesOf.set(arm, (namesOf.get(arm) ?? new Set()).add(facts.subject));
		}
	return [
		...[...namesOf]
			.filter(([, names]) => names.size > 1)
			.map(
				([arm, names]) =>
					`CHECK THE ENTRIES: the runs of ${arm} name themselves differently (${[...names].join('; ')}).`,
			),
		...[...armsOf]
			.filter(([, arms]) => arms.size > 1)
			.map(
				([name, arms]) =>
					`CHECK THE ENTRIES: runs of ${[...arms].join(' and ')} name the same kit (${name}).`,
			),
	];
}

/** "gentle, 0123456789abcdef: age: level 340 instead of 240" */
function criteriaWords({ criteriaName, criteriaHash, criteriaDiffer }: FoundRun['facts']): string {
	const differ = criteriaDiffer.length === 0 ? 'nothing differs from standard' : criteriaDiffer.join('; ');
	return `${criteriaName}, ${criteriaHash}: ${differ}.`;
}

function answersOf(runs: readonly FoundRun[]): SessionAnswers {
	const margins = runs.map(({ facts }) => facts.margin);
	return {
		steer: sessionAnswer(runs.map(({ facts }) => facts.steer)),
		record: sessionAnswer(runs.map(({ facts }) => facts.record)),
		margin: margins.reduce((least, one) => (least === null || one === null ? null : Math.min(least, one))),
	};
}

/** A session's figure is the mean over those of its runs that have it. */
export function sessionOf(key: string, runs: readonly FoundRun[]): ArmSession {
	const paths = [...new Set(runs.flatMap(({ facts }) => Object.keys(facts.figures)))];
	const values = Object.fromEntries(
		paths.map((path) => {
			const read = runs.flatMap(({ facts }) => facts.figures[path] ?? []);
			return [path, read.reduce((sum, value) => sum + value, 0) / read.length];
		}),
	);
	return {
		key,
		startedAt: runs.map(({ facts }) => facts.startedAt).sort()[0] ?? '',
		values,
		systematicStandardMs: Math.max(...runs.map(({ facts }) => facts.systematicStandardMs)),
	};
}

/** Runs of the register put together as sessions, and sessions as the arms of a comparison: kits, or one kit's places or settings. */
import type { ComparedRun } from '../verdict/comparable.ts';
import type { Arm, ArmSession } from '../verdict/comparison.ts';
import type { Register } from './registerFolder.ts';
import type { FoundRun } from './searchRuns.ts';

export type ArmKind = 'kit' | 'place' | 'setting';

/** What the arms rest on. */
type Gathered = {
	readonly arms: readonly Arm[];
	/** The runs in them, for the question whether they may be compared. */
	readonly runs: readonly (ComparedRun & { readonly folder: string; readonly steer: string })[];
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
		if (session === undefined) continue;
		const arm = session[by];
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
				.map(([key, { runs }]) => sessionOf(key, runs))
				.sort((a, b) => (a.startedAt < b.startedAt ? -1 : 1)),
		})),
		runs: kept.flatMap(([, { runs }]) => runs.map(({ folder, facts }) => ({ ...facts, folder }))),
		leftOut,
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

/** Which runs a person asks for: by kit, place, session, rig, answer, time, or any words in what is said of them. */
import type { Register } from './registerFolder.ts';
import type { RunRow, RunRowFacts } from './runRow.ts';

/** A run with what the register knows of it. */
export type FoundRun = {
	readonly folder: string;
	readonly facts: RunRowFacts;
	readonly kit: string | null;
	readonly session: string | null;
	/** Key of the session's place, or the place that the run itself names. */
	readonly place: string | null;
	/** What the session says was set differently. */
	readonly setting: string | null;
	/** What is wrong with the run, or with what the register says of it. */
	readonly trouble: string | null;
};

export type RunFilter = {
	readonly kit?: string;
	readonly place?: string;
	readonly session?: string;
	readonly setting?: string;
	readonly rig?: string;
	readonly profile?: string;
	readonly fitness?: string;
	/** ISO 8601, or the beginning of it; both ends count. */
	readonly since?: string;
	readonly until?: string;
	/** Every word must stand somewhere. */
	readonly search?: string;
};

export function searchRuns(rows: readonly RunRow[], register: Register, filter: RunFilter): FoundRun[] {
	return rows
		.flatMap((row) => (row.facts === null ? [] : [found(row, row.facts, register)]))
		.filter((run) => matches(run, register, filter));
}

function found(row: RunRow, facts: RunRowFacts, register: Register): FoundRun {
	const entry = register.entries.get(facts.runId);
	const session = entry === undefined ? undefined : register.sessions.get(entry.session);
	return {
		folder: row.folder,
		facts,
		kit: entry?.kit ?? null,
		session: entry?.session ?? null,
		place: session?.place ?? facts.place,
		setting: session?.setting ?? null,
		trouble:
			row.trouble ??
			(entry !== undefined && session !== undefined && entry.kit !== session.kit
				? `Run ${facts.runId} is entered as one of ${entry.kit}, and its session ${session.key} is one of ${session.kit}.`
				: null),
	};
}

function matches(run: FoundRun, register: Register, filter: RunFilter): boolean {
	const { facts } = run;
	const same = (wanted: string | undefined, value: string | null): boolean =>
		wanted === undefined || wanted === value;
	return (
		same(filter.kit, run.kit) &&
		same(filter.place, run.place) &&
		same(filter.session, run.session) &&
		same(filter.setting, run.setting) &&
		same(filter.rig, facts.rig) &&
		same(filter.profile, facts.profile) &&
		same(filter.fitness, facts.fitness) &&
		(filter.since === undefined || facts.startedAt >= filter.since) &&
		(filter.until === undefined || facts.startedAt.slice(0, filter.until.length) <= filter.until) &&
		(filter.search === undefined || holdsWords(run, register, filter.search))
	);
}

function holdsWords(run: FoundRun, register: Register, search: string): boolean {
	const { facts } = run;
	const kit = run.kit === null ? undefined : register.kits.get(run.kit);
	const text = [
		...[run.folder, facts.runId, facts.subject, facts.headline, facts.rig, facts.profile, facts.startedAt],
		...[run.kit ?? '', run.session ?? '', run.place ?? '', kit?.name ?? '', kit?.notes ?? ''],
	]
		.join('\n')
		.toLowerCase();
	return search
		.toLowerCase()
		.split(/\s+/)
		.every((word) => text.includes(word));
}

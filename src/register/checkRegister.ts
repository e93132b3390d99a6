/** Everything that is not as it should be in a register, for command and page alike: runs, records, what is gone, what was changed. */
import { join } from 'node:path';
import { checkAcceptances } from './acceptances.ts';
import { lostEntries, runFaults } from './integrity.ts';
import type { Register } from './registerFolder.ts';
import type { RunRow } from './runRow.ts';
import type { FoundRun } from './searchRuns.ts';

/** What the index and the register's own files tell, each in one sentence; no file of a run is opened. */
export function knownTroubles(
	rows: readonly RunRow[],
	register: Register,
	found: readonly FoundRun[],
): string[] {
	const ofRows = new Map(
		rows.flatMap(({ folder, trouble }) => (trouble === null ? [] : [[folder, trouble]])),
	);
	return [
		...ofRows.values(),
		...found.flatMap(({ trouble, folder }) => (trouble === null || ofRows.has(folder) ? [] : [trouble])),
		...register.troubles,
		...lostEntries(rows, register).map(({ why }) => why),
	];
}

/** Opens every file of these runs, and every signed acceptance: what changed since it was sealed or signed, each in one sentence. */
export async function changedSince(
	root: string,
	register: Register,
	found: readonly FoundRun[],
): Promise<string[]> {
	const faults: string[] = [];
	for (const { folder, facts } of found)
		faults.push(...(await runFaults(join(root, folder), register.entries.get(facts.runId) ?? null)));
	return [...faults, ...(await checkAcceptances(root))];
}

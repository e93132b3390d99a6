/**
 * Whether runs are still what they were: every file against the run's own seal, and the seal against what the register wrote
 * down when the run was entered. Names what changed; it cannot tell who changed it, nor guard against someone who changes
 * both.
 */
import { createHash } from 'node:crypto';
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { OutsideFailure } from '../failure.ts';
import type { Entry } from './records.ts';
import type { Register } from './registerFolder.ts';
import { OBSERVATIONS_FILE } from './runFolder.ts';
import type { RunRow } from './runRow.ts';
import { brokenFiles, readSeal, SEAL_FILE } from './seal.ts';

export type SealPrint = { readonly sealSha256: string; readonly observationsSha256: string };

/** What the register keeps of a run. Throws `OutsideFailure` `notSealed` when the run has no seal. */
export async function sealPrint(folder: string): Promise<SealPrint & { readonly runId: string }> {
	const seal = await readSeal(folder);
	const observationsSha256 = seal?.files[OBSERVATIONS_FILE];
	if (seal === null || observationsSha256 === undefined)
		throw new OutsideFailure(
			'notSealed',
			`${folder} has no seal over its observations: the run was broken off.`,
			'Judge it with --rewrite to seal it, or make the run again.',
		);
	const text = await readFile(join(folder, SEAL_FILE));
	return {
		runId: seal.runId,
		sealSha256: createHash('sha256').update(text).digest('hex'),
		observationsSha256,
	};
}

/** Every way in which the run is not what it was, each in one sentence; empty when it is. */
export async function runFaults(folder: string, entry: Entry | null): Promise<string[]> {
	try {
		const seal = await readSeal(folder);
		if (seal === null) return [`${folder} has no seal.`];
		const broken = await brokenFiles(folder, seal);
		const faults = broken.map((file) => `${folder}: ${file} since the run was sealed.`);
		return entry === null ? faults : [...faults, ...(await entryFaults(folder, entry))];
	} catch (failure) {
		if (!(failure instanceof OutsideFailure)) throw failure;
		return [failure.message];
	}
}

async function entryFaults(folder: string, entry: Entry): Promise<string[]> {
	const now = await sealPrint(folder);
	if (now.observationsSha256 !== entry.observationsSha256)
		return [`${folder} is not the run that was entered as ${entry.runId}: its observations are others.`];
	if (now.sealSha256 !== entry.sealSha256)
		return [
			`${folder} was sealed again since it was entered as ${entry.runId}; its observations are the same.`,
		];
	return [];
}

/** A run that was entered and of which nothing can be read now. */
type LostEntry = { readonly entry: Entry; readonly why: string };

/** They must be named wherever runs are counted: a bad run that was deleted would otherwise never have been. */
export function lostEntries(rows: readonly RunRow[], register: Register): LostEntry[] {
	const read = new Set(rows.flatMap(({ facts }) => (facts === null ? [] : [facts.runId])));
	const troubles = new Map(rows.map(({ folder, trouble }) => [folder, trouble]));
	return [...register.entries.values()]
		.filter(({ runId }) => !read.has(runId))
		.map((entry) => ({
			entry,
			why: `Run ${entry.runId} is entered as one of ${entry.kit}, and ${troubles.get(entry.runId) ?? 'its folder is not there.'}`,
		}));
}

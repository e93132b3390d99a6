/** The runs kept under one folder, newest first, from their seals; a folder without a seal is named as not finished. */
import { readdir } from 'node:fs/promises';
import { join } from 'node:path';
import { OutsideFailure } from '../failure.ts';
import { readSeal, type Seal } from './seal.ts';

export type ListedRun = {
	readonly folder: string;
	readonly seal: Seal | null;
	/** Why the seal could not be read; null when it could, or when there is none. */
	readonly trouble: string | null;
};

export async function listRuns(root: string): Promise<ListedRun[]> {
	const entries = await readdir(root, { withFileTypes: true }).catch(() => []);
	const runs: ListedRun[] = [];
	for (const entry of entries) if (entry.isDirectory()) runs.push(await lookInto(join(root, entry.name)));
	return runs.sort((a, b) => (b.seal?.startedAt ?? '').localeCompare(a.seal?.startedAt ?? ''));
}

async function lookInto(folder: string): Promise<ListedRun> {
	try {
		return { folder, seal: await readSeal(folder), trouble: null };
	} catch (failure) {
		if (!(failure instanceof OutsideFailure)) throw failure;
		return { folder, seal: null, trouble: failure.message };
	}
}

/**
 * Two computers' registers made one: what the other has and this has not is copied; nothing here is overwritten but a kit,
 * place or session whose other copy was changed later. A run that both have under one name with other contents is named and left.
 * Copying one folder over the other by hand does the same, without the naming.
 */
import { cp, readdir } from 'node:fs/promises';
import { join } from 'node:path';
import type { Kit } from './records.ts';
import {
	type Register,
	readRegister,
	writeEntry,
	writeKit,
	writePlace,
	writeSession,
} from './registerFolder.ts';
import { readRunIndex } from './runIndex.ts';
import type { RunRow } from './runRow.ts';
import { readSeal } from './seal.ts';

export type Merged = {
	readonly runsCopied: readonly string[];
	/** Kits, places, sessions and entries that came or became later. */
	readonly recordsTaken: number;
	/** What could not be settled, each in one sentence. */
	readonly conflicts: readonly string[];
};

export async function mergeRegisters(from: string, into: string): Promise<Merged> {
	const conflicts: string[] = [];
	const runsCopied = await copyRuns(from, into, conflicts);
	const [theirs, ours] = [await readRegister(from), await readRegister(into)];
	const taken = [
		...(await takeKits(theirs, ours, into)),
		...(await takeLater(theirs.places, ours.places, (place) => writePlace(into, place))),
		...(await takeLater(theirs.sessions, ours.sessions, (session) => writeSession(into, session))),
		...(await takeEntries(theirs, ours, { into, conflicts })),
	];
	return {
		runsCopied,
		recordsTaken: taken.length,
		conflicts: [...conflicts, ...theirs.troubles],
	};
}

async function copyRuns(from: string, into: string, conflicts: string[]): Promise<string[]> {
	const here = new Map((await readRunIndex(into)).map((row) => [row.folder, row]));
	const ids = new Map([...here.values()].flatMap((row) => (row.facts ? [[row.facts.runId, row]] : [])));
	const copied: string[] = [];
	for (const row of await readRunIndex(from)) {
		const twin = here.get(row.folder) ?? (row.facts === null ? undefined : ids.get(row.facts.runId));
		if (twin === undefined) {
			await cp(join(from, row.folder), join(into, row.folder), { recursive: true, preserveTimestamps: true });
			copied.push(row.folder);
		} else if (!(await sameRun(join(from, row.folder), join(into, twin.folder)))) {
			conflicts.push(conflictOf(row, twin));
		}
	}
	return copied;
}

function conflictOf(row: RunRow, twin: RunRow): string {
	return `${row.folder} was not copied: ${twin.folder} here goes by the same name and holds something else.`;
}

async function sameRun(theirs: string, ours: string): Promise<boolean> {
	const [a, b] = await Promise.all([theirs, ours].map((folder) => readSeal(folder).catch(() => null)));
	if (a === null || b === null || a === undefined || b === undefined)
		return (await readdir(theirs)).join() === (await readdir(ours)).join();
	return JSON.stringify(a.files) === JSON.stringify(b.files);
}

/** The later copy of a kit, with the reference runs of both. */
async function takeKits(theirs: Register, ours: Register, into: string): Promise<string[]> {
	const taken: string[] = [];
	for (const [key, kit] of theirs.kits) {
		const own = ours.kits.get(key);
		const merged = own === undefined ? kit : mergeKits(kit, own);
		if (own !== undefined && JSON.stringify(merged) === JSON.stringify(own)) continue;
		await writeKit(into, merged);
		taken.push(key);
	}
	return taken;
}

function mergeKits(a: Kit, b: Kit): Kit {
	const later = a.changedAt > b.changedAt ? a : b;
	return { ...later, referenceRuns: [...new Set([...b.referenceRuns, ...a.referenceRuns])] };
}

async function takeLater<T extends { readonly changedAt: string }>(
	theirs: ReadonlyMap<string, T>,
	ours: ReadonlyMap<string, T>,
	write: (item: T) => Promise<void>,
): Promise<string[]> {
	const later = [...theirs].filter(([key, item]) => item.changedAt > (ours.get(key)?.changedAt ?? ''));
	for (const [, item] of later) await write(item);
	return later.map(([key]) => key);
}

async function takeEntries(
	theirs: Register,
	ours: Register,
	{ into, conflicts }: { readonly into: string; readonly conflicts: string[] },
): Promise<string[]> {
	const taken: string[] = [];
	for (const [runId, entry] of theirs.entries) {
		const own = ours.entries.get(runId);
		if (own === undefined) {
			await writeEntry(into, entry);
			taken.push(runId);
		} else if (own.observationsSha256 !== entry.observationsSha256 || own.kit !== entry.kit) {
			conflicts.push(`Run ${runId} is entered on both sides, and not as the same run of the same kit.`);
		}
	}
	return taken;
}

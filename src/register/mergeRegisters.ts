/**
 * Two computers' registers made one: what the other has and this has not is copied; nothing here is overwritten but a kit,
 * place or session whose other copy was changed later. A run, a session or an acceptance that both have under one name with
 * other contents is named and left. Copying one folder over the other by hand does nearly the same, without the naming: there the
 * copied file wins.
 */
import { cp, mkdir, readdir, readFile, rename, rm } from 'node:fs/promises';
import { join } from 'node:path';
import { ACCEPTANCES_FOLDER } from './acceptances.ts';
import type { Kit, Session } from './records.ts';
import {
	type Register,
	readRegister,
	SHEETS_FOLDER,
	writeEntry,
	writeKit,
	writePlace,
	writeSession,
} from './registerFolder.ts';
import { readRunIndex } from './runIndex.ts';
import type { RunRow } from './runRow.ts';
import { hashFiles, readSeal } from './seal.ts';

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
		...(await takeKits(theirs, ours, { into, conflicts })),
		...(await takeLater(theirs.places, ours.places, (place) => writePlace(into, place))),
		...(await takeSessions(theirs, ours, { into, conflicts })),
		...(await takeEntries(theirs, ours, { into, conflicts })),
		...(await takeFiles(ACCEPTANCES_FOLDER, from, { into, conflicts })),
		...(await takeFiles(SHEETS_FOLDER, from, { into, conflicts })),
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
			await copyWhole(join(from, row.folder), into, row.folder);
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
	// Without a seal on either side (broken off, or judged nowhere) only the files themselves can tell.
	if (a === null || b === null || a === undefined || b === undefined)
		return JSON.stringify(await hashFiles(theirs)) === JSON.stringify(await hashFiles(ours));
	return JSON.stringify(a.files) === JSON.stringify(b.files);
}

/** Beside its place first, so that a computer that dies in the middle leaves no half of a run. */
async function copyWhole(from: string, into: string, name: string): Promise<void> {
	const beside = join(into, `.${name}.part`);
	await rm(beside, { recursive: true, force: true });
	await cp(from, beside, { recursive: true, preserveTimestamps: true });
	await rename(beside, join(into, name));
}

type Into = { readonly into: string; readonly conflicts: string[] };

/**
 * The later copy of a kit, its reference with it: which runs stand for a kit is one decision, not a sum of two. But a copy
 * without a reference never takes one away, for without it a kit is accepted by the limits alone. Where they differ it is named.
 */
async function takeKits(theirs: Register, ours: Register, { into, conflicts }: Into): Promise<string[]> {
	const taken: string[] = [];
	for (const [key, kit] of theirs.kits) {
		const own = ours.kits.get(key);
		const merged = own === undefined ? kit : mergeKits(own, kit);
		if (own !== undefined && !sameReference(own, kit))
			conflicts.push(
				`Kit ${key} has other reference runs on the other side; these stand: ${merged.referenceRuns.join(', ')}.`,
			);
		if (own !== undefined && JSON.stringify(merged) === JSON.stringify(own)) continue;
		await writeKit(into, merged);
		taken.push(key);
	}
	return taken;
}

/** What the later copy leaves blank stands as the earlier one has it: a kit known to two computers is often half known to one. */
function mergeKits(own: Kit, other: Kit): Kit {
	const [later, earlier] = other.changedAt > own.changedAt ? [other, own] : [own, other];
	const said = (key: 'firmware' | 'appVersion' | 'tabletVersion' | 'notes'): string =>
		later[key] === '' ? earlier[key] : later[key];
	return {
		...later,
		name: later.name === later.key ? earlier.name : later.name,
		serialNumbers: { ...earlier.serialNumbers, ...later.serialNumbers },
		...{ firmware: said('firmware'), appVersion: said('appVersion') },
		...{ tabletVersion: said('tabletVersion'), notes: said('notes') },
		parts: [...new Set([...earlier.parts, ...later.parts])],
		referenceRuns: later.referenceRuns.length > 0 ? later.referenceRuns : earlier.referenceRuns,
	};
}

function sameReference(a: Kit, b: Kit): boolean {
	return [...a.referenceRuns].sort().join('\n') === [...b.referenceRuns].sort().join('\n');
}

/** Two sessions under one name are two draws: they are never made one. */
async function takeSessions(theirs: Register, ours: Register, { into, conflicts }: Into): Promise<string[]> {
	const taken: string[] = [];
	for (const [key, session] of theirs.sessions) {
		const own = ours.sessions.get(key);
		if (own !== undefined && !sameSession({ theirs, ours, key }))
			conflicts.push(
				`Session ${key} is there on both sides and is not the same one: enter its runs under another name on one of them.`,
			);
		else if (own === undefined || session.changedAt > own.changedAt) {
			await writeSession(into, session);
			taken.push(key);
		}
	}
	return taken;
}

type TwoSides = { readonly theirs: Register; readonly ours: Register; readonly key: string };

/** One session known to two computers: same kit, and one side's runs among the other's. */
function sameSession({ theirs, ours, key }: TwoSides): boolean {
	const [a, b] = [theirs.sessions.get(key), ours.sessions.get(key)] as (Session | undefined)[];
	if (a?.kit !== b?.kit) return false;
	const [runsA, runsB] = [theirs, ours].map((register) =>
		[...register.entries.values()].filter(({ session }) => session === key).map(({ runId }) => runId),
	);
	const within = (some: readonly string[] = [], all: readonly string[] = []): boolean =>
		some.every((id) => all.includes(id));
	return within(runsA, runsB) || within(runsB, runsA);
}

/** Acceptances with their pages, and by-hand sheets: what is here is never written over. */
async function takeFiles(shelf: string, from: string, { into, conflicts }: Into): Promise<string[]> {
	const [theirs, ours] = [join(from, shelf), join(into, shelf)];
	const taken: string[] = [];
	for (const name of (await readdir(theirs).catch(() => [])).sort()) {
		const [text, own] = await Promise.all(
			[theirs, ours].map((folder) => readFile(join(folder, name), 'utf8').catch(() => null)),
		);
		if (own === null) {
			await mkdir(ours, { recursive: true });
			await cp(join(theirs, name), join(ours, name), { preserveTimestamps: true });
			taken.push(name);
		} else if (own !== text)
			conflicts.push(`${join(shelf, name)} is there on both sides and is not the same; the one here stands.`);
	}
	return taken;
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

async function takeEntries(theirs: Register, ours: Register, { into, conflicts }: Into): Promise<string[]> {
	const taken: string[] = [];
	for (const [runId, entry] of theirs.entries) {
		const own = ours.entries.get(runId);
		const key = entry.session;
		// Its session stays behind, and under the other one it would count as what it is not.
		if (own === undefined && ours.sessions.has(key) && !sameSession({ theirs, ours, key })) continue;
		if (own === undefined) {
			await writeEntry(into, entry);
			taken.push(runId);
		} else if (own.observationsSha256 !== entry.observationsSha256 || own.kit !== entry.kit) {
			conflicts.push(`Run ${runId} is entered on both sides, and not as the same run of the same kit.`);
		}
	}
	return taken;
}

/**
 * The index of all runs under one folder. It is a cache and nothing more: made again from the folders whenever it is missing,
 * torn or of another version; a row is made anew when its folder's files have another size or time. Copy two registers
 * together and it mends itself.
 *
 * On disk: figures in columns, for five thousand runs are half a million numbers.
 */
import { type Dirent, readFileSync, statSync } from 'node:fs';
import { readdir, rename, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { REGISTER_FOLDER } from './registerFolder.ts';
import { RESULT_FILE } from './runFolder.ts';
import { type RunRow, type RunRowFacts, readRunRow } from './runRow.ts';
import { SEAL_FILE } from './seal.ts';

const INDEX_FILE = '.runs-index.json';
const VERSION = 4;
/** Folders read at once; more only makes them wait for each other. */
const AT_ONCE = 32;

type IndexFile = {
	readonly version: number;
	readonly paths: readonly string[];
	readonly rows: readonly (Omit<RunRow, 'facts'> & {
		readonly facts: (Omit<RunRowFacts, 'figures'> & { readonly figures: readonly (number | null)[] }) | null;
	})[];
};

/**
 * All runs under `root`, newest first, those that cannot be read last. `afresh`: from every run's own files, without the
 * kept index, for answers on which somebody acts.
 */
export async function readRunIndex(
	root: string,
	{ afresh = false }: { readonly afresh?: boolean } = {},
): Promise<RunRow[]> {
	const kept = afresh ? new Map<string, RunRow>() : readKept(root);
	const folders = await runFolders(root);
	const rows: RunRow[] = [];
	const stale: { folder: string; stamp: string }[] = [];
	for (const folder of folders) {
		const stamp = stampOf(join(root, folder));
		const row = kept.get(folder);
		if (row?.stamp === stamp) rows.push(row);
		else stale.push({ folder, stamp });
	}
	for (let i = 0; i < stale.length; i += AT_ONCE) {
		const batch = stale.slice(i, i + AT_ONCE);
		rows.push(...(await Promise.all(batch.map(({ folder, stamp }) => readRunRow(root, folder, stamp)))));
	}
	if (stale.length > 0 || kept.size !== folders.length) await keep(root, rows);
	return withTwins(rows).sort(newestFirst);
}

async function runFolders(root: string): Promise<string[]> {
	const entries = await readdir(root, { withFileTypes: true }).catch((): Dirent[] => []);
	return entries
		.filter((entry) => entry.isDirectory() && entry.name !== REGISTER_FOLDER && !entry.name.startsWith('.'))
		.map(({ name }) => name);
}

/** Sizes and times; missing files are part of it, so that a file that goes changes it. */
function stampOf(folder: string): string {
	return [SEAL_FILE, RESULT_FILE]
		.map((name) => {
			const found = statSync(join(folder, name), { throwIfNoEntry: false });
			return found === undefined ? '-' : `${found.size}.${found.mtimeMs}`;
		})
		.join(' ');
}

/** Two folders that hold one run id are both named: which of them is meant nobody can tell. */
function withTwins(rows: readonly RunRow[]): RunRow[] {
	const folders = new Map<string, string[]>();
	for (const { folder, facts } of rows)
		if (facts !== null) folders.set(facts.runId, [...(folders.get(facts.runId) ?? []), folder]);
	return rows.map((row) => {
		const twins = row.facts === null ? [] : (folders.get(row.facts.runId) ?? []);
		if (twins.length < 2) return row;
		return { ...row, trouble: `Run id ${row.facts?.runId} stands in ${twins.sort().join(' and ')}.` };
	});
}

function newestFirst(a: RunRow, b: RunRow): number {
	const [x, y] = [a.facts?.startedAt ?? '', b.facts?.startedAt ?? ''];
	return x === y ? (a.folder < b.folder ? -1 : 1) : x < y ? 1 : -1;
}

function readKept(root: string): Map<string, RunRow> {
	try {
		const file = JSON.parse(readFileSync(join(root, INDEX_FILE), 'utf8')) as IndexFile;
		if (file.version !== VERSION) return new Map();
		return new Map(file.rows.map((row) => [row.folder, withFigures(row, file.paths)]));
	} catch {
		// Missing, torn or foreign: all the same to a cache.
		return new Map();
	}
}

function withFigures({ facts, ...row }: IndexFile['rows'][number], paths: readonly string[]): RunRow {
	if (facts === null) return { ...row, facts };
	const figures: Record<string, number> = {};
	paths.forEach((path, i) => {
		const value = facts.figures[i];
		if (value !== null && value !== undefined) figures[path] = value;
	});
	return { ...row, facts: { ...facts, figures } };
}

async function keep(root: string, rows: readonly RunRow[]): Promise<void> {
	const paths = [...new Set(rows.flatMap(({ facts }) => Object.keys(facts?.figures ?? {})))];
	const file: IndexFile = {
		version: VERSION,
		paths,
		rows: rows.map(({ facts, ...row }) => ({
			...row,
			facts: facts && { ...facts, figures: paths.map((path) => facts.figures[path] ?? null) },
		})),
	};
	const path = join(root, INDEX_FILE);
	// A folder that may only be read is listed all the same, more slowly.
	await writeFile(`${path}.part`, JSON.stringify(file))
		.then(() => rename(`${path}.part`, path))
		.catch(() => {});
}

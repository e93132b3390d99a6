/**
 * `run.json`: which files a run folder holds and the SHA-256 of each, so that a year later a changed or missing file is
 * named. It seals what was observed and what was said of it; it is not a signature.
 */
import { createHash } from 'node:crypto';
import { createReadStream } from 'node:fs';
import { readdir, readFile, stat, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { OutsideFailure } from '../failure.ts';

const FORMAT = 'steerworthy-run';
const VERSION = 1;
export const SEAL_FILE = 'run.json';

export type Seal = {
	readonly format: typeof FORMAT;
	readonly version: typeof VERSION;
	readonly runId: string;
	readonly startedAt: string;
	readonly subject: string;
	readonly rig: string;
	readonly profile: string;
	/** As the report says it; kept here so that a list of runs need not open every result. */
	readonly headline: string;
	readonly files: Readonly<Record<string, string>>;
};
export type SealedFacts = Pick<Seal, 'runId' | 'startedAt' | 'subject' | 'rig' | 'profile' | 'headline'>;

/** Hashes every file of the folder but the seal itself and writes the seal. */
export async function sealFolder(folder: string, facts: SealedFacts): Promise<Seal> {
	const seal: Seal = { format: FORMAT, version: VERSION, ...facts, files: await hashFiles(folder) };
	await writeFile(join(folder, SEAL_FILE), `${JSON.stringify(seal, null, '\t')}\n`);
	return seal;
}

/** The folder's seal, null when there is none. Throws `OutsideFailure` `sealUnreadable` or `sealNewer`. */
export async function readSeal(folder: string): Promise<Seal | null> {
	const path = join(folder, SEAL_FILE);
	const text = await readFile(path, 'utf8').catch(() => null);
	if (text === null) return null;
	const seal = parseSeal(text, path);
	if (seal.version > VERSION)
		throw new OutsideFailure(
			'sealNewer',
			`${path} is of version ${seal.version}; this program knows versions up to ${VERSION}.`,
			'Use a newer steerworthy to read this run.',
		);
	return seal;
}

function parseSeal(text: string, path: string): Seal {
	try {
		const seal = JSON.parse(text) as Partial<Seal>;
		if (seal.format === FORMAT && typeof seal.version === 'number' && typeof seal.files === 'object')
			return seal as Seal;
	} catch {
		// Falls through to the same sentence: not JSON and not ours come to the same for the reader.
	}
	throw new OutsideFailure(
		'sealUnreadable',
		`${path} is not a steerworthy run's seal.`,
		'Judge the folder again with --rewrite to seal it anew; the observations are not touched.',
	);
}

/** Names of files that differ from what the seal says, or are missing. */
export async function brokenFiles(folder: string, seal: Seal): Promise<string[]> {
	const now = await hashFiles(folder);
	return Object.entries(seal.files)
		.filter(([name, hash]) => now[name] !== hash)
		.map(([name]) => (now[name] === undefined ? `${name} (missing)` : `${name} (changed)`));
}

/** SHA-256 of every file in the folder but its seal, by name. */
export async function hashFiles(folder: string): Promise<Record<string, string>> {
	const hashes: Record<string, string> = {};
	for (const name of (await readdir(folder)).sort()) {
		const path = join(folder, name);
		if (name !== SEAL_FILE && (await stat(path)).isFile()) hashes[name] = await hashFile(path);
	}
	return hashes;
}

async function hashFile(path: string): Promise<string> {
	const hash = createHash('sha256');
	for await (const chunk of createReadStream(path)) hash.update(chunk as Buffer);
	return hash.digest('hex');
}

/**
 * The register on disk, a plain folder beside the runs:
 *
 *     reports/register/kits/KEY.json  places/KEY.json  sessions/KEY.json  runs/RUN-ID.json
 *
 * Nothing else is needed: the index of runs (runIndex.ts) is made again from the folders. A file that cannot be read is
 * named and left out; the rest stands.
 */
import { readdir } from 'node:fs/promises';
import { join } from 'node:path';
import { OutsideFailure } from '../failure.ts';
import { type DocumentKind, readDocument, writeDocument } from './documentFile.ts';
import {
	type Entry,
	entryKind,
	type Kit,
	keySchema,
	kitKind,
	type Place,
	placeKind,
	type Session,
	sessionKind,
} from './records.ts';

export const REGISTER_FOLDER = 'register';
/** By-hand sheets that were filled in on the console. */
export const SHEETS_FOLDER = `${REGISTER_FOLDER}/sheets`;

export type Register = {
	readonly kits: ReadonlyMap<string, Kit>;
	readonly places: ReadonlyMap<string, Place>;
	readonly sessions: ReadonlyMap<string, Session>;
	/** By run id. */
	readonly entries: ReadonlyMap<string, Entry>;
	/** Files that could not be read, each in one sentence. */
	readonly troubles: readonly string[];
};

export async function readRegister(root: string): Promise<Register> {
	const troubles: string[] = [];
	const [kits, places, sessions, entries] = await Promise.all([
		readAll(root, 'kits', kitKind, troubles),
		readAll(root, 'places', placeKind, troubles),
		readAll(root, 'sessions', sessionKind, troubles),
		readAll(root, 'runs', entryKind, troubles),
	]);
	const by = <T extends { readonly key: string }>(list: readonly T[]): Map<string, T> =>
		new Map(list.map((item) => [item.key, item]));
	return {
		kits: by(kits),
		places: by(places),
		sessions: by(sessions),
		entries: new Map(entries.map((entry) => [entry.runId, entry])),
		troubles,
	};
}

export function writeKit(root: string, kit: Kit): Promise<void> {
	return writeDocument(fileOf(root, 'kits', kit.key), kit);
}
export function writePlace(root: string, place: Place): Promise<void> {
	return writeDocument(fileOf(root, 'places', place.key), place);
}
export function writeSession(root: string, session: Session): Promise<void> {
	return writeDocument(fileOf(root, 'sessions', session.key), session);
}
export function writeEntry(root: string, entry: Entry): Promise<void> {
	return writeDocument(fileOf(root, 'runs', entry.runId), entry);
}

/** The kit of that key; throws `OutsideFailure` `kitUnknown`. */
export function kitOf(register: Register, key: string): Kit {
	const kit = register.kits.get(key);
	if (kit !== undefined) return kit;
	const known = [...register.kits.keys()].join(', ');
	throw new OutsideFailure(
		'kitUnknown',
		`The register holds no kit called ${key}.`,
		known === ''
			? 'Add it with: steerworthy kits set'
			: `It holds ${known}; add another with: steerworthy kits set`,
	);
}

function fileOf(root: string, shelf: string, key: string): string {
	if (!keySchema.safeParse(key).success) throw new RangeError(`"${key}" cannot name a file of the register`);
	return join(root, REGISTER_FOLDER, shelf, `${key}.json`);
}

async function readAll<T>(
	root: string,
	shelf: string,
	kind: DocumentKind<T>,
	troubles: string[],
): Promise<T[]> {
	const folder = join(root, REGISTER_FOLDER, shelf);
	const names = (await readdir(folder).catch(() => [])).filter((name) => name.endsWith('.json')).sort();
	return names.flatMap((name) => {
		try {
			return [readDocument(join(folder, name), kind)];
		} catch (failure) {
			if (!(failure instanceof OutsideFailure)) throw failure;
			troubles.push(failure.message);
			return [];
		}
	});
}

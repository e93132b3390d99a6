/** Finished runs entered as one session of a kit: everything between two times of power off. For command and page alike. */
import { existsSync } from 'node:fs';
import { join, relative, resolve, sep } from 'node:path';
import { OutsideFailure } from '../failure.ts';
import { type SealPrint, sealPrint } from './integrity.ts';
import { type Entry, keySchema } from './records.ts';
import { kitOf, type Register, readRegister, writeEntry, writeSession } from './registerFolder.ts';

type Entering = {
	readonly root: string;
	/** Key of the kit. */
	readonly kit: string;
	/** Names within the root, or paths of folders in it. */
	readonly runs: readonly string[];
	readonly session: string;
	/** Undefined: as the session has it already, or none. */
	readonly place?: string;
	readonly setting?: string;
	readonly poweredOff?: boolean;
	readonly by?: string;
	readonly notes?: string;
};

/**
 * Throws `OutsideFailure` `kitUnknown`, `notSealed`, or `cannotEnter` when the session is another kit's, the place is not
 * known, or a run goes by the name of one that was entered before.
 */
export async function enterRuns(asked: Entering): Promise<void> {
	const { root, kit, session } = asked;
	const register = await readRegister(root);
	kitOf(register, kit);
	checkSession(asked, register);
	const prints = await Promise.all(asked.runs.map((run) => sealPrint(folderOf(run, root))));
	for (const print of prints) refuseOther(register.entries.get(print.runId), print, kit);
	const before = register.sessions.get(session);
	const enteredAt = new Date().toISOString();
	await writeSession(root, {
		format: 'steerworthy-session',
		version: 1,
		key: session,
		kit,
		place: asked.place ?? before?.place ?? null,
		setting: asked.setting ?? before?.setting ?? null,
		poweredOffBefore: asked.poweredOff ?? before?.poweredOffBefore ?? false,
		by: asked.by ?? before?.by ?? '',
		notes: asked.notes ?? before?.notes ?? '',
		changedAt: enteredAt,
	});
	for (const print of prints)
		await writeEntry(root, { format: 'steerworthy-entry', version: 1, ...print, kit, session, enteredAt });
}

function checkSession({ kit, session, place }: Entering, register: Register): void {
	if (!keySchema.safeParse(session).success)
		throw cannotEnter(
			`"${session}" cannot name a session`,
			'Use letters, digits, dots, dashes and underlines, 80 at most.',
		);
	const before = register.sessions.get(session);
	if (before !== undefined && before.kit !== kit)
		throw cannotEnter(`session ${session} is one of ${before.kit}`, 'Choose another name for the session.');
	if (place !== undefined && !register.places.has(place))
		throw cannotEnter(`no place is called ${place}`, 'Add it with: steerworthy kits place');
}

/** By its name within the register, or by the path that `runs` prints; it must lie in the register's folder either way. */
function folderOf(named: string, root: string): string {
	const within = join(root, named);
	if (!named.includes('..') && existsSync(within)) return within;
	const name = relative(resolve(root), resolve(named));
	if (name === '' || name.startsWith('..') || name.includes(sep))
		throw cannotEnter(`${named} is no run in ${root}`, 'Give its name, or the path that `runs` prints.');
	return join(root, name);
}

/** A run is entered once for good: the same observations may be sealed anew, others under its name are another run. */
function refuseOther(
	before: Entry | undefined,
	print: SealPrint & { readonly runId: string },
	kit: string,
): void {
	if (before === undefined) return;
	if (before.observationsSha256 !== print.observationsSha256)
		throw cannotEnter(
			`run ${print.runId} was entered before with other observations`,
			'It is not that run any more: restore its files, or make a new run.',
		);
	if (before.kit !== kit)
		throw cannotEnter(`run ${print.runId} is entered as one of ${before.kit}`, 'Enter it for that kit.');
}

function cannotEnter(what: string, advice: string): OutsideFailure {
	return new OutsideFailure('cannotEnter', `Nothing was entered: ${what}.`, advice);
}

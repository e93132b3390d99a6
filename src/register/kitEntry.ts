/** A kit or a place added to the register or changed, and its reference named. For command and page alike. */
import { OutsideFailure } from '../failure.ts';
import type { Kit } from './records.ts';
import { kitOf, readRegister, writeKit, writePlace } from './registerFolder.ts';

type KitChange = Partial<
	Pick<Kit, 'name' | 'serialNumbers' | 'firmware' | 'appVersion' | 'tabletVersion' | 'parts' | 'notes'>
>;

/**
 * Writes the kit of that key, new where there is none; what the change does not name stays as it was. `change` is given
 * the kit as it stands. Throws `RangeError` for a key that cannot name a file.
 */
export async function setKit(root: string, key: string, change: (before: Kit) => KitChange): Promise<void> {
	const { kits } = await readRegister(root);
	const before = kits.get(key) ?? emptyKit(key);
	await writeKit(root, { ...before, ...change(before), changedAt: new Date().toISOString() });
}

function emptyKit(key: string): Kit {
	const unsaid = { firmware: '', appVersion: '', tabletVersion: '', notes: '' };
	return {
		format: 'steerworthy-kit',
		version: 1,
		key,
		name: key,
		serialNumbers: {},
		...unsaid,
		parts: [],
		referenceRuns: [],
		changedAt: '',
	};
}

/** What carries it and the number, from "scope=A123"; null for what is not written so. */
export function serialPair(text: string): readonly [what: string, number: string] | null {
	const [what = '', number = ''] = text.split(/=(.*)/s).map((word) => word.trim());
	return what === '' || number === '' ? null : [what, number];
}

/**
 * Which runs stand for the kit as it should be; none: it has no reference any more. Throws `OutsideFailure` `kitUnknown`, or
 * `cannotEnter` for a run that is not entered as one of this kit.
 */
export async function setReference(root: string, key: string, runIds: readonly string[]): Promise<void> {
	const register = await readRegister(root);
	const kit = kitOf(register, key);
	const stranger = runIds.find((id) => register.entries.get(id)?.kit !== key);
	if (stranger !== undefined)
		throw new OutsideFailure(
			'cannotEnter',
			`Run ${stranger} is not entered as one of ${key}.`,
			'Enter it first: kits enter, or the page Runs and kits.',
		);
	await writeKit(root, { ...kit, referenceRuns: [...runIds], changedAt: new Date().toISOString() });
}

/** Throws `RangeError` for a key that cannot name a file. */
export async function setPlace(
	root: string,
	{ key, name, notes }: { readonly key: string; readonly name: string; readonly notes: string },
): Promise<void> {
	const changedAt = new Date().toISOString();
	await writePlace(root, { format: 'steerworthy-place', version: 1, key, name, notes, changedAt });
}

/**
 * A kit's own reference, where the register names one and none was given: named among the warnings of the run, with what to add.
 * Never taken by itself: whether a run is set beside another is the person's choice.
 */
import type { Command } from 'commander';
import { OutsideFailure } from '../failure.ts';
import type { ObservationRecord } from '../observations/records.ts';
import type { Kit } from '../register/records.ts';
import { kitOf, readRegister } from '../register/registerFolder.ts';
import { type ReferenceAsked, requireReference } from './referenceRun.ts';

type Event = Extract<ObservationRecord, { kind: 'event' }>;

export function addKitOption(command: Command): Command {
	return command.option(
		'--kit <name>',
		'the kit, as the register knows it: names its own reference run where --reference is left out',
	);
}

/** Throws `OutsideFailure` `kitUnknown`. */
export async function registeredKit(named: string | undefined, root: string): Promise<Kit | null> {
	if (named === undefined) return null;
	const register = await readRegister(root);
	return kitNamed([...register.kits.values()], named) ?? kitOf(register, named);
}

/** By key or by name, whatever the letters' case; null where there is none such. */
export function kitNamed(kits: readonly Kit[], named: string): Kit | null {
	const asked = named.trim().toLowerCase();
	return (
		kits.find(({ key, name }) => [key, name].some((each) => each.trim().toLowerCase() === asked)) ?? null
	);
}

/** None where a reference was given, or where the kit has none of this rig and card. */
export async function offeredReference(
	kit: Kit | null,
	given: string | undefined,
	asked: ReferenceAsked,
): Promise<Event[]> {
	if (kit === null || given !== undefined) return [];
	const fitting: string[] = [];
	for (const runId of kit.referenceRuns) if (await fits(runId, asked)) fitting.push(runId);
	const last = fitting.at(-1);
	if (last === undefined) return [];
	const others = fitting.length === 1 ? '' : ` (and ${fitting.length - 1} more)`;
	return [
		{
			...{ kind: 'event', segment: 0, atMs: 0, code: 'kitReference', frameNumber: null },
			detail: `${kit.name} has a reference in the register, ${last}${others}, and this run was not set beside it.|Add --reference ${last}: colour and fine detail through a lens are told against it only.`,
		},
	];
}

async function fits(runId: string, asked: ReferenceAsked): Promise<boolean> {
	try {
		await requireReference(runId, asked);
		return true;
	} catch (failure) {
		// Gone, or of another rig or card: no reference for this run, and none is asked for.
		if (failure instanceof OutsideFailure) return false;
		throw failure;
	}
}

/** Before the run's end, so that the file still ends with it. */
export function withEvents(
	records: readonly ObservationRecord[],
	events: readonly Event[],
): readonly ObservationRecord[] {
	return events.length === 0 ? records : [...records.slice(0, -1), ...events, ...records.slice(-1)];
}

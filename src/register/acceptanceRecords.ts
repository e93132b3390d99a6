/** The record of an acceptance put together from the register, for command and page alike; and what follows from its signing. */
import type { AcceptanceForm } from '../verdict/acceptanceForm.ts';
import type { AcceptanceRecord } from '../verdict/acceptanceRecord.ts';
import { gatherAcceptance } from './gatherAcceptance.ts';
import type { Kit } from './records.ts';
import { kitOf, readRegister, writeKit } from './registerFolder.ts';
import { readRunIndex } from './runIndex.ts';

type Accepting = {
	readonly root: string;
	/** Key of the kit. */
	readonly kit: string;
	/** With a day of return. */
	readonly form: AcceptanceForm;
	/** Null: any rig. */
	readonly rig: string | null;
	readonly toolVersion: string;
};

/** A draft: not signed. Throws `OutsideFailure` `kitUnknown` or `notComparable`. */
export async function acceptanceRecord({ root, form, ...asked }: Accepting): Promise<AcceptanceRecord> {
	const [rows, register] = await Promise.all([readRunIndex(root, { afresh: true }), readRegister(root)]);
	const kit = kitOf(register, asked.kit);
	const gathered = await gatherAcceptance({ root, rows, register, kit, form, rig: asked.rig });
	return {
		format: 'steerworthy-acceptance',
		version: 1,
		toolVersion: asked.toolVersion,
		kit: kit.key,
		form,
		...gathered,
		signedAt: null,
	};
}

/** What the register holds of the kit, for a blank form: nobody types it again. */
export function knownOf(kit: Kit): Partial<AcceptanceForm> {
	const serials = Object.entries(kit.serialNumbers).map(([what, number]) => `${what} ${number}`);
	return {
		serialBefore: serials.join(', '),
		firmware: kit.firmware,
		appVersion: kit.appVersion,
		tabletVersion: kit.tabletVersion,
	};
}

/** A first acceptance by limits alone, released: its runs are the reference from now on. Any other changes nothing. */
export async function becomeReference(record: AcceptanceRecord, root: string): Promise<void> {
	const { kit, attempts, acceptance, form, signedAt } = record;
	const isFirst = acceptance.against === 'limitsOnly' && acceptance.outcome === 'acceptable';
	if (!isFirst || form.decision !== 'released' || signedAt === null) return;
	const known = kitOf(await readRegister(root), kit);
	const counted = attempts.filter((attempt) => attempt.counted).map(({ runId }) => runId);
	// Those of another rig stay.
	const referenceRuns = [...new Set([...known.referenceRuns, ...counted])];
	await writeKit(root, { ...known, referenceRuns, changedAt: new Date().toISOString() });
}

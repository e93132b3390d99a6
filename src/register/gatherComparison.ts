/**
 * A comparison from the register, for command and page alike: arms by sessions, every file as it was sealed, nothing mixed that
 * could not be told apart, and whatever was not counted named.
 */
import { join } from 'node:path';
import { OutsideFailure } from '../failure.ts';
import { comparability } from '../verdict/comparable.ts';
import { buildComparison, type ComparisonDocument } from '../verdict/comparisonDocument.ts';
import type { HandSheet } from '../verdict/handSheet.ts';
import { type ArmKind, gatherArms } from './arms.ts';
import { lostEntries, runFaults } from './integrity.ts';
import { kitOf, type Register, readRegister } from './registerFolder.ts';
import { readRunIndex } from './runIndex.ts';
import type { RunRow } from './runRow.ts';
import { type RunFilter, searchRuns } from './searchRuns.ts';

export type Comparing = {
	readonly root: string;
	readonly by: ArmKind;
	/** Two to eight kits, or places or settings of the kit in the filter. */
	readonly names: readonly string[];
	readonly filter: RunFilter;
	readonly sheets: readonly HandSheet[];
	readonly toolVersion: string;
};

/** Throws `OutsideFailure` `kitUnknown`, `kitNotSaid` or `notComparable`; `RangeError` for too few names, too many, or one twice. */
export async function gatherComparison(asked: Comparing): Promise<ComparisonDocument> {
	const { root, by, names } = asked;
	if (new Set(names).size !== names.length) throw new RangeError('a name is given twice');
	if (names.length < 2 || names.length > 8)
		throw new RangeError(`two to eight are compared, got ${names.length}`);
	const [rows, register] = await Promise.all([readRunIndex(root, { afresh: true }), readRegister(root)]);
	checkNames(asked, register);
	const gathered = gatherArms(searchRuns(rows, register, asked.filter), register, { by, names });
	const { arms, runs } = gathered;
	await checkFiles(runs, root, register);
	if (gathered.confounded.length > 0)
		throw notComparable(gathered.confounded.join(' '), 'Choose one place and one setting.');
	const { refusals, figures, leftOut } = comparability(runs, { betweenKits: by === 'kit' });
	if (refusals.length > 0)
		throw notComparable(refusals.join(' '), 'Choose one rig, or run the missing sessions.');
	return buildComparison({
		toolVersion: asked.toolVersion,
		by,
		subject: unique(runs.map((run) => `${run.rig}, ${run.subjectKind}, ${run.measuringPoints}`)).join(),
		arms,
		figures,
		invented: runs.some(({ invented }) => invented),
		criteria: unique(runs.map(({ criteria }) => criteria)),
		leftOut: [...gathered.leftOut, ...lostOf(asked, rows, register), ...register.troubles, ...leftOut],
		sheets: asked.sheets,
	});
}

async function checkFiles(
	runs: readonly { readonly runId: string; readonly folder: string }[],
	root: string,
	register: Register,
): Promise<void> {
	for (const { runId, folder } of runs) {
		const [fault] = await runFaults(join(root, folder), register.entries.get(runId) ?? null);
		if (fault !== undefined)
			throw notComparable(
				fault,
				'If you judged it anew yourself, enter it again with kits enter; otherwise restore its files.',
			);
	}
}

/** Runs of these kits that were entered and are gone: whoever reads the comparison must know of them. */
function lostOf({ by, names, filter }: Comparing, rows: readonly RunRow[], register: Register): string[] {
	const kits = by === 'kit' ? names : [filter.kit];
	return lostEntries(rows, register)
		.filter(({ entry }) => kits.includes(entry.kit))
		.map(({ why }) => why);
}

function checkNames({ by, names, filter: { kit } }: Comparing, register: Register): void {
	if (by === 'kit') for (const name of names) kitOf(register, name);
	else if (kit !== undefined) kitOf(register, kit);
	else
		throw new OutsideFailure(
			'kitNotSaid',
			`Whose ${by}s are to be compared was not said.`,
			'Name the kit with --kit.',
		);
}

function unique(words: readonly string[]): string[] {
	return [...new Set(words)].sort();
}

function notComparable(what: string, advice: string): OutsideFailure {
	return new OutsideFailure('notComparable', `These are not compared. ${what}`, advice);
}

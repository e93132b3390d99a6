/**
 * A reference run laid into the folder of the run that is set beside it: what it saw of the card, without its single pictures' times, so that
 * the run can be judged again when the reference is no longer there. Kits' references are run folders like any other.
 */
import { createReadStream } from 'node:fs';
import { stat } from 'node:fs/promises';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import type { Command } from 'commander';
import { OutsideFailure } from '../failure.ts';
import type { Header } from '../observations/records.ts';
import type { CardSpec } from '../pattern/card.ts';
import { OBSERVATIONS_FILE, REFERENCE_FILE, readRunFolder, writeRunFile } from '../register/runFolder.ts';

/** Kinds of records that say when pictures came: thousands of rows that no ratio of the picture needs. */
const LEFT_OUT = /^\{"kind":"(presentations|harness|probes|streamCounts|ageSamples)"/;

export function addReferenceOption(command: Command): Command {
	return command.option(
		'--reference <run>',
		'a kept run of the same card to set every measure of the picture beside: the kit’s own, or a reference system’s',
	);
}

/** The folder of a run named by path, or by name within `root`; null where there is none such. */
export async function findReference(named: string, root: string): Promise<string | null> {
	for (const folder of [named, join(root, named)]) {
		const found = await stat(join(folder, OBSERVATIONS_FILE)).catch(() => null);
		if (found?.isFile() === true) return folder;
	}
	return null;
}

/** `card`: of runs that show a card of the bench's own pixels, in which their figures are counted. */
export type ReferenceAsked = {
	readonly root: string;
	readonly rig: Header['rig'];
	readonly layout: string;
	readonly card?: Pick<CardSpec, 'size' | 'difficulty'>;
};

/** Throws `OutsideFailure`: `noRun`, or `notComparable` where the reference is of another rig or shows another card. */
export async function requireReference(
	named: string | undefined,
	{ root, ...asked }: ReferenceAsked,
): Promise<string | null> {
	if (named === undefined) return null;
	const folder = await findReference(named, root);
	if (folder === null)
		throw new OutsideFailure(
			'noRun',
			`There is no run ${named}, neither there nor in ${root}.`,
			'Give the folder of a kept run; `steerworthy runs` lists them.',
		);
	const { header } = await readRunFolder(folder);
	const difference = differenceOf(header, asked);
	if (difference !== null)
		throw new OutsideFailure(
			'notComparable',
			`The reference ${header.runId} ${difference}.`,
			'Set runs of one kind and of the same card beside each other, best of the very same sheet.',
		);
	return folder;
}

/** What a ratio of the two would be made of instead of the picture; null where nothing is. */
function differenceOf({ rig, source }: Header, asked: Omit<ReferenceAsked, 'root'>): string | null {
	if (rig !== asked.rig) return `is a ${rig} run, this a ${asked.rig} run`;
	if (source.layout !== asked.layout)
		return `shows the ${source.layout} card, this run the ${asked.layout} card`;
	if (asked.card === undefined) return null;
	const size = `${source.widthPx}x${source.heightPx}`;
	if (size !== asked.card.size) return `shows the card at ${size} pixels, this run at ${asked.card.size}`;
	if (source.difficulty !== asked.card.difficulty)
		return `has the moving part “${source.difficulty}”, this run “${asked.card.difficulty}”`;
	return null;
}

/** Copies what the reference saw into the run's folder, before it is judged. */
export async function layReference(folder: string, reference: string | null): Promise<void> {
	if (reference === null) return;
	const kept: string[] = [];
	const lines = createInterface({
		input: createReadStream(join(reference, OBSERVATIONS_FILE)),
		crlfDelay: Number.POSITIVE_INFINITY,
	});
	for await (const line of lines) if (line.trim() !== '' && !LEFT_OUT.test(line)) kept.push(`${line}\n`);
	await writeRunFile(folder, REFERENCE_FILE, kept);
}

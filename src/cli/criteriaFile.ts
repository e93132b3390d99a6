/** The criteria a run is judged by: one of the built-in sets by its name, or a file's. */
import { readFile } from 'node:fs/promises';
import { OutsideFailure } from '../failure.ts';
import { type Criteria, standardCriteria } from '../verdict/criteria.ts';
import { parseCriteria } from '../verdict/parseCriteria.ts';
import { presets } from '../verdict/presets.ts';

/** Throws `OutsideFailure` `criteriaFileMissing`, or what `parseCriteria` says of the file. */
export async function readCriteria(path: string | undefined): Promise<Criteria> {
	if (path === undefined) return standardCriteria;
	const preset = presets.get(path);
	if (preset !== undefined) return preset.criteria;
	const text = await readFile(path, 'utf8').catch((cause) => {
		throw new OutsideFailure(
			'criteriaFileMissing',
			`The criteria file ${path} could not be read.`,
			`Check the path, or use one of ${[...presets.keys()].join(', ')}.`,
			{ cause },
		);
	});
	return parseCriteria(text, path);
}

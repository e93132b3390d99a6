/** The criteria a run is judged by: the built-in ones, or a file's. */
import { readFile } from 'node:fs/promises';
import { OutsideFailure } from '../failure.ts';
import { type Criteria, standardCriteria } from '../verdict/criteria.ts';
import { parseCriteria } from '../verdict/parseCriteria.ts';

/** Throws `OutsideFailure` `criteriaFileMissing`, or what `parseCriteria` says of the file. */
export async function readCriteria(path: string | undefined): Promise<Criteria> {
	if (path === undefined) return standardCriteria;
	const text = await readFile(path, 'utf8').catch((cause) => {
		throw new OutsideFailure(
			'criteriaFileMissing',
			`The criteria file ${path} could not be read.`,
			'Check the path; leave --criteria out to use the standard ones.',
			{ cause },
		);
	});
	return parseCriteria(text, path);
}

/** A kept run judged anew, for command and page alike: what is said of its files, and whether the answer is the kept one. */
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { RESULT_FILE } from '../register/runFolder.ts';
import { resultKind } from '../register/runRow.ts';
import { brokenFiles, readSeal } from '../register/seal.ts';
import { renderJson } from '../report/json.ts';
import { refuseNewer } from '../verdict/fileVersion.ts';
import type { ResultDocument } from '../verdict/resultDocument.ts';
import { type Conclusion, judgeFolder } from './conclude.ts';
import { readCriteria } from './criteriaFile.ts';

/**
 * Writes nothing. `criteria`: a built-in set by its name, or a file; undefined: the standard. Throws `OutsideFailure` what reading the
 * run or the criteria says, and `fileNewer` where the kept result is a later program's, which must not be written over.
 */
export async function judgeAgain(
	folder: string,
	criteria: string | undefined,
): Promise<Conclusion & { readonly notes: readonly string[] }> {
	const kept = await readKept(folder);
	const conclusion = await judgeFolder(folder, await readCriteria(criteria));
	return { ...conclusion, notes: [...(await sealNotes(folder)), ...sameAsKept(kept, conclusion.result)] };
}

type Kept = { readonly text: string; readonly document: Partial<ResultDocument> | null };

/** Null: there is none. Without a document: it is torn, or no result. */
async function readKept(folder: string): Promise<Kept | null> {
	const path = join(folder, RESULT_FILE);
	const text = await readFile(path, 'utf8').catch(() => null);
	if (text === null) return null;
	const value = parsed(text);
	refuseNewer(value, { fileName: path, format: resultKind.format, version: resultKind.version });
	return { text, document: isResult(value) ? value : null };
}

function parsed(text: string): unknown {
	try {
		return JSON.parse(text);
	} catch {
		return null;
	}
}

function isResult(value: unknown): value is Partial<ResultDocument> {
	return typeof value === 'object' && value !== null && Reflect.get(value, 'format') === resultKind.format;
}

export const AS_SEALED = 'Every file is as it was when the run was sealed.';

export async function sealNotes(folder: string): Promise<string[]> {
	const seal = await readSeal(folder);
	if (seal === null) return ['This folder was never sealed: the run was broken off before its end.'];
	const broken = await brokenFiles(folder, seal);
	return broken.length === 0
		? [AS_SEALED]
		: [`Not as they were when the run was sealed: ${broken.join(', ')}.`];
}

/** Says whether the figures are those of the kept result; they must be, for the same criteria and version. */
function sameAsKept(kept: Kept | null, result: ResultDocument): string[] {
	if (kept === null) return [];
	if (kept.text === renderJson(result)) return ['The result is the kept one, to the last digit.'];
	if (kept.document === null) return ['The kept result is torn, or is none.'];
	const { criteriaSet, toolVersion } = kept.document;
	if (criteriaSet?.hash !== result.criteriaSet.hash)
		return ['Judged by other criteria than the kept result.'];
	return toolVersion === result.toolVersion
		? ['The figures differ from the kept result: observations or result were changed.']
		: [`The kept result was made by version ${toolVersion}, this one by ${result.toolVersion}.`];
}

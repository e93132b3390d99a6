/** `judge FOLDER`: makes a kept run's result again from its observations, by the standard or by other criteria. */
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import type { Command } from 'commander';
import { RESULT_FILE } from '../register/runFolder.ts';
import { brokenFiles, readSeal } from '../register/seal.ts';
import { renderJson } from '../report/json.ts';
import type { ResultDocument } from '../verdict/resultDocument.ts';
import { addAnswerOptions, answerRequired, checkRequired } from './answerOptions.ts';
import { judgeFolder, writeConclusion, writeTables } from './conclude.ts';
import { readCriteria } from './criteriaFile.ts';
import { exitCodeFor, type Required } from './exitCodes.ts';
import { printResult } from './printResult.ts';

type JudgeOptions = {
	readonly criteria?: string;
	readonly json?: boolean;
	readonly full?: boolean;
	readonly require?: Required;
	readonly csv?: boolean;
	readonly rewrite?: boolean;
};

export function addJudgeCommand(program: Command): void {
	const command = program
		.command('judge')
		.description('make the result of a kept run again from its observations')
		.argument('<folder>', 'folder of the run')
		.option('--rewrite', 'write result and report anew and seal the folder again')
		.option('--csv', 'write figures.csv and frames.csv into the folder');
	addAnswerOptions(command).action(async (folder: string, options: JudgeOptions) => {
		process.exitCode = await judge(folder, options);
	});
}

async function judge(folder: string, options: JudgeOptions): Promise<number> {
	const conclusion = await judgeFolder(folder, await readCriteria(options.criteria));
	const { result } = conclusion;
	checkRequired(options.require, result);
	const notes = [...(await sealNotes(folder)), ...(await sameAsKept(folder, result))];
	if (options.csv === true)
		notes.push(`Tables written: ${(await writeTables(folder, conclusion)).join(', ')}.`);
	if (options.rewrite === true) {
		await writeConclusion(folder, conclusion);
		notes.push('Result and report written anew, folder sealed.');
	}
	printResult(result, { json: options.json === true, full: options.full === true, folder, notes });
	return exitCodeFor(answerRequired(options.require, result));
}

async function sealNotes(folder: string): Promise<string[]> {
	const seal = await readSeal(folder);
	if (seal === null) return ['This folder was never sealed: the run was broken off before its end.'];
	const broken = await brokenFiles(folder, seal);
	return broken.length === 0
		? ['Every file is as it was when the run was sealed.']
		: [`Not as they were when the run was sealed: ${broken.join(', ')}.`];
}

/** Says whether the figures are those of the kept result; they must be, for the same criteria and version. */
async function sameAsKept(folder: string, result: ResultDocument): Promise<string[]> {
	const kept = await readFile(join(folder, RESULT_FILE), 'utf8').catch(() => null);
	if (kept === null) return [];
	if (kept === renderJson(result)) return ['The result is the kept one, to the last digit.'];
	const { criteriaSet, toolVersion } = JSON.parse(kept) as Partial<ResultDocument>;
	if (criteriaSet?.hash !== result.criteriaSet.hash)
		return ['Judged by other criteria than the kept result.'];
	return toolVersion === result.toolVersion
		? ['The figures differ from the kept result: observations or result were changed.']
		: [`The kept result was made by version ${toolVersion}, this one by ${result.toolVersion}.`];
}

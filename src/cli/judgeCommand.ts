/** `judge FOLDER`: makes a kept run's result again from its observations, by the standard or by other criteria. */
import type { Command } from 'commander';
import { addAnswerOptions, answerRequired, checkRequired } from './answerOptions.ts';
import { writeConclusion, writeTables } from './conclude.ts';
import { exitCodeFor, type Required } from './exitCodes.ts';
import { judgeAgain } from './judgeAgain.ts';
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
	const conclusion = await judgeAgain(folder, options.criteria);
	const { result } = conclusion;
	checkRequired(options.require, result);
	const notes = [...conclusion.notes];
	if (options.csv === true)
		notes.push(`Tables written: ${(await writeTables(folder, conclusion)).join(', ')}.`);
	if (options.rewrite === true) {
		await writeConclusion(folder, conclusion);
		notes.push('Result and report written anew, folder sealed.');
	}
	printResult(result, { json: options.json === true, full: options.full === true, folder, notes });
	return exitCodeFor(answerRequired(options.require, result));
}

/** The options that every command with an answer shares, and what is required of the answer. */
import { type Command, InvalidArgumentError } from 'commander';
import type { ResultDocument } from '../verdict/resultDocument.ts';
import type { Answer } from '../verdict/verdict.ts';
import type { Required } from './exitCodes.ts';
import { WrongUsage } from './wrongUsage.ts';

export function addAnswerOptions(command: Command): Command {
	return command
		.option('--criteria <name or file>', 'judge by strict, standard or gentle, or by this criteria file')
		.option('--full', 'print every line of the criteria, not only what decided')
		.option('--json', 'print the result document and nothing else on stdout')
		.option('--require <answer>', 'exit 0 only if this answer is yes: steering or recording', parseRequired);
}

function parseRequired(word: string): Required {
	if (word === 'steering' || word === 'recording') return word;
	throw new InvalidArgumentError('It is steering or recording.');
}

/** The answer that was required, or null when none was. */
export function answerRequired(required: Required | undefined, { verdict }: ResultDocument): Answer | null {
	if (required === undefined) return null;
	return required === 'steering' ? verdict.steer : verdict.record;
}

/** Requiring what this rig does not ask is wrong usage, not a "no". */
export function checkRequired(required: Required | undefined, result: ResultDocument): void {
	if (answerRequired(required, result) === 'notAsked')
		throw new WrongUsage(`a ${result.run.rig} run is not asked whether it is fit for ${required}`);
}

#!/usr/bin/env node
/** The command line: argv in, exit code out. Failures of the world are caught here and nowhere else. */
import { Command, CommanderError } from 'commander';
import { OutsideFailure } from '../failure.ts';
import { addAcceptCommand } from './acceptCommand.ts';
import { addCardCommand } from './cardCommand.ts';
import { addCompareCommand } from './compareCommand.ts';
import { addCriteriaCommand } from './criteriaCommand.ts';
import { EXIT } from './exitCodes.ts';
import { addHandCommand } from './handCommand.ts';
import { addHereCommand } from './hereCommand.ts';
import { addJudgeCommand } from './judgeCommand.ts';
import { addKitsCommand } from './kitsCommand.ts';
import { addLensCommand } from './lensCommand.ts';
import { addLinkCommand } from './linkCommand.ts';
import { addOpenCommand } from './openCommand.ts';
import { addOpticalCommand } from './opticalCommand.ts';
import { addPackCommand } from './packCommand.ts';
import { addRecordingCommand } from './recordingCommand.ts';
import { addRehearseCommand } from './rehearseCommand.ts';
import { addRunsCommand } from './runsCommand.ts';
import { addStillCommand } from './stillCommand.ts';
import { TOOL_VERSION } from './version.ts';
import { WrongUsage } from './wrongUsage.ts';
import { addYardCommand } from './yardCommand.ts';

const program = new Command('steerworthy')
	.description("Tells whether a portable endoscope's wireless picture may be steered by.")
	.version(TOOL_VERSION)
	.showHelpAfterError()
	.exitOverride()
	.configureHelp({ helpWidth: 80 });
for (const add of [
	addOpenCommand,
	addRehearseCommand,
	addLinkCommand,
	addYardCommand,
	addOpticalCommand,
	addRecordingCommand,
	addJudgeCommand,
	addHereCommand,
	addHandCommand,
	addRunsCommand,
	addKitsCommand,
	addCompareCommand,
	addAcceptCommand,
	addPackCommand,
	addCriteriaCommand,
	addCardCommand,
	addStillCommand,
	addLensCommand,
])
	add(program);

try {
	await program.parseAsync();
} catch (failure) {
	process.exitCode = report(failure);
}

function report(failure: unknown): number {
	if (failure instanceof CommanderError) return failure.exitCode === 0 ? EXIT.completed : EXIT.wrongUsage;
	if (failure instanceof WrongUsage) {
		process.stderr.write(`${failure.message}\nSee what is possible with: steerworthy help\n`);
		return EXIT.wrongUsage;
	}
	if (failure instanceof OutsideFailure) {
		process.stderr.write(`${failure.message}\n${failure.advice}\n(${failure.code})\n`);
		return EXIT.rigFailed;
	}
	// A mistake of our own: shown whole, and never with an exit code that could be taken for an answer.
	process.stderr.write(`${failure instanceof Error ? failure.stack : String(failure)}\n`);
	return EXIT.rigFailed;
}

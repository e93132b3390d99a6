/** `runs`: what is kept: list, filter, search; a figure over time; are the files what they were; two registers made one. */
import { join } from 'node:path';
import type { Command } from 'commander';
import { changedSince, knownTroubles } from '../register/checkRegister.ts';
import { lostEntries } from '../register/integrity.ts';
import { mergeRegisters } from '../register/mergeRegisters.ts';
import { readRegister } from '../register/registerFolder.ts';
import { readRunIndex } from '../register/runIndex.ts';
import { type FoundRun, type RunFilter, searchRuns } from '../register/searchRuns.ts';
import { figurePaths, trendOf } from '../register/trend.ts';
import { renderRunList, renderTrend } from '../report/registerText.ts';
import { EXIT } from './exitCodes.ts';
import { terminal } from './printResult.ts';
import { WrongUsage } from './wrongUsage.ts';

export const RUNS_FOLDER = 'reports';

type RunsOptions = RunFilter & {
	readonly in: string;
	readonly trend?: string;
	readonly check?: boolean;
	readonly merge?: string;
	readonly json?: boolean;
};

export function addRunsCommand(program: Command): void {
	program
		.command('runs')
		.description('list the runs that are kept, search them, follow a figure over time')
		.option('--in <folder>', 'folder of the runs', RUNS_FOLDER)
		.option('--search <words>', 'only runs in which all these words stand')
		.option('--kit <key>', 'only runs of this kit')
		.option('--place <key>', 'only runs at this place')
		.option('--session <key>', 'only runs of this session')
		.option('--rig <name>', 'only runs of this rig')
		.option('--profile <name>', 'only runs of this profile')
		.option('--fitness <answer>', 'only runs judged so: steering, recording, unfit, undetermined')
		.option('--since <date>', 'only runs from this day on, as 2026-03-01')
		.option('--until <date>', 'only runs up to this day')
		.option('--trend <figure>', 'one figure over time, as freshDelay.p95Ms, and where it changed')
		.option('--check', 'look whether every file is what it was')
		.option('--merge <folder>', 'copy into --in what another register has and this one has not')
		.option('--json', 'print one JSON document and nothing else')
		.action(async (options: RunsOptions) => {
			process.exitCode = await runs(options);
		});
}

async function runs(options: RunsOptions): Promise<number> {
	if (options.merge !== undefined) return merge(options.merge, options);
	const [rows, register] = await Promise.all([readRunIndex(options.in), readRegister(options.in)]);
	const found = searchRuns(rows, register, options);
	if (options.trend !== undefined) return trend(found, options.trend, options);
	const faults = options.check === true ? await changedSince(options.in, register, found) : [];
	const troubles = [...knownTroubles(rows, register, found), ...faults];
	if (options.json === true) print({ runs: found, troubles });
	else
		process.stdout.write(
			// The path as `judge` takes it, not the bare name.
			renderRunList(
				found.map((run) => ({ ...run, folder: join(options.in, run.folder) })),
				{
					...terminal(),
					troubles,
					checked: options.check === true,
					emptyWords: `No such runs are kept in ${options.in}. Make one with: steerworthy link`,
				},
			),
		);
	const missing = options.check === true && lostEntries(rows, register).length > 0;
	return faults.length > 0 || missing ? EXIT.answerNo : EXIT.completed;
}

function trend(found: readonly FoundRun[], path: string, options: RunsOptions): number {
	const line = trendOf(found, path);
	if (found.length > 0 && line.points.length === 0)
		throw new WrongUsage(
			`none of these runs has a figure called ${path}; there are: ${figurePaths(found).join(', ')}`,
		);
	if (options.json === true) print(line);
	else process.stdout.write(renderTrend(line, terminal()));
	return EXIT.completed;
}

async function merge(from: string, options: RunsOptions): Promise<number> {
	const merged = await mergeRegisters(from, options.in);
	if (options.json === true) print(merged);
	else {
		const { runsCopied, recordsTaken, conflicts } = merged;
		process.stdout.write(
			`${runsCopied.length} runs copied, ${recordsTaken} records of the register taken over.\n`,
		);
		for (const conflict of conflicts) process.stdout.write(`- ${conflict}\n`);
	}
	return merged.conflicts.length > 0 ? EXIT.answerNo : EXIT.completed;
}

function print(document: unknown): void {
	process.stdout.write(`${JSON.stringify(document, null, '\t')}\n`);
}

/** `runs`: what is kept, newest first. */
import type { Command } from 'commander';
import { type ListedRun, listRuns } from '../register/runList.ts';

export const RUNS_FOLDER = 'reports';

type RunsOptions = { readonly in: string; readonly json?: boolean };

export function addRunsCommand(program: Command): void {
	program
		.command('runs')
		.description('list the runs that are kept')
		.option('--in <folder>', 'folder of the runs', RUNS_FOLDER)
		.option('--json', 'print one JSON document and nothing else')
		.action(async (options: RunsOptions) => {
			const runs = await listRuns(options.in);
			if (options.json === true) process.stdout.write(`${JSON.stringify(runs, null, '\t')}\n`);
			else process.stdout.write(runs.length === 0 ? noRuns(options.in) : runs.map(describe).join('\n'));
		});
}

function noRuns(folder: string): string {
	return `No runs are kept in ${folder}. Make one with: steerworthy link\n`;
}

function describe({ folder, seal, trouble }: ListedRun): string {
	if (seal === null)
		return `${folder}\n  ${trouble ?? 'broken off before its end; see what it holds with: steerworthy judge'}\n`;
	const day = seal.startedAt.slice(0, 16).replace('T', ' ');
	return `${folder}\n  ${day}  ${seal.rig}, ${seal.profile}\n  ${seal.subject}\n  ${seal.headline}\n`;
}

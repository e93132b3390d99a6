/** `open`: the console in a browser on this laptop, where tablets are let in, runs started and answers read. `npm start` is this. */
import { spawn } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import type { Command } from 'commander';
import { openConsole } from '../console/console.ts';
import { FilmDesk } from '../console/filmDesk.ts';
import { filmRoutes } from '../console/filmRoutes.ts';
import { registerRoutes } from '../console/registerRoutes.ts';
import { standardCriteria } from '../verdict/criteria.ts';
import { between, wholeBelow } from './cardCommand.ts';
import { judgeFolder, renderReport, writeConclusion } from './conclude.ts';
import { readCriteria } from './criteriaFile.ts';
import { EXIT } from './exitCodes.ts';
import { judgeAgain } from './judgeAgain.ts';
import { kitHereOf } from './kitHere.ts';
import { newRunName } from './runName.ts';
import { RUNS_FOLDER } from './runsCommand.ts';
import { TOOL_VERSION } from './version.ts';
import { homeReading } from './yardCommand.ts';
import { readingOf } from './yardRun.ts';

type OpenOptions = {
	readonly https?: boolean;
	readonly port: number;
	readonly tabletPort: number;
	readonly out: string;
	readonly criteria?: string;
	readonly seconds?: number;
	readonly browser: boolean;
};

const PAGES_FOLDER = fileURLToPath(new URL('../pages', import.meta.url));

export function addOpenCommand(program: Command): void {
	program
		.command('open')
		.description('open the console in a browser: let a tablet in, start runs, read answers')
		.option('--https', 'offer https to the tablet first (its browser will warn once)')
		.option('--port <number>', 'port of the page on this laptop, 0 for any', wholeBelow(65_536), 8410)
		.option('--tablet-port <number>', 'port that tablets come to, 0 for any', wholeBelow(65_536), 8420)
		.option('--out <folder>', 'where runs are kept', RUNS_FOLDER)
		.option('--criteria <name or file>', 'judge by these criteria')
		.option('--seconds <number>', 'observed time, if other than the profile asks', between(5, 28_800))
		.option('--no-browser', 'print the address and open nothing')
		.action(async (options: OpenOptions) => {
			await open(options);
		});
}

async function open(options: OpenOptions): Promise<void> {
	const criteria = await readCriteria(options.criteria);
	const films = new FilmDesk({
		root: options.out,
		program: [process.execPath, ...process.execArgv, process.argv[1] ?? ''],
		criteria: options.criteria ?? null,
		newRunId: () => newRunName('optical'),
	});
	const console = await openConsole({
		port: options.port,
		doorPort: options.tabletPort,
		pagesFolder: PAGES_FOLDER,
		runsFolder: options.out,
		toolVersion: TOOL_VERSION,
		httpsPreferred: options.https === true,
		newRunId: () => newRunName('link'),
		conclude: async (folder) => {
			const conclusion = await judgeFolder(folder, criteria);
			await writeConclusion(folder, conclusion);
			return conclusion.result;
		},
		routes: [
			...filmRoutes(films),
			...registerRoutes({
				root: options.out,
				toolVersion: TOOL_VERSION,
				kitHere: (folders) => kitHereOf(folders, standardCriteria),
				judgeAgain: async (folder, by) => {
					const judged = await judgeAgain(folder, by);
					return {
						...judged,
						report: () => renderReport(folder, judged),
						write: () => writeConclusion(folder, judged),
					};
				},
			}),
		],
		yard: {
			newName: () => newRunName('yard'),
			conclude: async (folder) => {
				const conclusion = await judgeFolder(folder, standardCriteria);
				await writeConclusion(folder, conclusion);
				return { result: conclusion.result, reading: readingOf(conclusion) };
			},
			home: homeReading,
		},
		observedMs: options.seconds === undefined ? null : options.seconds * 1000,
	});
	process.stdout.write(`The console is open: ${console.url}\nCtrl-C closes it; a run that is on is kept.\n`);
	if (options.browser) showInBrowser(console.url);
	await new Promise<void>((resolve) => {
		process.once('SIGINT', resolve);
		process.once('SIGTERM', resolve);
	});
	await films.close();
	await console.close();
	process.exitCode = EXIT.completed;
}

/** By the system's own way; where there is none, the address stands in the terminal. */
function showInBrowser(url: string): void {
	const [program, ...words] =
		process.platform === 'win32'
			? ['cmd', '/c', 'start', '', url]
			: [process.platform === 'darwin' ? 'open' : 'xdg-open', url];
	const child = spawn(program ?? '', words, { stdio: 'ignore', detached: true });
	child.on('error', () => {});
	child.unref();
}

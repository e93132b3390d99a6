/** `compare`: two to eight kits, or one kit's places or settings, session by session; the plan before it; the by-hand sheet. */
import { readdir, readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { type Command, InvalidArgumentError, Option } from 'commander';
import { OutsideFailure } from '../failure.ts';
import type { ArmKind } from '../register/arms.ts';
import { gatherComparison } from '../register/gatherComparison.ts';
import { renderComparisonHtml, renderSheetHtml } from '../report/comparisonHtml.ts';
import { renderComparison, renderPlan } from '../report/comparisonText.ts';
import type { ComparisonDocument } from '../verdict/comparisonDocument.ts';
import { blankSheet, type HandSheet, parseSheet } from '../verdict/handSheet.ts';
import { HANDS_ON_MIN, RUN_MIN, sessionPlan, shortRounds, USUAL_ROUNDS } from '../verdict/sessionPlan.ts';
import { terminal } from './printResult.ts';
import { RUNS_FOLDER } from './runsCommand.ts';
import { TOOL_VERSION } from './version.ts';
import { WrongUsage } from './wrongUsage.ts';

type CompareOptions = {
	readonly in: string;
	readonly by: ArmKind;
	readonly kit?: string;
	readonly rig?: string;
	readonly place?: string;
	readonly setting?: string;
	readonly since?: string;
	readonly until?: string;
	readonly plan?: number | 'short' | true;
	readonly sheet?: string;
	readonly sheets?: string;
	readonly html?: string;
	readonly json?: boolean;
};

export function addCompareCommand(program: Command): void {
	program
		.command('compare')
		.description('compare kits, or places or settings of one kit, by sessions of the register')
		.argument('<names...>', 'two to eight kits; with --by, places or settings')
		.option('--in <folder>', 'folder of the runs and the register', RUNS_FOLDER)
		.addOption(
			new Option('--by <what>', 'what the names are').choices(['kit', 'place', 'setting']).default('kit'),
		)
		.option('--kit <key>', 'whose places or settings')
		.option('--rig <name>', 'only runs of this rig')
		.option('--place <key>', 'only sessions at this place')
		.option('--setting <text>', 'only sessions with this setting')
		.option('--since <day>', 'only runs from this day on, as 2026-03-01')
		.option('--until <day>', 'only runs up to this day')
		.option(
			'--plan [rounds]',
			'only tell in which order to measure; "short" for about 25 min of hands-on',
			roundsOf,
		)
		.option('--sheet <person>', 'write a by-hand sheet for this person and each kit, JSON and page')
		.option('--sheets <folder>', 'folder of filled-in by-hand sheets, shown beside the figures')
		.option('--html <file>', 'write the comparison as a page that prints')
		.option('--json', 'print one JSON document and nothing else')
		.action(compare);
}

async function compare(names: readonly string[], options: CompareOptions): Promise<void> {
	if (new Set(names).size !== names.length) throw new WrongUsage('a name is given twice');
	if (names.length > 8) throw new WrongUsage('eight are compared at most');
	if (options.sheet !== undefined) return writeSheets(names, options.sheet);
	if (names.length < 2) throw new WrongUsage('a comparison needs two names or more');
	if (options.plan !== undefined) {
		const rounds =
			options.plan === true
				? USUAL_ROUNDS
				: options.plan === 'short'
					? shortRounds(names.length)
					: options.plan;
		const plan = sessionPlan(names, rounds);
		process.stdout.write(renderPlan(plan, { ...terminal(), handsOnMin: HANDS_ON_MIN, runMin: RUN_MIN }));
		return;
	}
	const document = await comparisonOf(names, options);
	if (options.html !== undefined) await write(options.html, renderComparisonHtml(document));
	process.stdout.write(
		options.json === true
			? `${JSON.stringify(document, null, '\t')}\n`
			: renderComparison(document, terminal()),
	);
}

async function comparisonOf(names: readonly string[], options: CompareOptions): Promise<ComparisonDocument> {
	const { in: root, by, kit, rig, place, setting, since, until } = options;
	if (by !== 'kit' && kit === undefined) throw new WrongUsage(`with --by ${by}, say whose with --kit`);
	const said = Object.entries({ kit, rig, place, setting, since, until }).filter(
		([, word]) => word !== undefined,
	);
	return gatherComparison({
		...{ root, by, names, toolVersion: TOOL_VERSION },
		filter: Object.fromEntries(said),
		sheets: options.sheets === undefined ? [] : await readSheets(options.sheets),
	});
}

async function writeSheets(names: readonly string[], person: string): Promise<void> {
	for (const name of names) {
		const sheet = blankSheet(name, person);
		const stem = `by-hand-${name}-${person}`.replace(/[^A-Za-z0-9._-]+/g, '-');
		await write(`${stem}.json`, `${JSON.stringify(sheet, null, '\t')}\n`);
		await write(`${stem}.html`, renderSheetHtml(sheet));
		process.stderr.write(`${stem}.json to fill in, ${stem}.html to print\n`);
	}
}

async function readSheets(folder: string): Promise<HandSheet[]> {
	const names = (await readdir(folder).catch(() => [])).filter((name) => name.endsWith('.json'));
	return Promise.all(
		names.map(async (name) => parseSheet(await readFile(join(folder, name), 'utf8'), join(folder, name))),
	);
}

async function write(path: string, text: string): Promise<void> {
	await writeFile(path, text).catch((cause) => {
		throw new OutsideFailure(
			'cannotWrite',
			`${path} could not be written.`,
			'Check the folder and the disk.',
			{
				cause,
			},
		);
	});
}

function roundsOf(word: string): number | 'short' {
	if (word === 'short') return word;
	const rounds = Number(word);
	if (!(Number.isInteger(rounds) && rounds >= 1 && rounds <= 20))
		throw new InvalidArgumentError('It is a whole number from 1 to 20, or the word short.');
	return rounds;
}

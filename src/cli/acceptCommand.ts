/** `accept`: a kit back from repair held against its own reference, written down, and signed off with a second press. */
import { readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import type { Command } from 'commander';
import { OutsideFailure } from '../failure.ts';
import { acceptanceRecord, becomeReference, knownOf } from '../register/acceptanceRecords.ts';
import { signOffCode, writeAcceptance } from '../register/acceptances.ts';
import type { Kit } from '../register/records.ts';
import { readRegister } from '../register/registerFolder.ts';
import { renderAcceptanceHtml } from '../report/acceptanceHtml.ts';
import { renderAcceptance } from '../report/acceptanceText.ts';
import { type AcceptanceForm, blankForm, parseForm } from '../verdict/acceptanceForm.ts';
import { type AcceptanceRecord, signOffObstacles } from '../verdict/acceptanceRecord.ts';
import { EXIT } from './exitCodes.ts';
import { terminal } from './printResult.ts';
import { RUNS_FOLDER } from './runsCommand.ts';
import { TOOL_VERSION } from './version.ts';
import { WrongUsage } from './wrongUsage.ts';

type AcceptOptions = {
	readonly in: string;
	readonly blank?: string;
	readonly form?: string;
	readonly rig?: string;
	readonly signOff?: string | true;
	readonly json?: boolean;
};

const OUTCOME_EXIT = {
	acceptable: EXIT.completed,
	notAcceptable: EXIT.answerNo,
	notEnoughEvidence: EXIT.undetermined,
} as const;

export function addAcceptCommand(program: Command): void {
	program
		.command('accept')
		.description('hold a repaired kit against its own reference, and keep the record')
		.argument('<kit>', 'key of the kit in the register')
		.option('--in <folder>', 'folder of the runs and the register', RUNS_FOLDER)
		.option('--blank <file>', 'write a form to fill in, and nothing else')
		.option('--form <file>', 'the filled-in form')
		.option('--rig <name>', 'only runs of this rig')
		.option('--sign-off [code]', 'first press: shows the code; second press, with the code: signs')
		.option('--json', 'print the record and nothing else on stdout')
		.action(async (kit: string, options: AcceptOptions) => {
			process.exitCode = await accept(kit, options);
		});
}

async function accept(kit: string, options: AcceptOptions): Promise<number> {
	if (options.blank !== undefined) return writeBlank(options.blank, await knownKit(kit, options.in));
	if (options.form === undefined)
		throw new WrongUsage('give the filled-in form with --form, or get one with --blank');
	const record = await recordOf(kit, await readForm(options.form), options);
	const code = signOffCode(record);
	const wanted = options.signOff;
	if (wanted === undefined) return show(record, options);
	const obstacles = signOffObstacles(record);
	if (obstacles.length > 0)
		throw new OutsideFailure(
			'cannotSign',
			`The record cannot be signed as it stands. ${obstacles.join('; ')}.`,
			'Fill in the form or decide otherwise, then press again.',
		);
	if (wanted === true) {
		await show(record, options);
		process.stderr.write(`To sign what is shown above, press a second time: --sign-off ${code}\n`);
		return EXIT.undetermined;
	}
	if (wanted !== code)
		throw new WrongUsage(
			`${wanted} is not the code of this record: something changed since it was shown, show it again`,
		);
	return sign(record, options);
}

async function sign(record: AcceptanceRecord, options: AcceptOptions): Promise<number> {
	const signed = { ...record, signedAt: new Date().toISOString() };
	const code = await show(signed, options);
	await becomeReference(signed, options.in);
	return code;
}

async function show(record: AcceptanceRecord, options: AcceptOptions): Promise<number> {
	const page = await writeAcceptance(options.in, record, renderAcceptanceHtml(record));
	process.stdout.write(
		options.json === true ? `${JSON.stringify(record, null, '\t')}\n` : renderAcceptance(record, terminal()),
	);
	process.stderr.write(`Kept as ${page}\n`);
	return OUTCOME_EXIT[record.acceptance.outcome];
}

function recordOf(key: string, form: AcceptanceForm, options: AcceptOptions): Promise<AcceptanceRecord> {
	if (form.returnedOn === '')
		throw new WrongUsage(
			'the form does not say on which day the kit came back: attempts are counted from then on',
		);
	return acceptanceRecord({
		root: options.in,
		kit: key,
		form,
		rig: options.rig ?? null,
		toolVersion: TOOL_VERSION,
	});
}

async function readForm(path: string): Promise<AcceptanceForm> {
	const text = await readFile(path, 'utf8').catch((cause) => {
		throw new OutsideFailure(
			'acceptanceFormWrong',
			`${path} could not be read.`,
			'Check the path of the form.',
			{
				cause,
			},
		);
	});
	return parseForm(text, path);
}

/** The kit, when the register has it: a form may be wanted before. */
async function knownKit(key: string, root: string): Promise<Kit | null> {
	return (await readRegister(root)).kits.get(key) ?? null;
}

async function writeBlank(path: string, kit: Kit | null): Promise<number> {
	await writeFile(path, `${JSON.stringify(blankForm(kit === null ? {} : knownOf(kit)), null, '\t')}\n`, {
		flag: 'wx',
	}).catch((cause) => {
		throw new OutsideFailure(
			'cannotWrite',
			`${path} could not be written, or is there already.`,
			'Choose another name.',
			{ cause },
		);
	});
	process.stderr.write(`${join(path)} to fill in\n`);
	return EXIT.completed;
}

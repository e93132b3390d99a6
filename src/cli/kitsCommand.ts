/** `kits`: what is known of each kit and place, which runs belong to which session, and which runs are a kit's reference. */
import { Command, InvalidArgumentError } from 'commander';
import { enterRuns } from '../register/enterRuns.ts';
import { serialPair, setKit, setPlace, setReference } from '../register/kitEntry.ts';
import { type Kit, keySchema } from '../register/records.ts';
import { readRegister } from '../register/registerFolder.ts';
import { renderKit } from '../report/registerText.ts';
import { terminal } from './printResult.ts';
import { RUNS_FOLDER } from './runsCommand.ts';
import { WrongUsage } from './wrongUsage.ts';

export function addKitsCommand(program: Command): void {
	const kits = program
		.command('kits')
		.description('keep the register of kits, places and sessions')
		.addCommand(listCommand(), { isDefault: true })
		.addCommand(setCommand())
		.addCommand(placeCommand())
		.addCommand(enterCommand())
		.addCommand(referenceCommand());
	for (const command of kits.commands) command.exitOverride().configureHelp({ helpWidth: 80 });
}

function within(command: Command): Command {
	return command.option('--in <folder>', 'folder of the runs and the register', RUNS_FOLDER);
}

function listCommand(): Command {
	return within(new Command('list'))
		.description('show every kit of the register')
		.option('--json', 'print one JSON document and nothing else')
		.action(async (options: { in: string; json?: boolean }) => {
			const register = await readRegister(options.in);
			const list = [...register.kits.values()];
			if (options.json === true) {
				const places = [...register.places.values()];
				const sessions = [...register.sessions.values()];
				const document = { kits: list, places, sessions, troubles: register.troubles };
				process.stdout.write(`${JSON.stringify(document, null, '\t')}\n`);
				return;
			}
			const shown = list.map((kit) => renderKit(kit, terminal()));
			process.stdout.write(shown.join('\n') || 'The register holds no kit. Add one with: kits set KEY\n');
			for (const trouble of register.troubles) process.stdout.write(`! ${trouble}\n`);
		});
}

type SetOptions = {
	readonly in: string;
	readonly name?: string;
	readonly serial: readonly string[];
	readonly firmware?: string;
	readonly app?: string;
	readonly tablet?: string;
	readonly part: readonly string[];
	readonly notes?: string;
};

function setCommand(): Command {
	return within(new Command('set'))
		.description('add a kit, or change what is known of it')
		.argument('<key>', 'short name, used in commands', parseKey)
		.option('--name <text>', 'as people call it')
		.option('--serial <what=number>', 'a serial number, as scope=A123; may be given again', gather, [])
		.option('--firmware <text>', 'firmware version')
		.option('--app <text>', 'version of its app')
		.option('--tablet <text>', 'tablet and version of its system')
		.option('--part <text>', 'a part that belongs to it; may be given again', gather, [])
		.option('--notes <text>', 'anything else')
		.action(async (key: string, options: SetOptions) => {
			await setKit(options.in, key, (kit) => changeOf(kit, options));
			process.stderr.write(`Kit ${key} written.\n`);
		});
}

function changeOf(kit: Kit, options: SetOptions): Partial<Kit> {
	const serials = options.serial.map((text) => {
		const pair = serialPair(text);
		if (pair === null)
			throw new WrongUsage(
				`${text} is no serial number: write what carries it and the number, as scope=A123`,
			);
		return pair;
	});
	return {
		name: options.name ?? kit.name,
		serialNumbers: { ...kit.serialNumbers, ...Object.fromEntries(serials) },
		firmware: options.firmware ?? kit.firmware,
		appVersion: options.app ?? kit.appVersion,
		tabletVersion: options.tablet ?? kit.tabletVersion,
		parts: [...new Set([...kit.parts, ...options.part])],
		notes: options.notes ?? kit.notes,
	};
}

function placeCommand(): Command {
	return within(new Command('place'))
		.description('add a place')
		.argument('<key>', 'short name, used in commands', parseKey)
		.option('--name <text>', 'as people call it')
		.option('--notes <text>', 'walls, radios, what stands there', '')
		.action(async (key: string, options: { in: string; name?: string; notes: string }) => {
			await setPlace(options.in, { key, name: options.name ?? key, notes: options.notes });
			process.stderr.write(`Place ${key} written.\n`);
		});
}

type EnterOptions = {
	readonly in: string;
	readonly session: string;
	readonly place?: string;
	readonly setting?: string;
	readonly poweredOff?: boolean;
	readonly by?: string;
	readonly notes?: string;
};

function enterCommand(): Command {
	return within(new Command('enter'))
		.description('enter finished runs as one session of a kit')
		.argument('<kit>', 'key of the kit', parseKey)
		.argument('<runs...>', 'the runs: names within --in, or paths as `runs` prints them')
		.requiredOption('--session <key>', 'short name of the session: everything between two times of power off')
		.option('--place <key>', 'where it was', parseKey)
		.option('--setting <text>', 'what was set differently')
		.option('--powered-off', 'kit and tablet were off before it began')
		.option('--by <name>', 'who tested')
		.option('--notes <text>', 'anything else')
		.action(enter);
}

async function enter(kit: string, runs: readonly string[], options: EnterOptions): Promise<void> {
	const { in: root, ...said } = options;
	await enterRuns({ root, kit, runs, ...said });
	process.stderr.write(
		`${runs.length} ${runs.length === 1 ? 'run' : 'runs'} entered as session ${options.session} of ${kit}.\n`,
	);
}

function referenceCommand(): Command {
	return within(new Command('reference'))
		.description('say which entered runs stand for the kit as it should be')
		.argument('<kit>', 'key of the kit', parseKey)
		.argument('[run ids...]', 'none: the kit has no reference any more')
		.action(async (key: string, runIds: readonly string[], options: { in: string }) => {
			await setReference(options.in, key, runIds);
			process.stderr.write(`${key} has ${runIds.length} reference runs.\n`);
		});
}

function parseKey(word: string): string {
	if (keySchema.safeParse(word).success) return word;
	throw new InvalidArgumentError('Use letters, digits, dots, dashes and underlines, 80 at most.');
}

function gather(word: string, before: readonly string[]): string[] {
	return [...before, word];
}

/** `pack`: pictures for a second opinion in one ZIP, with a cover that opens offline and without the place they were taken at. */
import { type Command, InvalidArgumentError, Option } from 'commander';
import { makePack, ORIGINAL_ANSWERS, type PackJob, packedWords, SEDATED_ANSWERS } from '../pack/packJob.ts';
import { TOOL_VERSION } from './version.ts';

type PackOptions = {
	readonly out: string;
	readonly animal: string;
	readonly question: string;
	readonly consent: string;
	readonly date: string;
	readonly side: string;
	readonly structure: string;
	readonly sedated: string;
	readonly original: PackJob['original'];
	readonly run?: string;
	readonly keepLocation?: boolean;
	readonly smaller?: number;
	readonly uplink?: number;
};

export function addPackCommand(program: Command): void {
	program
		.command('pack')
		.description('put pictures for a second opinion into one ZIP')
		.argument('<files...>', 'clips and stills; of a folder all that lie in it')
		.requiredOption('--out <file>', 'the ZIP to write')
		.requiredOption('--animal <text>', 'which animal')
		.requiredOption('--question <text>', 'what is asked')
		.requiredOption('--consent <text>', 'who agreed that this is sent, and when')
		.option('--date <day>', 'when the pictures were taken', 'not stated')
		.option('--side <text>', 'left, right, both', 'not stated')
		.option('--structure <text>', 'what is looked at', 'not stated')
		.addOption(new Option('--sedated <answer>').choices(SEDATED_ANSWERS).default('not stated'))
		.addOption(
			new Option('--original <answer>', 'are these the files as the kit wrote them?')
				.choices(ORIGINAL_ANSWERS)
				.default('not known'),
		)
		.option('--run <folder>', 'the run whose reading they were made under')
		.option('--keep-location', 'leave in where the pictures were taken')
		.option('--smaller <megabytes>', 'make each clip again so small (needs ffmpeg)', positive)
		.option('--uplink <Mbit/s>', 'your own figure: tells how long sending takes', positive)
		.action(pack);
}

async function pack(paths: readonly string[], options: PackOptions): Promise<void> {
	const packed = await makePack({
		...{ out: options.out, pictures: paths, original: options.original },
		about: {
			...{ animal: options.animal, date: options.date, side: options.side, structure: options.structure },
			...{ sedated: options.sedated, question: options.question, consent: options.consent },
		},
		run: options.run ?? null,
		keepLocation: options.keepLocation === true,
		smaller: options.smaller ?? null,
		at: new Date(),
		toolVersion: TOOL_VERSION,
	});
	process.stdout.write(`${packedWords(packed, options.out, options.uplink ?? null).join('\n')}\n`);
}

function positive(word: string): number {
	const value = Number(word);
	if (!(Number.isFinite(value) && value > 0)) throw new InvalidArgumentError('It is a number above 0.');
	return value;
}

/** `pack`: pictures for a second opinion in one ZIP, with a cover that opens offline and without the place they were taken at. */
import { readFile, stat } from 'node:fs/promises';
import { basename, extname, join } from 'node:path';
import { type Command, InvalidArgumentError, Option } from 'commander';
import { OutsideFailure } from '../failure.ts';
import { PATIENT_WARNING, type Reading } from '../pack/coverPage.ts';
import { type GivenFile, type Packed, packCase } from '../pack/packCase.ts';
import { smallerClip } from '../pack/smallerClip.ts';
import { runFaults } from '../register/integrity.ts';
import { REPORT_FILE, RESULT_FILE } from '../register/runFolder.ts';
import { readRunRow } from '../register/runRow.ts';
import { formatMs, formatNumber } from '../report/numbers.ts';
import { TOOL_VERSION } from './version.ts';
import { WrongUsage } from './wrongUsage.ts';

type PackOptions = {
	readonly out: string;
	readonly animal: string;
	readonly question: string;
	readonly consent: string;
	readonly date: string;
	readonly side: string;
	readonly structure: string;
	readonly sedated: string;
	readonly original: 'yes' | 'no' | 'not known';
	readonly run?: string;
	readonly keepLocation?: boolean;
	readonly smaller?: number;
	readonly uplink?: number;
};

/** More than this is no pack to send, and would not fit into memory on a small laptop. */
const MOST_BYTES = 2 ** 30;

export function addPackCommand(program: Command): void {
	program
		.command('pack')
		.description('put pictures for a second opinion into one ZIP')
		.argument('<files...>', 'clips and stills')
		.requiredOption('--out <file>', 'the ZIP to write')
		.requiredOption('--animal <text>', 'which animal')
		.requiredOption('--question <text>', 'what is asked')
		.requiredOption('--consent <text>', 'who agreed that this is sent, and when')
		.option('--date <day>', 'when the pictures were taken', 'not stated')
		.option('--side <text>', 'left, right, both', 'not stated')
		.option('--structure <text>', 'what is looked at', 'not stated')
		.addOption(new Option('--sedated <answer>').choices(['yes', 'no', 'not stated']).default('not stated'))
		.addOption(
			new Option('--original <answer>', 'are these the files as the kit wrote them?')
				.choices(['yes', 'no', 'not known'])
				.default('not known'),
		)
		.option('--run <folder>', 'the run whose reading they were made under')
		.option('--keep-location', 'leave in where the pictures were taken')
		.option('--smaller <megabytes>', 'make each clip again so small (needs ffmpeg)', positive)
		.option('--uplink <Mbit/s>', 'your own figure: tells how long sending takes', positive)
		.action(pack);
}

async function pack(paths: readonly string[], options: PackOptions): Promise<void> {
	const pictures = await Promise.all(paths.map((path) => readPicture(path, options.smaller)));
	if (new Set(pictures.map(({ name }) => name)).size !== pictures.length)
		throw new WrongUsage('two of the files go by one name');
	const packed = await packCase({
		path: options.out,
		about: {
			...{ animal: options.animal, date: options.date, side: options.side, structure: options.structure },
			...{ sedated: options.sedated, question: options.question, consent: options.consent },
			encoding: encodingWords(options),
		},
		pictures,
		reading: options.run === undefined ? null : await readReading(options.run),
		keepLocation: options.keepLocation === true,
		at: new Date(),
		toolVersion: TOOL_VERSION,
	}).catch((cause) => {
		if (!['EEXIST', 'ENOENT', 'EACCES', 'ENOSPC'].includes((cause as NodeJS.ErrnoException).code ?? ''))
			throw cause;
		throw new OutsideFailure(
			'cannotWrite',
			`${options.out} could not be written, or is there already.`,
			'Choose another name with --out, or check folder and disk.',
			{ cause },
		);
	});
	tell(packed, options);
}

function tell({ byteCount, files, notes }: Packed, { out, uplink }: PackOptions): void {
	const megabytes = byteCount / 1e6;
	const lines = [
		`${out}: ${files.length} ${files.length === 1 ? 'picture' : 'pictures'}, ${formatNumber(megabytes, 1)} MB`,
		...files.map(({ name, location }) => `- ${name}: place it was taken at: ${location}`),
		...notes.map((note) => `- ${note}`),
		`! ${PATIENT_WARNING}`,
		...(uplink === undefined
			? []
			: [
					`At ${uplink} Mbit/s up, as you state: about ${Math.ceil((megabytes * 8) / uplink / 60)} min to send.`,
				]),
	];
	process.stdout.write(`${lines.join('\n')}\n`);
}

async function readPicture(path: string, smaller: number | undefined): Promise<GivenFile> {
	const found = await stat(path).catch(() => null);
	if (found?.isFile() !== true)
		throw new OutsideFailure('pictureMissing', `${path} is no file that could be read.`, 'Check the path.');
	if (found.size > MOST_BYTES)
		throw new OutsideFailure(
			'pictureTooLarge',
			`${path} has ${formatNumber(found.size / 1e6)} MB; a pack takes ${formatNumber(MOST_BYTES / 1e6)} MB a file.`,
			'Cut the clip to what is asked about.',
		);
	const bytes = await readFile(path);
	const name = basename(path).replace(/[^A-Za-z0-9._-]+/g, '-');
	if (smaller === undefined || !/\.(mp4|mov|m4v|mkv|webm|avi)$/i.test(name)) return { name, bytes };
	return {
		name: `${basename(name, extname(name))}-smaller.mp4`,
		bytes: await smallerClip(bytes, { megabytes: smaller }),
	};
}

function encodingWords({ original, smaller }: PackOptions): string {
	if (smaller !== undefined)
		return `re-encoded to ${smaller} MB or less: colour and fine detail have suffered`;
	if (original === 'yes') return 'original, as the kit wrote them';
	return original === 'no' ? 're-encoded' : 'not known whether original or re-encoded';
}

async function readReading(folder: string) {
	const { facts, trouble } = await readRunRow('', folder, '');
	const [fault] = facts === null ? [trouble ?? 'it cannot be read'] : await runFaults(folder, null);
	if (facts === null || fault !== undefined)
		throw new OutsideFailure(
			'readingBroken',
			`The run cannot be given along. ${fault}`,
			'Judge it again, or leave --run out.',
		);
	const told: Reading = {
		headline: facts.headline,
		subject: facts.subject,
		runId: facts.runId,
		startedAt: facts.startedAt,
		figures: readingFigures(facts.figures),
	};
	const [json, html] = await Promise.all(
		[RESULT_FILE, REPORT_FILE].map((name) => readFile(join(folder, name))),
	);
	if (json === undefined || html === undefined)
		throw new RangeError('a sealed run has a result and a report');
	return { told, json, html };
}

function readingFigures(figures: Readonly<Record<string, number>>): (readonly [string, string])[] {
	const rows: (readonly [string, string, (value: number) => string])[] = [
		['colour.medianDeltaE00', 'colour shift, middle patch', (value) => formatNumber(value, 1)],
		['colour.p95DeltaE00', 'colour shift, worst patches', (value) => formatNumber(value, 1)],
		['freshDelay.medianMs', 'delay, median', formatMs],
		['likeness.medianSsim', 'likeness to the card (SSIM)', (value) => formatNumber(value, 3)],
	];
	return rows.flatMap(([path, label, words]) => {
		const value = figures[path];
		return value === undefined ? [] : [[label, words(value)] as const];
	});
}

function positive(word: string): number {
	const value = Number(word);
	if (!(Number.isFinite(value) && value > 0)) throw new InvalidArgumentError('It is a number above 0.');
	return value;
}

/** `still IMAGE…`: how true the picture of the printed card is, in one or more stills. */
import { readFile } from 'node:fs/promises';
import { basename } from 'node:path';
import { type Command, InvalidArgumentError } from 'commander';
import { OutsideFailure } from '../failure.ts';
import { openClip } from '../media/node/clip.ts';
import { parseReferenceChart } from '../reading/referenceChart.ts';
import { RunFolder } from '../register/runFolder.ts';
import { stillsOfClip } from '../rigs/still/clipStills.ts';
import { readMovedClip } from '../rigs/still/movedClip.ts';
import { readStill } from '../rigs/still/stillPicture.ts';
import type { Corner, NamedStill } from '../rigs/still/stillReading.ts';
import { runStill, type StillOptions } from '../rigs/still/stillRun.ts';
import { addAnswerOptions, answerRequired, checkRequired } from './answerOptions.ts';
import { judgeFolder, writeConclusion } from './conclude.ts';
import { readCriteria } from './criteriaFile.ts';
import { exitCodeFor, type Required } from './exitCodes.ts';
import { addKitOption, offeredReference, registeredKit, withEvents } from './kitReference.ts';
import { printResult } from './printResult.ts';
import { findReference, layReference, type ReferenceAsked, requireReference } from './referenceRun.ts';
import { newRunName } from './runName.ts';
import { TOOL_VERSION } from './version.ts';
import { WrongUsage } from './wrongUsage.ts';

type StillCommandOptions = {
	readonly reference?: string;
	readonly kit?: string;
	readonly asDrawn?: boolean;
	readonly moved?: string;
	readonly chart?: string;
	readonly corners?: readonly Corner[];
	readonly columns?: number;
	readonly distances?: readonly number[];
	readonly light?: readonly Light[];
	readonly place?: string;
	readonly name?: string;
	readonly out: string;
	readonly criteria?: string;
	readonly json?: boolean;
	readonly full?: boolean;
	readonly require?: Required;
};

export function addStillCommand(program: Command): void {
	const command = program
		.command('still')
		.description('judge stills of the printed card (card --layout detail) as records')
		.argument(
			'<image...>',
			'PNG or JPEG, or a clip of a standing view; several of one scene tell noise that moves from noise that stands',
		)
		.option(
			'--reference <image or run>',
			'a still, or a kept run, of the same sheet by the kit or system to compare with',
		)
		.option('--as-drawn', 'the still never passed a lens: compare with the card as drawn')
		.option(
			'--distances <mm,mm>',
			'from the lens to the card, one for each still: how detail and noise fall',
			parseDistances,
		)
		.option(
			'--light <bright,dim>',
			'by how much light each still was taken: how noise and detail fall in a dark view',
			parseLights,
		)
		.option(
			'--moved <clip>',
			'a clip of the card held still for a second, then moved to and fro by hand: what movement costs',
		)
		.option('--chart <file>', 'a chart of your own instead: its reference values as CGATS text')
		.option(
			'--corners <x,y x,y x,y x,y>',
			'where that chart lies, clockwise from its own upper left',
			parseCorners,
		)
		.option(
			'--columns <number>',
			'columns of that chart, where its patches are not named A1, B2 …',
			parseColumns,
		)
		.option('--place <text>', 'where this was taken')
		.option('--name <text>', 'name of the run folder')
		.option('--out <folder>', 'where runs are kept', 'reports');
	addAnswerOptions(addKitOption(command)).action(async (images: string[], options: StillCommandOptions) => {
		process.exitCode = await still(images, options);
	});
}

async function still(images: readonly string[], options: StillCommandOptions): Promise<number> {
	const criteria = await readCriteria(options.criteria);
	const notes: string[] = [];
	const kit = await registeredKit(options.kit, options.out);
	const referenceRun = await referenceRunOf(options);
	const runOptions = await stillOptions(
		images,
		referenceRun === null ? options : withoutImage(options),
		notes,
	);
	// Pictures are read before the folder is made: a still without a card leaves none behind.
	const records: Parameters<Parameters<typeof runStill>[1]>[0][] = [];
	notes.push(...runStill(runOptions, (record) => records.push(record)));
	const folder = await RunFolder.create(options.out, runOptions.runId);
	const offered = await offeredReference(kit, options.reference, askedOf(options));
	for (const record of withEvents(records, offered)) folder.append(record);
	await folder.close();
	await layReference(folder.path, referenceRun);
	const conclusion = await judgeFolder(folder.path, criteria);
	checkRequired(options.require, conclusion.result);
	await writeConclusion(folder.path, conclusion);
	printResult(conclusion.result, {
		json: options.json === true,
		full: options.full === true,
		folder: folder.path,
		notes,
	});
	return exitCodeFor(answerRequired(options.require, conclusion.result));
}

/** A reference that is a kept run; null where it is a picture, or none was given. */
async function referenceRunOf(options: StillCommandOptions): Promise<string | null> {
	const { reference, out } = options;
	if (reference === undefined || (await findReference(reference, out)) === null) return null;
	return await requireReference(reference, askedOf(options));
}

function askedOf({ out, chart }: StillCommandOptions): ReferenceAsked {
	return { root: out, rig: 'still', layout: chart === undefined ? 'detail' : 'chart' };
}

function withoutImage({ reference: _run, ...options }: StillCommandOptions): StillCommandOptions {
	return options;
}

async function stillOptions(
	images: readonly string[],
	options: StillCommandOptions,
	notes: string[],
): Promise<StillOptions> {
	const { reference, asDrawn = false, distances, light: lights, moved, place, name } = options;
	const stills = await Promise.all(images.map((path) => named(path, notes)));
	if (distances !== undefined && distances.length !== images.length)
		throw new WrongUsage(`${images.length} stills need as many distances, got ${distances.length}`);
	if (lights !== undefined && lights.length !== images.length)
		throw new WrongUsage(`${images.length} stills need as many words of light, got ${lights.length}`);
	if (reference !== undefined && asDrawn)
		throw new WrongUsage('--reference and --as-drawn name two different things to compare with: give one');
	return {
		runId: newRunName('still', name),
		toolVersion: TOOL_VERSION,
		startedAt: new Date().toISOString(),
		place: place ?? null,
		stills: stills.flatMap(({ pictures }) => pictures),
		against:
			reference === undefined
				? asDrawn
					? 'drawn'
					: 'nothing'
				: { reference: (await named(reference, notes)).pictures[0]! },
		distancesMm: forEach(stills, distances),
		lights: forEach(stills, lights),
		chart: await chartOf(options),
		...(moved === undefined ? {} : { moved: await movedLooks(moved) }),
	};
}

async function movedLooks(path: string): ReturnType<typeof readMovedClip> {
	const source = await openClip(path, { decoder: 'auto' });
	return await readMovedClip(source, path).finally(() => source.close());
}

/** A picture is one still, a clip several. */
type Named = { readonly pictures: readonly NamedStill[] };

async function named(path: string, notes: string[]): Promise<Named> {
	if (CLIP_NAME.test(path)) {
		const source = await openClip(path, { decoder: 'auto' });
		return { pictures: await stillsOfClip(source, path).finally(() => source.close()) };
	}
	const { raster, notes: more } = await readStill(path);
	notes.push(...more);
	return { pictures: [{ name: basename(path), raster }] };
}

const CLIP_NAME = /\.(mp4|mov|m4v|mkv|webm|avi)$/i;

/** What was said of each file, for each of its pictures. */
function forEach<T>(files: readonly Named[], said: readonly T[] | undefined): T[] | null {
	return said === undefined ? null : files.flatMap(({ pictures }, i) => pictures.map(() => said[i]!));
}

async function chartOf({ chart, corners, columns }: StillCommandOptions): Promise<StillOptions['chart']> {
	if (chart === undefined) {
		if (corners !== undefined || columns !== undefined)
			throw new WrongUsage('--corners and --columns say where a chart lies: give its file with --chart');
		return null;
	}
	if (corners === undefined) throw new WrongUsage('--chart needs --corners "x,y x,y x,y x,y"');
	const text = await readFile(chart, 'latin1').catch((cause) => {
		throw new OutsideFailure(
			'chartMissing',
			`${chart} could not be opened.`,
			'Check the name of the chart file.',
			{ cause },
		);
	});
	return { chart: parseReferenceChart(text, columns ?? null), corners };
}

function parseCorners(words: string): Corner[] {
	const corners = words
		.trim()
		.split(/\s+/)
		.map((word) => word.split(',').map(Number));
	if (corners.length !== 4 || corners.some((corner) => corner.length !== 2 || !corner.every(Number.isFinite)))
		throw new InvalidArgumentError('They are four places "x,y" with spaces between, in pixels.');
	return corners.map(([x, y]) => [x!, y!]);
}

function parseDistances(words: string): number[] {
	const distances = words.split(',').map(Number);
	if (!distances.every((mm) => mm >= 1 && mm <= 1000))
		throw new InvalidArgumentError('They are millimetres from 1 to 1000 with commas between.');
	return distances;
}

type Light = 'bright' | 'dim';

function parseLights(words: string): Light[] {
	return words.split(',').map((word) => {
		if (word !== 'bright' && word !== 'dim')
			throw new InvalidArgumentError('They are the words bright and dim with commas between.');
		return word;
	});
}

function parseColumns(word: string): number {
	const columns = Number(word);
	if (!Number.isInteger(columns) || columns < 1 || columns > 100)
		throw new InvalidArgumentError('It is a whole number from 1 to 100.');
	return columns;
}

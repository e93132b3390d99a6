/** `recording CLIP`: judges the kit's own recording of the card as a record. A census of this file, and of nothing else. */
import { type Command, Option } from 'commander';
import { openClip } from '../media/node/clip.ts';
import { CARD_SIZES, DIFFICULTIES, LAYOUTS } from '../pattern/card.ts';
import { parseCardSpec } from '../pattern/cardSpec.ts';
import { RunFolder } from '../register/runFolder.ts';
import { readRecording } from '../rigs/recording/recording.ts';
import { whichCard } from '../rigs/recording/whichCard.ts';
import { addAnswerOptions, answerRequired, checkRequired } from './answerOptions.ts';
import { between, wholeBelow } from './cardCommand.ts';
import { addClipOptions, addLightOption, type ClipOptions, readingProgress } from './clipOptions.ts';
import { judgeFolder, writeConclusion, writeTables } from './conclude.ts';
import { readCriteria } from './criteriaFile.ts';
import { exitCodeFor, type Required } from './exitCodes.ts';
import { addKitOption, offeredReference, registeredKit, withEvents } from './kitReference.ts';
import { printResult } from './printResult.ts';
import { addReferenceOption, layReference, requireReference } from './referenceRun.ts';
import { newRunName } from './runName.ts';
import { TOOL_VERSION } from './version.ts';

type RecordingCommandOptions = ClipOptions & {
	readonly layout?: string;
	readonly size?: string;
	readonly seed: number;
	readonly difficulty: string;
	readonly rate?: number;
	readonly light?: 'bright' | 'dim';
	readonly reference?: string;
	readonly kit?: string;
	readonly criteria?: string;
	readonly json?: boolean;
	readonly full?: boolean;
	readonly csv?: boolean;
	readonly require?: Required;
};

export function addRecordingCommand(program: Command): void {
	const command = program
		.command('recording')
		.description("judge the kit's own recording of the card as a record")
		.argument('<clip>', 'the original file, as the kit wrote it')
		.addOption(
			new Option('--layout <name>', 'of the card that was shown; found out if left out').choices(LAYOUTS),
		)
		.addOption(new Option('--size <size>', "of the card; the clip's own if left out").choices(CARD_SIZES))
		.option('--seed <number>', 'of the card that was shown', wholeBelow(2 ** 32), 1)
		.addOption(
			new Option('--difficulty <name>', 'of the card that was shown').choices(DIFFICULTIES).default('easy'),
		)
		.option(
			'--rate <per second>',
			"the card's pictures a second; told from the clip if left out",
			between(1, 240),
		)
		.option('--csv', 'write figures.csv and frames.csv too');
	addAnswerOptions(addKitOption(addReferenceOption(addLightOption(addClipOptions(command))))).action(
		async (clip: string, options: RecordingCommandOptions) => {
			process.exitCode = await recording(clip, options);
		},
	);
}

async function recording(path: string, options: RecordingCommandOptions): Promise<number> {
	const criteria = await readCriteria(options.criteria);
	const kit = await registeredKit(options.kit, options.out);
	const open = () => openClip(path, { decoder: options.decoder });
	const card = await cardOf(open, options);
	const asked = { root: options.out, rig: 'recording', layout: card.layout, card } as const;
	const reference = await requireReference(options.reference, asked);
	const runId = newRunName('recording', options.name);
	const progress = readingProgress(path);
	const { records } = await readRecording(open, {
		runId,
		toolVersion: TOOL_VERSION,
		startedAt: new Date().toISOString(),
		path,
		place: options.place ?? null,
		card,
		cardHz: options.rate ?? null,
		light: options.light ?? null,
		progress: progress.show,
	}).finally(progress.end);
	const folder = await RunFolder.create(options.out, runId);
	const offered = await offeredReference(kit, options.reference, asked);
	for (const record of withEvents(records, offered)) if (!folder.append(record)) await folder.drained();
	await folder.close();
	await layReference(folder.path, reference);
	const conclusion = await judgeFolder(folder.path, criteria);
	checkRequired(options.require, conclusion.result);
	const notes =
		options.csv === true ? [`Tables: ${(await writeTables(folder.path, conclusion)).join(', ')}.`] : [];
	await writeConclusion(folder.path, conclusion);
	printResult(conclusion.result, {
		json: options.json === true,
		full: options.full === true,
		folder: folder.path,
		notes,
	});
	return exitCodeFor(answerRequired(options.require, conclusion.result));
}

async function cardOf(
	open: () => ReturnType<typeof openClip>,
	{ layout, size, seed, difficulty }: RecordingCommandOptions,
) {
	if (layout !== undefined && size !== undefined) return parseCardSpec({ layout, size, seed, difficulty });
	const source = await open();
	const seen = await whichCard(source).finally(() => source.close());
	return parseCardSpec({ layout: layout ?? seen.layout, size: size ?? seen.size, seed, difficulty });
}

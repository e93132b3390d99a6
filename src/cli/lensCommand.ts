/** `lens CLIP`: how fast a smeared lens clears after a flush, from the kit's own clip of the printed card. */
import { type Command, InvalidArgumentError } from 'commander';
import { openClip } from '../media/node/clip.ts';
import { RunFolder } from '../register/runFolder.ts';
import { readLensClip } from '../rigs/still/lensClip.ts';
import { addClipOptions, type ClipOptions, readingProgress } from './clipOptions.ts';
import { judgeFolder, writeConclusion } from './conclude.ts';
import { readCriteria } from './criteriaFile.ts';
import { EXIT } from './exitCodes.ts';
import { addKitOption, offeredReference, registeredKit, withEvents } from './kitReference.ts';
import { printResult } from './printResult.ts';
import { addReferenceOption, layReference, requireReference } from './referenceRun.ts';
import { newRunName } from './runName.ts';
import { TOOL_VERSION } from './version.ts';
import { WrongUsage } from './wrongUsage.ts';

type LensOptions = ClipOptions & {
	readonly smeared: readonly number[];
	readonly flush?: readonly number[];
	readonly gel?: string;
	readonly reference?: string;
	readonly kit?: string;
	readonly json?: boolean;
	readonly full?: boolean;
};

export function addLensCommand(program: Command): void {
	const command = program
		.command('lens')
		.description('how fast a smeared lens clears after a flush, from a clip of the printed card')
		.argument('<clip>', "the kit's own recording: card in a tray, scope clamped, clean for a second first")
		.requiredOption('--smeared <s,s>', 'seconds of the clip at which the gel was put on', parseSeconds)
		.option('--flush <s,s>', 'seconds at which each flush began; found out if left out', parseSeconds)
		.option('--gel <text>', 'which harmless gel, and how much')
		.option('--full', 'print every figure')
		.option('--json', 'print the result document and nothing else')
		.addHelpText('after', HOW_TO_SMEAR);
	addKitOption(addReferenceOption(addClipOptions(command))).action(
		async (clip: string, options: LensOptions) => {
			process.exitCode = await lens(clip, options);
		},
	);
}

/** What a person does, in order. The amounts are this project's own: any will do that are the same each time. */
const HOW_TO_SMEAR = `
How it is done:
  1. Print the card of colour and detail (steerworthy card --layout detail
     --out card.pdf), laminate it and lay it in a tray, well away from the
     laptop: water and air are never sprayed towards it, nor towards anything
     on the mains.
  2. Clamp the scope above it, the whole card sharp and in view. Nothing may
     move until the end.
  3. Start the kit's own recording. Leave the lens clean for two seconds or
     more: that is what "clear" means.
  4. Dab one measured drop (0.1 ml from a 1 ml syringe) of a water-based gel
     on the lens: ultrasound gel, or a methylcellulose lubricant. No oil, no
     silicone, no disinfectant, nothing with grit. Note the time.
  5. Wait five seconds, flush as in the exam, note the time. Film ten more.
  6. Smear and flush three times or more in the same clip, with the same
     drop: one flush says nothing of how well it repeats.
  7. steerworthy lens clip.mp4 --smeared 4,24,44 --flush 9,29,49
     --gel "ultrasound gel, 0.1 ml"
  Then clean the scope as its maker says: dried gel is worse than what was
  measured. Compare only the same gel, drop, water and pressure; a repaired
  kit goes beside its own earlier run with --reference.
`;

async function lens(path: string, options: LensOptions): Promise<number> {
	const { smeared, flush = [] } = options;
	if (flush.length > 0 && flush.length !== smeared.length)
		throw new WrongUsage(`${smeared.length} smears need as many flushes, got ${flush.length}`);
	if (flush.some((at, i) => at < smeared[i]! || at >= (smeared[i + 1] ?? Number.POSITIVE_INFINITY)))
		throw new WrongUsage('each flush comes after its smear and before the next one');
	const runId = newRunName('lens', options.name);
	const kit = await registeredKit(options.kit, options.out);
	const asked = { root: options.out, rig: 'still', layout: 'detail' } as const;
	const reference = await requireReference(options.reference, asked);
	const source = await openClip(path, { decoder: options.decoder });
	const progress = readingProgress(path);
	const records = await readLensClip(source, {
		...{ runId, toolVersion: TOOL_VERSION, startedAt: new Date().toISOString(), path },
		place: options.place ?? null,
		smearedMs: smeared.map(milliseconds),
		flushedMs: flush.map(milliseconds),
		gel: options.gel ?? null,
		progress: progress.show,
	}).finally(() => {
		progress.end();
		source.close();
	});
	const folder = await RunFolder.create(options.out, runId);
	const offered = await offeredReference(kit, options.reference, asked);
	for (const record of withEvents(records, offered)) folder.append(record);
	await folder.close();
	await layReference(folder.path, reference);
	const conclusion = await judgeFolder(folder.path, await readCriteria(undefined));
	await writeConclusion(folder.path, conclusion);
	printResult(conclusion.result, {
		...{ json: options.json === true, full: options.full === true },
		...{ folder: folder.path, notes: [] },
	});
	return EXIT.completed;
}

function milliseconds(seconds: number): number {
	return 1000 * seconds;
}

function parseSeconds(words: string): number[] {
	const seconds = words.split(',').map(Number);
	if (!seconds.every((at, i) => at > 0 && at < 36_000 && at > (seconds[i - 1] ?? 0)))
		throw new InvalidArgumentError('They are seconds of the clip, rising, with commas between.');
	return seconds;
}

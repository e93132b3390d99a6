/** `optical CLIP…`: judges a closed kit from films of its tablet beside the card, and from its own recording where it has one. */
import { basename } from 'node:path';
import { type Command, Option } from 'commander';
import { OutsideFailure } from '../failure.ts';
import { type ClipDecoder, openClip } from '../media/node/clip.ts';
import type { ObservationRecord } from '../observations/records.ts';
import { formatRecord } from '../observations/recordText.ts';
import { parseCardSpec } from '../pattern/cardSpec.ts';
import { readRegister } from '../register/registerFolder.ts';
import { RECORDING_FILE, RunFolder, writeRunFile } from '../register/runFolder.ts';
import { type OpticalClip, readOpticalClip, type UnreadClip } from '../rigs/optical/opticalClip.ts';
import { type CardSeen, opticalRecords } from '../rigs/optical/opticalRecords.ts';
import { type MaybeOne, separateFilms } from '../rigs/optical/sameFilm.ts';
import { readRecording } from '../rigs/recording/recording.ts';
import { whichCard } from '../rigs/recording/whichCard.ts';
import { stillsOfClip } from '../rigs/still/clipStills.ts';
import { stillLooks } from '../rigs/still/stillLooks.ts';
import { readStillCard, stillNotes } from '../rigs/still/stillReading.ts';
import { drawnPatches } from '../rigs/still/stillRun.ts';
import { addAnswerOptions, answerRequired, checkRequired } from './answerOptions.ts';
import { addClipOptions, addLightOption, type ClipOptions, readingProgress } from './clipOptions.ts';
import { judgeFolder, writeConclusion, writeTables } from './conclude.ts';
import { readCriteria } from './criteriaFile.ts';
import { exitCodeFor, type Required } from './exitCodes.ts';
import { kitNamed, offeredReference, withEvents } from './kitReference.ts';
import { printResult } from './printResult.ts';
import { addReferenceOption, layReference, type ReferenceAsked, requireReference } from './referenceRun.ts';
import { newRunName } from './runName.ts';
import { TOOL_VERSION } from './version.ts';

type OpticalOptions = ClipOptions & {
	readonly kit: string;
	readonly recording?: string;
	readonly card?: string;
	readonly light?: 'bright' | 'dim';
	readonly reference?: string;
	readonly profile: 'demo' | 'verdict' | 'long';
	readonly turnedAsMeant?: boolean;
	readonly criteria?: string;
	readonly json?: boolean;
	readonly full?: boolean;
	readonly csv?: boolean;
	readonly require?: Required;
};

export function addOpticalCommand(program: Command): void {
	const command = program
		.command('optical')
		.description('judge a closed kit through its own lens, from films of card and tablet')
		.argument('<clips...>', "the filming phone's original files: three fast ones, one of ordinary rate")
		.option('--kit <name>', 'as people name it', 'the kit filmed')
		.option('--recording <clip>', "the kit's own recording of the card")
		.option(
			'--card <clip>',
			'a film of the tablet while the scope looks at the printed card, phone and scope still: colour and detail, to set beside a reference',
		)
		.addOption(
			new Option('--profile <name>', 'how long a run was meant: only verdict and long may say yes')
				.choices(['demo', 'verdict', 'long'])
				.default('verdict'),
		)
		.option('--turned-as-meant', 'the kit is meant to show its picture turned as it does')
		.option('--csv', 'write figures.csv and frames.csv too');
	addAnswerOptions(addReferenceOption(addLightOption(addClipOptions(command)))).action(
		async (clips: string[], options: OpticalOptions) => {
			process.exitCode = await optical(clips, options);
		},
	);
}

async function optical(paths: readonly string[], options: OpticalOptions): Promise<number> {
	const criteria = await readCriteria(options.criteria);
	const startedAt = new Date().toISOString();
	const asked = { root: options.out, rig: 'optical', layout: 'scope' } as const;
	const reference = await requireReference(options.reference, asked);
	const card = options.card === undefined ? null : await cardOf(options.card, options.decoder);
	const runId = newRunName('optical', options.name);
	const recorded =
		options.recording === undefined
			? null
			: await recordingOf(options.recording, { options, runId, startedAt });
	const { clips, unread, mayBeOne } = await readClips(paths, options.decoder);
	const folder = await RunFolder.create(options.out, runId);
	const records = opticalRecords({
		...{ runId, toolVersion: TOOL_VERSION, startedAt, kit: options.kit, place: options.place ?? null },
		...{
			invented: false,
			profile: options.profile,
			clips,
			unread: recorded?.kind === 'notMeasured' ? [...unread, recorded] : unread,
			mayBeOne,
			turnedAsMeant: options.turnedAsMeant === true,
			card: card?.seen ?? null,
			light: options.light ?? null,
		},
	});
	for (const record of withEvents(records, await kitsReference(options, asked)))
		if (!folder.append(record)) await folder.drained();
	await folder.close();
	if (recorded?.kind === 'recorded')
		await writeRunFile(
			folder.path,
			RECORDING_FILE,
			recorded.records.map((record) => `${formatRecord(record)}\n`),
		);
	await layReference(folder.path, reference);
	const conclusion = await judgeFolder(folder.path, criteria);
	checkRequired(options.require, conclusion.result);
	const notes = [...(card?.notes ?? [])];
	if (options.csv === true) notes.push(`Tables: ${(await writeTables(folder.path, conclusion)).join(', ')}.`);
	await writeConclusion(folder.path, conclusion);
	printResult(conclusion.result, {
		...{ json: options.json === true, full: options.full === true },
		...{ folder: folder.path, notes },
	});
	return exitCodeFor(answerRequired(options.require, conclusion.result));
}

/** The kit is named freely here: one that the register does not know has no reference. */
async function kitsReference({ kit, reference, out }: OpticalOptions, asked: ReferenceAsked) {
	const { kits } = await readRegister(out);
	return await offeredReference(kitNamed([...kits.values()], kit), reference, asked);
}

const FILM_AGAIN =
	'Film the tablet again while the scope looks at the printed card, the whole card in view; or leave --card out: the rest is judged without it.';

type FilmedCard = { readonly seen: CardSeen; readonly notes: readonly string[] };

/** The printed card on the filmed tablet. Throws `OutsideFailure` as stills do. */
async function cardOf(path: string, decoder: ClipDecoder): Promise<FilmedCard> {
	const source = await openClip(path, { decoder });
	const stills = await stillsOfClip(source, path).finally(() => source.close());
	const readings = stills.map((still) => readStillCard(still, null, FILM_AGAIN));
	const plain = { distancesMm: null, lights: null, chart: null, edges: null };
	return {
		seen: {
			patches: drawnPatches({ chart: null }),
			looks: (at) => stillLooks(readings, { ...plain, ...at }),
		},
		notes: stillNotes(readings, null),
	};
}

type ReadClips = {
	readonly clips: readonly OpticalClip[];
	readonly unread: readonly UnreadClip[];
	readonly mayBeOne: readonly MaybeOne[];
};

/** Throws `OutsideFailure` `noClipRead` where not one of them says anything; with one that does, the others are told and left out. */
async function readClips(paths: readonly string[], decoder: ClipDecoder): Promise<ReadClips> {
	const clips: OpticalClip[] = [];
	const unread: UnreadClip[] = [];
	for (const path of new Set(paths)) {
		const clip = await readClip(path, decoder);
		if (clip.kind === 'clip') clips.push(clip);
		else unread.push(clip);
	}
	const { left, ...separated } = separateFilms(clips);
	if (clips.length > 0) return { ...separated, unread: [...unread, ...left] };
	throw new OutsideFailure(
		'noClipRead',
		unread
			.map(({ name, explanation }) =>
				explanation.startsWith(name) ? explanation : `${name}: ${explanation}`,
			)
			.join('\n'),
		'With these mended or filmed anew give all films of a session together. How to stand, and what the phone must see, shows the card page (steerworthy card --serve).',
	);
}

async function readClip(path: string, decoder: ClipDecoder): Promise<OpticalClip | UnreadClip> {
	const progress = readingProgress(path);
	const name = basename(path);
	const open = () => openClip(path, { decoder });
	const read = () => readOpticalClip({ name, open, progress: progress.show });
	return await orUnread(path, read).finally(progress.end);
}

/** A file that cannot be opened or read is one of several: told by name, and the others go on. */
async function orUnread<T>(path: string, read: () => Promise<T>): Promise<T | UnreadClip> {
	try {
		return await read();
	} catch (failure) {
		if (!(failure instanceof OutsideFailure)) throw failure;
		const name = basename(path);
		const explanation = `${failure.message} ${failure.advice}`.replaceAll(path, name);
		return { kind: 'notMeasured', reason: failure.code, explanation, name };
	}
}

type RecordingOf = {
	readonly options: OpticalOptions;
	readonly runId: string;
	readonly startedAt: string;
};

type Recorded = { readonly kind: 'recorded'; readonly records: readonly ObservationRecord[] };

/** Read before the films, which take minutes; one that cannot be read is left out and told, as a film is. */
async function recordingOf(
	path: string,
	{ options, runId, startedAt }: RecordingOf,
): Promise<Recorded | UnreadClip> {
	const open = () => openClip(path, { decoder: options.decoder });
	const progress = readingProgress(path);
	const read = async (): Promise<Recorded> => {
		const source = await open();
		const seen = await whichCard(source).finally(() => source.close());
		const card = parseCardSpec({ layout: seen.layout, size: seen.size, seed: 1, difficulty: 'easy' });
		const { records } = await readRecording(open, {
			...{ runId, toolVersion: TOOL_VERSION, startedAt, path, card, cardHz: null },
			...{ place: options.place ?? null, light: options.light ?? null, progress: progress.show },
		});
		return { kind: 'recorded', records };
	};
	return await orUnread(path, read).finally(progress.end);
}

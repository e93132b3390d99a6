/** The recording rig: the kit's own clip of the card in, observations of this file out. Everything is counted, nothing sampled. */
import { basename } from 'node:path';
import { OutsideFailure } from '../../failure.ts';
import type { ClipInfo, ClipSource } from '../../imaging/clipFrame.ts';
import { clipMs } from '../../imaging/clipFrame.ts';
import { FORMAT, type Header, type ObservationRecord, VERSION } from '../../observations/records.ts';
import type { CardSpec } from '../../pattern/card.ts';
import { cardSizePx } from '../../pattern/geometry.ts';
import { cardPatches } from '../../pattern/patches.ts';
import { tryColourReading } from '../../reading/colourControl.ts';
import { createMarkerRecordingReader, locateMarker } from './markerRecording.ts';
import type { RecordedPictures } from './recordedPictures.ts';
import { findingsOf } from './recordingFindings.ts';
import { recordingRecords } from './recordingRecords.ts';
import { type RecordingTimeline, recordingTimeline } from './recordingTimeline.ts';
import { type CardLook, createStripReader, hasCardSize } from './stripRecording.ts';

export type RecordingOptions = {
	readonly runId: string;
	readonly toolVersion: string;
	readonly startedAt: string;
	/** Path of the clip, for its name. */
	readonly path: string;
	readonly place: string | null;
	/** The card that was shown. */
	readonly card: CardSpec;
	/** Its pictures a second; null: told from the clip. */
	readonly cardHz: number | null;
	/** How much light the scope saw by; null where it was not said. */
	readonly light: 'bright' | 'dim' | null;
	/** Share of the file that was read, and where in it, ms. */
	readonly progress: (shareRatio: number, atMs: number) => void;
};

export type RecordingRun = {
	readonly records: readonly ObservationRecord[];
	readonly timeline: RecordingTimeline;
};

/** Opens the file anew at each call: a marker is located in its first second, then everything is read. */
export type OpenRecording = () => Promise<ClipSource>;

/** Throws `OutsideFailure`: `cardNotFound`, `cardStands`, `clipTooShort`, `screensFilmed`, and what reading the file throws. */
export async function readRecording(open: OpenRecording, options: RecordingOptions): Promise<RecordingRun> {
	const source = await open();
	try {
		return await readOpened(source, open, options);
	} finally {
		source.close();
	}
}

async function readOpened(
	source: ClipSource,
	open: OpenRecording,
	options: RecordingOptions,
): Promise<RecordingRun> {
	const reader = await readerFor(source.info, open, options);
	const { recorded, looks, damaged } = await readAll(source, reader, options);
	if (recorded.showsTwoScreens) throw filmOfScreens(options.path);
	const timeline = recordingTimeline(recorded, options.cardHz);
	if (timeline.kind === 'noTimeline') throw notReadable(options, source.info, { recorded, ...timeline });
	const firstMs = recorded.fileMs[0]!;
	const events = findingsOf(timeline, source.notes(), damaged);
	const endMs = timeline.stretches.at(-1)!.endMs;
	const records: ObservationRecord[] = [
		headerOf(source, options, timeline),
		...recordingRecords({ timeline, looks, firstMs, events }),
		{ kind: 'end', atMs: endMs, reason: 'fileEnd' },
	];
	return { records, timeline };
}

type ReadClip = {
	readonly recorded: RecordedPictures;
	readonly looks: readonly CardLook[];
	readonly damaged: number;
};

type CardReader = ReturnType<typeof createStripReader>;

async function readerFor(
	info: ClipInfo,
	open: OpenRecording,
	{ path, card }: RecordingOptions,
): Promise<CardReader> {
	if (card.layout === 'link') {
		if (!hasCardSize(info, card)) throw otherSize(path, info, card);
		return createStripReader(info, card);
	}
	const first = await open();
	const located = await locateMarker(first.frames()).finally(() => first.close());
	if (located.kind === 'notMeasured')
		throw new OutsideFailure(
			'cardNotFound',
			`The ${card.layout} card was not found in ${path}, a clip of ${info.widthPx} x ${info.heightPx}.`,
			'Record the card so that its marker fills a third of the picture, sharp and without glare.',
		);
	return createMarkerRecordingReader(info, located);
}

async function readAll(
	source: ClipSource,
	reader: CardReader,
	{ progress }: RecordingOptions,
): Promise<ReadClip> {
	const { info } = source;
	let damaged = 0;
	let firstMs: number | null = null;
	for await (const frame of source.frames()) {
		const atMs = clipMs(frame.ticks, info.timeBase);
		firstMs ??= atMs;
		if (frame.damaged) damaged++;
		reader.look(frame);
		progress(info.declaredMs === null ? 0 : (atMs - firstMs) / info.declaredMs, atMs - firstMs);
	}
	return { ...reader.finish(), damaged };
}

function headerOf(source: ClipSource, options: RecordingOptions, timeline: RecordingTimeline): Header {
	const { card } = options;
	const strip = card.layout === 'link';
	return {
		kind: 'header',
		format: FORMAT,
		version: VERSION,
		toolVersion: options.toolVersion,
		runId: options.runId,
		rig: 'recording',
		subject: { kind: 'recording', name: basename(options.path), invented: false },
		place: options.place,
		joined: null,
		profile: 'file',
		startedAt: options.startedAt,
		measuringPoints: { source: 'file', viewer: 'file' },
		viewerClock: 'reference',
		source: {
			layout: card.layout,
			...cardSizePx(card.size),
			rateHz: Math.round(timeline.pictureHz * 1000) / 1000,
			seed: card.seed,
			difficulty: card.difficulty,
		},
		path: {
			transport: 'file',
			codec: source.info.codec,
			bitrateKbps: null,
			keyEveryFrames: null,
			air: null,
		},
		displayPeriodMs: null,
		// A picture that is not in the file is lost, however late.
		lostAfterMs: Math.max(1, timeline.stretches.at(-1)!.endMs),
		systematics: [],
		patches: strip
			? cardPatches(card).map(({ name, role, rgb: [r, g, b] }) => ({ name, role, rgb: [r, g, b] }))
			: [],
		colourReference: strip ? 'drawn' : 'none',
		...(strip ? { colourControl: tryColourReading(card) } : {}),
		...(options.light === null ? {} : { light: options.light }),
		...(source.info.transfer === 'usual' ? {} : { transfer: source.info.transfer }),
	};
}

function filmOfScreens(path: string): OutsideFailure {
	return new OutsideFailure(
		'screensFilmed',
		`${path} shows two screens, one of them behind the other: it is a film of laptop and tablet, not the kit’s own recording.`,
		'Give the file that the kit itself recorded. Films of both screens are judged by steerworthy optical, or on the page for films as “both screens, by the phone”.',
	);
}

function otherSize(path: string, { widthPx, heightPx }: ClipInfo, { size }: CardSpec): OutsideFailure {
	return new OutsideFailure(
		'cardNotFound',
		`${path} is ${widthPx} x ${heightPx}; the link card of ${size} can be read only unscaled.`,
		'Name the size that the card had with --size; a card seen through a lens or scaled needs the scope layout (--layout scope).',
	);
}

function notReadable(
	{ path, card }: RecordingOptions,
	{ widthPx, heightPx }: ClipInfo,
	{
		recorded,
		reason,
		seen,
	}: { recorded: RecordedPictures; reason: 'tooFewPictures' | 'cardStands'; seen: string },
): OutsideFailure {
	const frames = recorded.fileMs.length;
	const lengthMs = frames === 0 ? 0 : recorded.fileMs[frames - 1]! - recorded.fileMs[0]!;
	if (reason === 'cardStands')
		return new OutsideFailure(
			'cardStands',
			`${path}: ${seen}.`,
			'If the card was moving, the kit recorded a standing picture: that is a finding. Else start the card and record again.',
		);
	if (recorded.pictures.length === 0 && frames > 0)
		return new OutsideFailure(
			'cardNotFound',
			`The ${card.layout} card was not found in any of ${frames} frames of ${widthPx} x ${heightPx} in ${path}.`,
			'Record the card so that it fills a third of the picture, sharp and without glare, and name its layout and size.',
		);
	return new OutsideFailure(
		'clipTooShort',
		`${path} is ${(lengthMs / 1000).toFixed(1)} s long, and ${seen}.`,
		'Record at least 10 s of the moving card; a minute or more says far more.',
	);
}

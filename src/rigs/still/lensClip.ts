/**
 * A clip of the printed card, laminated in a tray, through a lens that is smeared with a named gel and flushed: the card is found in
 * the clean part, and each picture's contrast of lines is read at that place. Scope and card must stand still. The clip's times
 * are taken as written: the kit's own recording, not a phone's slow motion.
 */
import { basename } from 'node:path';
import { OutsideFailure } from '../../failure.ts';
import { type ClipSource, clipMs } from '../../imaging/clipFrame.ts';
import { lumaOf } from '../../imaging/planes.ts';
import { planesToRaster } from '../../imaging/planesToRaster.ts';
import { createRaster, type Raster } from '../../imaging/raster.ts';
import { rasterToPlanes } from '../../imaging/rasterToPlanes.ts';
import { FORMAT, type Header, type ObservationRecord, VERSION } from '../../observations/records.ts';
import { CARD_HEIGHT_MM, CARD_WIDTH_MM } from '../../pattern/detailCard.ts';
import type { CardPose } from '../../reading/cardPose.ts';
import { readDetail, readLineContrast } from '../../reading/detailCardReading.ts';
import { findDetailCard } from '../../reading/findDetailCard.ts';

export type LensClipOptions = {
	readonly runId: string;
	readonly toolVersion: string;
	readonly startedAt: string;
	/** Path of the clip, for its name. */
	readonly path: string;
	readonly place: string | null;
	/** Instants of the clip at which the gel was put on and, where they were marked, at which the flush began; ms from its first picture. */
	readonly smearedMs: readonly number[];
	readonly flushedMs: readonly number[];
	/** Which gel and how much of it, in the person's words. */
	readonly gel: string | null;
	readonly progress: (shareRatio: number, atMs: number) => void;
};

const ROWS = 1000;
const FULL = { matrix: '709', range: 'full' } as const;
/** A card that lies elsewhere at the end by more than this share of its width was moved. */
const MOVED_RATIO = 0.01;

type Row = [atMs: number, contrast: number];

/** Throws `OutsideFailure`: `lensClipForeign` (HDR or grey), `lensCardMissing`, `lensMoved`, and what reading the file throws. */
export async function readLensClip(
	source: ClipSource,
	options: LensClipOptions,
): Promise<ObservationRecord[]> {
	const { info } = source;
	if (info.transfer !== 'usual')
		throw foreign(options.path, 'an HDR clip, whose codes are not light as this bench knows it');
	const cleanUntilMs = Math.min(...options.smearedMs);
	const raster = createRaster(info.widthPx, info.heightPx);
	const rows: Row[] = [];
	let pose: CardPose | null = null;
	let detail: ReturnType<typeof readDetail> | null = null;
	let why = 'there is no picture before the lens was smeared';
	let firstMs: number | null = null;
	for await (const frame of source.frames()) {
		const fileMs = clipMs(frame.ticks, info.timeBase);
		firstMs ??= fileMs;
		const atMs = fileMs - firstMs;
		if (pose === null && atMs >= cleanUntilMs) break;
		options.progress(info.declaredMs === null ? 0 : atMs / info.declaredMs, atMs);
		const planes = frame.planes();
		if (planes === null) throw foreign(options.path, 'a clip without colour');
		planesToRaster(planes, info.encoding, raster);
		if (pose === null) {
			const found = findDetailCard(lumaOf(planes));
			if (found.kind === 'notMeasured') {
				why = found.explanation;
				continue;
			}
			pose = found.pose;
			detail = readDetail([raster], pose, null);
		}
		const contrast = readLineContrast(raster, pose);
		if (contrast !== null && !frame.damaged) rows.push([atMs, contrast]);
	}
	if (pose === null || detail === null) throw cardMissing(options.path, why);
	refuseMoved(options.path, { raster, pose });
	return recordsOf(options, { source, rows, detail });
}

function refuseMoved(path: string, { raster, pose }: { raster: Raster; pose: CardPose }): void {
	const again = findDetailCard(lumaOf(rasterToPlanes(raster, FULL)));
	if (again.kind === 'notMeasured') return;
	const corners = [
		{ x: 0, y: 0 },
		{ x: CARD_WIDTH_MM, y: CARD_HEIGHT_MM },
	];
	const movedPx = Math.max(
		...corners.map((corner) => {
			const [a, b] = [pose.toPicture(corner), again.pose.toPicture(corner)];
			return Math.hypot(a.x - b.x, a.y - b.y);
		}),
	);
	const middle = { x: CARD_WIDTH_MM / 2, y: CARD_HEIGHT_MM / 2 };
	if (movedPx <= MOVED_RATIO * CARD_WIDTH_MM * pose.pxPerMmAt(middle)) return;
	throw new OutsideFailure(
		'lensMoved',
		`${path}: the card lies ${movedPx.toFixed(0)} px elsewhere at the end than at the beginning.`,
		'Clamp the scope and lay the tray still, then film again: what moves cannot be told from what clears.',
	);
}

function foreign(path: string, what: string): OutsideFailure {
	return new OutsideFailure(
		'lensClipForeign',
		`${path} is ${what}.`,
		'Give the clip in ordinary colour, as the kit recorded it.',
	);
}

function cardMissing(path: string, why: string): OutsideFailure {
	return new OutsideFailure(
		'lensCardMissing',
		`${path}: the printed card was not found before the lens was smeared: ${why}`,
		'Film the whole card sharp for at least a second before the gel is put on, and check --smeared.',
	);
}

type Read = {
	readonly source: ClipSource;
	readonly rows: readonly Row[];
	readonly detail: ReturnType<typeof readDetail>;
};

function recordsOf(options: LensClipOptions, { source, rows, detail }: Read): ObservationRecord[] {
	const endMs = Math.max(1, rows.at(-1)![0]);
	const marks = (code: string, instants: readonly number[], words: string | null): ObservationRecord[] =>
		instants.map((atMs) => ({ kind: 'event', segment: 0, atMs, code, frameNumber: null, detail: words }));
	const parts: ObservationRecord[] = [];
	for (let from = 0; from < rows.length; from += ROWS)
		parts.push({ kind: 'clarity', segment: 0, rows: rows.slice(from, from + ROWS) });
	return [
		headerOf(options, source),
		{ kind: 'segment', segment: 0, startMs: 0, warmUpUntilMs: 0 },
		{ kind: 'detail', segment: 0, frameNumber: 0, atMs: 0, ...detail },
		...parts,
		...marks('smeared', options.smearedMs, options.gel),
		...marks('flushed', options.flushedMs, null),
		{ kind: 'segmentEnd', segment: 0, endMs, reason: 'fileEnd' },
		{ kind: 'end', atMs: endMs, reason: 'fileEnd' },
	];
}

function headerOf(options: LensClipOptions, { info }: ClipSource): Header {
	const { runId, toolVersion, startedAt, place, gel } = options;
	return {
		kind: 'header',
		format: FORMAT,
		version: VERSION,
		...{ toolVersion, runId, startedAt, place },
		rig: 'still',
		subject: {
			kind: 'recording',
			name: `the lens in ${basename(options.path)}${gel === null ? '' : `, smeared with ${gel}`}`,
			invented: false,
		},
		joined: null,
		profile: 'file',
		measuringPoints: { source: 'file', viewer: 'file' },
		viewerClock: 'reference',
		source: {
			layout: 'detail',
			...{ widthPx: info.widthPx, heightPx: info.heightPx },
			...{ rateHz: 1, seed: 0, difficulty: 'easy' },
		},
		path: null,
		displayPeriodMs: null,
		lostAfterMs: 1000,
		systematics: [],
		patches: [],
		colourReference: 'none',
	};
}

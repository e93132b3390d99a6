/**
 * A clip of one standing view of the printed card, as stills: a few of its pictures spread over its length. From a kit's own recording, or from a
 * film of its tablet while the scope looks at the card.
 */
import { basename } from 'node:path';
import { OutsideFailure } from '../../failure.ts';
import { type ClipSource, clipMs } from '../../imaging/clipFrame.ts';
import { planesToRaster } from '../../imaging/planesToRaster.ts';
import { createRaster } from '../../imaging/raster.ts';
import type { NamedStill } from './stillReading.ts';

/** As many as fit in memory twice over, and as noise from picture to picture needs. */
const MOST_STILLS = 12;
/** Where the file does not say how long it is. */
const USUAL_GAP_MS = 250;

/** Closes nothing. Throws `OutsideFailure`: `stillHdr`, `clipNoPicture`, and what reading the file throws. */
export async function stillsOfClip(source: ClipSource, path: string): Promise<NamedStill[]> {
	const { info } = source;
	const name = basename(path);
	refuseHdr(info, name);
	const gapMs = info.declaredMs === null ? USUAL_GAP_MS : info.declaredMs / MOST_STILLS;
	const stills: NamedStill[] = [];
	let nextMs = Number.NEGATIVE_INFINITY;
	for await (const frame of source.frames()) {
		const atMs = clipMs(frame.ticks, info.timeBase);
		if (atMs < nextMs || frame.damaged) continue;
		const planes = frame.planes();
		if (planes === null) break;
		const raster = createRaster(info.widthPx, info.heightPx);
		planesToRaster(planes, info.encoding, raster);
		stills.push({ name: `${name} at ${(atMs / 1000).toFixed(1)} s`, raster });
		nextMs = atMs + gapMs;
		if (stills.length === MOST_STILLS) break;
	}
	if (stills.length > 0) return stills;
	throw new OutsideFailure(
		'clipNoPicture',
		`${name} holds no whole picture in colour.`,
		'Give the original file, as the kit or the phone wrote it.',
	);
}

/** Throws `OutsideFailure` `stillHdr`. */
export function refuseHdr({ transfer }: ClipSource['info'], name: string): void {
	if (transfer !== 'usual')
		throw new OutsideFailure(
			'stillHdr',
			`${name} is an HDR clip: its codes are not colours or light as this bench knows them, so colour and detail are not measured.`,
			'Switch HDR off and film again, or give stills in ordinary colour.',
		);
}

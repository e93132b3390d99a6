/** The kit's own clip of the printed card held still and then moved by hand: looks at what movement costs (reading/movedCard.ts). */
import { basename } from 'node:path';
import { OutsideFailure } from '../../failure.ts';
import { type ClipSource, clipMs } from '../../imaging/clipFrame.ts';
import { planesToRaster } from '../../imaging/planesToRaster.ts';
import { createRaster } from '../../imaging/raster.ts';
import { createMovedCardReader, type MovedLook } from '../../reading/movedCard.ts';
import { refuseHdr } from './clipStills.ts';

/** Of a longer clip the rest is not looked at. */
const MOST_PICTURES = 600;

/** Closes nothing. Throws `OutsideFailure`: `stillHdr`, `stillNotMoved`, and what reading the file throws. */
export async function readMovedClip(source: ClipSource, path: string): Promise<MovedLook[]> {
	const { info } = source;
	refuseHdr(info, basename(path));
	const reader = createMovedCardReader();
	let firstMs: number | null = null;
	let count = 0;
	for await (const frame of source.frames()) {
		const fileMs = clipMs(frame.ticks, info.timeBase);
		firstMs ??= fileMs;
		const planes = frame.planes();
		if (planes === null || count++ >= MOST_PICTURES) break;
		const raster = createRaster(info.widthPx, info.heightPx);
		planesToRaster(planes, info.encoding, raster);
		reader.look(raster, fileMs - firstMs);
	}
	const looks = reader.finish();
	if (looks.length > 0) return looks;
	throw new OutsideFailure(
		'stillNotMoved',
		`In ${basename(path)} the card was not seen at rest and then moving by 1 to 12 px a picture.`,
		'Hold the card still for a second, then move it to and fro slowly, whole and sharp in view, for ten.',
	);
}

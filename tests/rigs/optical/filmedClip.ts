/** Clips as a filming phone would write them, made of simulated optics and encoded for real. */
import { join } from 'node:path';
import { createPlanes, type LumaPlane, type Planes } from '../../../src/imaging/planes.ts';
import { type ClipPlan, openClipWriter, WRITTEN_TICKS_HZ } from '../../../src/media/node/clipWriter.ts';
import {
	createOpticalCamera,
	type OpticalView,
	usualOpticalView,
} from '../../../src/simulation/opticalPixels.ts';
import type { OpticalSpec } from '../../../src/simulation/opticalSpec.ts';
import { newFolder } from '../../media/madeClips.ts';

export type FilmPlan = Partial<ClipPlan> & {
	readonly name?: string;
	/** Frames that stay in the file; all when left out. */
	readonly keep?: (frame: number) => boolean;
	/** The file's time of a frame, ms, in place of the phone's own. */
	readonly fileMs?: (frame: number, ownMs: number) => number;
	/** Done to each picture before it is encoded. */
	readonly spoil?: (luma: LumaPlane, frame: number) => void;
};

export type Film = { readonly path: string; readonly trueMs: Float64Array };

/** Gives the path, and the true time of each frame of the camera. */
export async function filmClip(
	spec: OpticalSpec,
	over: Partial<OpticalView> = {},
	{ name = 'clip.mp4', keep = () => true, fileMs = (_, own) => own, spoil, ...plan }: FilmPlan = {},
): Promise<Film> {
	const view = { ...usualOpticalView, ...over };
	const { widthPx, heightPx } = view;
	const camera = createOpticalCamera(spec, view);
	const path = join(newFolder(), name);
	const rateHz = Math.round(1000 / spec.phone.periodMs / spec.phone.stretch);
	const writer = await openClipWriter(path, { widthPx, heightPx, rateHz, ...plan });
	for (let frame = 0; frame < camera.frames; frame++) {
		if (!keep(frame)) continue;
		const luma = camera.frame(frame);
		spoil?.(luma, frame);
		const ticks = Math.round((fileMs(frame, camera.fileMs[frame]!) * WRITTEN_TICKS_HZ) / 1000);
		writer.write(greyPlanes(luma), ticks);
	}
	writer.close();
	return { path, trueMs: camera.trueMs };
}

/** Luma squeezed into the limited range that the file declares, without colour. */
function greyPlanes({ data, widthPx, heightPx }: LumaPlane): Planes {
	const planes = createPlanes(widthPx, heightPx);
	for (let i = 0; i < planes.y.length; i++) planes.y[i] = 16 + Math.round((data[i]! * 219) / 255);
	planes.u.fill(128);
	planes.v.fill(128);
	return planes;
}

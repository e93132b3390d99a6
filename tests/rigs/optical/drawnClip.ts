/**
 * Quickly drawn clips for the rig's manners: flat markers, a phone with no exposure and screens without response. Each frame shows the
 * laptop's tick and, on the tablet, the newest picture that has come; the true age of each frame is known to the tick.
 */
import { join } from 'node:path';
import { createPlanes, type Planes } from '../../../src/imaging/planes.ts';
import { type ClipPlan, openClipWriter, WRITTEN_TICKS_HZ } from '../../../src/media/node/clipWriter.ts';
import type { MarkerCopy } from '../../../src/pattern/markerCode.ts';
import { MODULES, markerModules } from '../../../src/pattern/markerFace.ts';
import { newFolder } from '../../media/madeClips.ts';

const TICK_MS = 1000 / 60.03;
const DARK = 40;
const LIGHT = 210;
const GROUND = 90;

export type Drawn = Partial<ClipPlan> & {
	readonly name?: string;
	readonly phoneHz?: number;
	readonly durationMs?: number;
	readonly delayMs?: number;
	/** Of a module of either marker, px. */
	readonly modulePx?: number;
	readonly tablet?: 'live' | 'missing' | 'frozen' | 'mirrored';
	/** Greatest change of a pixel of the room by noise, codes: what gives a decoder something to do. */
	readonly noise?: number;
	/** Of a hand's shake, px. */
	readonly shakePx?: number;
	/** The file's time of each frame, ms; in true time when left out. */
	readonly fileMs?: (trueMs: number) => number;
	/** Frames that stay in the file, by their true time. */
	readonly keep?: (trueMs: number) => boolean;
};

export async function drawClip(drawn: Drawn = {}): Promise<string> {
	const { name = 'clip.mp4', phoneHz = 120.2, durationMs = 6000, delayMs = 120, ...others } = drawn;
	const { widthPx = 320, heightPx = 180, shakePx = 0, noise = 0 } = drawn;
	const { modulePx = 6, tablet = 'live', fileMs = (ms) => ms, keep = () => true, ...plan } = others;
	const path = join(newFolder(), name);
	const writer = await openClipWriter(path, { rateHz: 60, ...plan, widthPx, heightPx });
	for (let frame = 0; (frame * 1000) / phoneHz < durationMs; frame++) {
		const trueMs = (frame * 1000) / phoneHz;
		if (!keep(trueMs)) continue;
		const planes = createPlanes(widthPx, heightPx);
		fillRoom(planes, noise, frame);
		planes.u.fill(128);
		planes.v.fill(128);
		const shake = Math.round(shakePx * Math.sin(trueMs / 400));
		draw(planes, 'free', { tick: tickAt(trueMs), xPx: Math.round(widthPx / 16) + shake, modulePx });
		if (tablet !== 'missing') {
			const tick = tablet === 'frozen' ? 400 : tickAt(shownContentMs(trueMs, delayMs));
			draw(planes, 'scope', {
				tick,
				xPx: Math.round((9 * widthPx) / 16) + shake,
				modulePx,
				mirrored: tablet === 'mirrored',
			});
		}
		writer.write(planes, Math.round((fileMs(trueMs) * WRITTEN_TICKS_HZ) / 1000));
	}
	writer.close();
	return path;
}

/** A scope of 29.9 pictures a second, each shown when it is `delayMs` old. */
const SCOPE_MS = 1000 / 29.9;

function shownContentMs(atMs: number, delayMs: number): number {
	return SCOPE_MS * Math.floor((atMs - delayMs) / SCOPE_MS);
}

/** Of this clip: mean age is the delay and half a picture's time. */
export function trueMeanAgeMs(delayMs: number): number {
	return delayMs + SCOPE_MS / 2;
}

function tickAt(atMs: number): number {
	return 1000 + Math.floor(atMs / TICK_MS);
}

/** A made-up row of noise, laid anew from another place in each row and frame. */
const noiseRow = Float32Array.from({ length: 8192 }, (_, i) => (((i * 2654435761) >>> 7) % 2001) / 1000 - 1);

function fillRoom({ y, widthPx, heightPx }: Planes, noise: number, frame: number): void {
	y.fill(GROUND);
	if (noise === 0) return;
	for (let row = 0; row < heightPx; row++) {
		const from = (row * 977 + frame * 3571) % (noiseRow.length - widthPx);
		for (let x = 0; x < widthPx; x++) y[row * widthPx + x]! += noise * noiseRow[from + x]!;
	}
}

type Drawing = {
	readonly tick: number;
	readonly xPx: number;
	readonly modulePx: number;
	readonly mirrored?: boolean;
};

function draw(planes: Planes, copy: MarkerCopy, { tick, xPx, modulePx, mirrored = false }: Drawing): void {
	const modules = markerModules(tick & 4095, { copy, rateHz: 60, session: 5 });
	const yPx = Math.round(planes.heightPx / 2 - (MODULES / 2) * modulePx);
	const sidePx = Math.round(MODULES * modulePx);
	for (let y = 0; y < sidePx; y++)
		for (let x = 0; x < sidePx; x++) {
			const column = Math.floor(x / modulePx);
			const place = Math.floor(y / modulePx) * MODULES + (mirrored ? MODULES - 1 - column : column);
			planes.y[(yPx + y) * planes.yStride + xPx + x] = modules[place] === 1 ? LIGHT : DARK;
		}
}

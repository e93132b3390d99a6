/**
 * One filmed clip read and measured: its markers located in the first second, then every frame's luma handed on, one at a time.
 * What cannot be read is a value with its reason, so that one bad clip of a session does not take the others with it.
 */
import { type ClipNote, type ClipSource, type ClipTransfer, clipMs } from '../../imaging/clipFrame.ts';
import { createClipReader } from '../../reading/clipReader.ts';
import { createMarkerLocator } from '../../reading/markerLocator.ts';
import { type ClipMeasurement, measureClip } from '../../reading/measureClip.ts';
import type { Located, NotRead } from '../../reading/opticalTypes.ts';

/** Frames that the markers are looked for in. */
const LOCATE_FRAMES = 60;
/** Shorter clips hold too few pictures to say anything; a fast clip is 20 to 30 s. */
const LEAST_MS = 5000;

export type OpticalClip = {
	readonly kind: 'clip';
	readonly name: string;
	readonly transfer: ClipTransfer;
	readonly measured: ClipMeasurement;
	readonly notes: readonly ClipNote[];
};

export type UnreadClip = NotRead & { readonly name: string };

export type ClipToRead = {
	readonly name: string;
	/** Opens the file anew at each call: once to find the markers, once to read. */
	readonly open: () => Promise<ClipSource>;
	readonly progress: (shareRatio: number, atMs: number) => void;
};

/** Throws only what opening the file throws. */
export async function readOpticalClip({
	name,
	open,
	progress,
}: ClipToRead): Promise<OpticalClip | UnreadClip> {
	const located = await locate(await open());
	if (located.kind === 'notMeasured') return { ...located, name };
	const source = await open();
	try {
		const { info } = source;
		const reader = createClipReader(located);
		let firstMs: number | null = null;
		let lengthMs = 0;
		for await (const { luma, ticks } of source.frames()) {
			const atMs = clipMs(ticks, info.timeBase);
			firstMs ??= atMs;
			lengthMs = atMs - firstMs;
			reader.look(luma, atMs);
			progress(info.declaredMs === null ? 0 : lengthMs / info.declaredMs, lengthMs);
		}
		if (lengthMs < LEAST_MS) return { ...tooShort(lengthMs), name };
		const measured = measureClip(reader.finish());
		if (measured.kind === 'notMeasured') return { ...measured, name };
		return { kind: 'clip', name, transfer: info.transfer, measured, notes: source.notes() };
	} finally {
		source.close();
	}
}

async function locate(source: ClipSource): Promise<Located | NotRead> {
	const locator = createMarkerLocator();
	let count = 0;
	try {
		for await (const { luma } of source.frames()) {
			locator.add(luma);
			if (++count >= LOCATE_FRAMES) break;
		}
	} finally {
		source.close();
	}
	return locator.locate();
}

function tooShort(lengthMs: number): NotRead {
	return {
		kind: 'notMeasured',
		reason: 'clipTooShort',
		explanation: `The clip is ${(lengthMs / 1000).toFixed(1)} s long; film 25 to 30 s at 120 or 240 frames a second, and 320 s or more at the ordinary rate.`,
	};
}

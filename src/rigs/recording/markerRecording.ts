/**
 * A recording of the optical card as the kit's scope saw it: one marker through a lens. It is located in the first second, read in
 * every frame, and equal frames are one picture.
 */
import { type ClipFrame, type ClipInfo, clipMs } from '../../imaging/clipFrame.ts';
import { createClipReader } from '../../reading/clipReader.ts';
import { createMarkerLocator } from '../../reading/markerLocator.ts';
import type { ClipReading, Located, MarkerTrack, NotRead } from '../../reading/opticalTypes.ts';
import { meanLead } from '../../reading/shutter.ts';
import { findPictures } from '../../reading/tabletPictures.ts';
import { type TickTrack, trackTicks } from '../../reading/tickTrack.ts';
import type { RecordedPictures } from './recordedPictures.ts';
import type { CardLook } from './stripRecording.ts';

/** Frames that the marker is looked for in. */
const LOCATE_FRAMES = 60;
/** Copies on one screen differ by scan-out (up to 20 ms) and by what a scope's rows are apart (up to 33 ms); no kit is so fast. */
const ONE_SCREEN_MS = 55;
/** A marker read in fewer frames is none, or cannot be read. */
const LEAST_GOOD_RATIO = 0.25;
const USUAL_HZ = 60;

export type MarkerReader = {
	look(frame: ClipFrame): void;
	finish(): { readonly recorded: RecordedPictures; readonly looks: readonly CardLook[] };
};

/** What the file's first second shows; throws nothing: a file without a marker has no pictures of the card. */
export async function locateMarker(frames: AsyncIterable<ClipFrame>): Promise<Located | NotRead> {
	const locator = createMarkerLocator();
	let count = 0;
	for await (const { luma } of frames) {
		locator.add(luma);
		if (++count >= LOCATE_FRAMES) break;
	}
	return locator.locate(1);
}

export function createMarkerRecordingReader(info: ClipInfo, located: Located): MarkerReader {
	const reader = createClipReader(located);
	return {
		look: (frame) => reader.look(frame.luma, clipMs(frame.ticks, info.timeBase)),
		finish: () => ({ recorded: recordedFrom(reader.finish()), looks: [] }),
	};
}

/** Of the largest marker that can be read; the card's copies show the same. */
function recordedFrom({ fileMs, tracks }: ClipReading): RecordedPictures {
	const read = tracks
		.map((track) => ({ track, ticks: trackTicks(track) }))
		.sort((a, b) => worth(b) - worth(a));
	const best = read[0];
	const unread = new Uint8Array(fileMs.length).fill(1);
	const nothing = { fileMs, pictures: [], unread, namedHz: null, showsTwoScreens: false };
	if (best === undefined || fileMs.length === 0) return nothing;
	const { track, ticks } = best;
	const frameMs = (fileMs.at(-1)! - fileMs[0]!) / Math.max(1, fileMs.length - 1);
	const pictures = findPictures(track, ticks, { from: 0, until: fileMs.length, frameMs });
	return {
		fileMs,
		pictures: pictures.map(({ tick, from, until }) => ({ tick, from, until })),
		unread: ticks.good.map((good) => 1 - good),
		namedHz: track.marker.label?.rateHz ?? null,
		showsTwoScreens: areApart(read),
	};
}

/** Whether two of the markers show the card further apart than one screen's copies can, scan-out and a scope's rolling shutter between them. */
function areApart(read: readonly Read[]): boolean {
	const good = read.filter(({ ticks }) => goodCount(ticks) >= LEAST_GOOD_RATIO * ticks.good.length);
	const rateHz =
		good.find(({ track }) => track.marker.label !== null)?.track.marker.label?.rateHz ?? USUAL_HZ;
	const leads = good.map(({ ticks }) => meanLead(ticks, good[0]!.ticks) ?? 0);
	return ((Math.max(...leads) - Math.min(...leads)) * 1000) / rateHz > ONE_SCREEN_MS;
}

type Read = { readonly track: MarkerTrack; readonly ticks: TickTrack };

function goodCount({ good }: TickTrack): number {
	return good.reduce((sum, each) => sum + each, 0);
}

function worth({ track, ticks }: Read): number {
	return goodCount(ticks) * 1e6 + track.marker.sidePx;
}

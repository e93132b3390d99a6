/**
 * Pictures of a received track, by the best way that this browser gives a page, found by trying and never by its name:
 *
 * 1. a track processor in the window, 2. one in a worker: frames as they leave the decoder, before any compositor. *Decoded* is
 *    then known; what is drawn of them, and when, is the page's own affair.
 * 3. a video element's callback (or, without one, the display's), and the frame taken from the element; 4. the same, drawn on a canvas: the
 *    element has decoded and chosen already, so *decoded* is not known and is told as null.
 *
 * The time stamps that frames bear are the connection's, and are never used.
 */

import type { Sight, TrackReader } from './sight.ts';
import { readByProcessor } from './trackProcessor.ts';
import { readByWorker } from './trackProcessorWorker.ts';
import { readByVideo } from './videoReader.ts';

/** Whether there is any way at all. */
export function canReadTracks(): boolean {
	return typeof RTCPeerConnection !== 'undefined' && typeof OffscreenCanvas !== 'undefined';
}

/** Reads until closed or the track ends. Rejects where no way works. */
export async function openTrackReader(
	track: MediaStreamTrack,
	onSight: (sight: Sight) => void,
): Promise<TrackReader> {
	const onFrame = (picture: VideoFrame): void =>
		onSight({ picture, decodedMs: performance.now(), missedCount: 0, mayRepeat: false });
	return (
		readByProcessor(track, onFrame) ??
		(await readByWorker(track, onFrame)) ??
		(await readByVideo(track, (seen) => onSight({ ...seen, decodedMs: null })))
	);
}

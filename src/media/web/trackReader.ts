/**
 * Frames of a received track as they leave the decoder, before any compositor: *decoded*, not presented. What is drawn of
 * them, and when, is the page's own affair. The time stamps that frames bear are the connection's, and are never used.
 *
 * Left out: browsers that give a page no track processor in the window (`canReadTracks` says so beforehand).
 */

type Processor = new (init: {
	readonly track: MediaStreamTrack;
	readonly maxBufferSize: number;
}) => { readonly readable: ReadableStream<VideoFrame> };

/** Frames that may wait for this page's turn; one more and the browser would throw the oldest away unseen. */
const MOST_WAITING = 30;

function processorOf(): Processor | null {
	const found: unknown = Reflect.get(globalThis, 'MediaStreamTrackProcessor');
	return typeof found === 'function' ? (found as Processor) : null;
}

export function canReadTracks(): boolean {
	return processorOf() !== null && typeof RTCPeerConnection !== 'undefined';
}

/** `onFrame` takes over the frame and must close it. Ends with the track. Throws `TypeError` where it cannot be done. */
export async function readTrack(
	track: MediaStreamTrack,
	onFrame: (frame: VideoFrame) => void,
): Promise<void> {
	const TrackProcessor = processorOf();
	if (TrackProcessor === null) throw new TypeError('this browser gives the page no track processor');
	const reader = new TrackProcessor({ track, maxBufferSize: MOST_WAITING }).readable.getReader();
	for (;;) {
		const { value: frame, done } = await reader.read();
		if (done) return;
		onFrame(frame);
	}
}

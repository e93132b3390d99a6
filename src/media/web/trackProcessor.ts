/** Frames of a track by a track processor, where this scope (a window, or a worker) has one. */
import type { TrackReader } from './sight.ts';

type Processor = new (init: {
	readonly track: MediaStreamTrack;
	readonly maxBufferSize: number;
}) => { readonly readable: ReadableStream<VideoFrame> };

/** Frames that may wait for their turn; one more and the browser would throw the oldest away unseen. */
const MOST_WAITING = 30;

function processorOf(): Processor | null {
	const found: unknown = Reflect.get(globalThis, 'MediaStreamTrackProcessor');
	return typeof found === 'function' ? (found as Processor) : null;
}

export function hasTrackProcessor(): boolean {
	return processorOf() !== null;
}

/** `onFrame` takes over the frame and must close it. Null where this scope has no processor, or it takes no such track. */
export function readByProcessor(
	track: MediaStreamTrack,
	onFrame: (frame: VideoFrame) => void,
): TrackReader | null {
	const TrackProcessor = processorOf();
	if (TrackProcessor === null) return null;
	const reader = openReader(TrackProcessor, track);
	if (reader === null) return null;
	const pump = async (): Promise<void> => {
		for (;;) {
			const { value: frame, done } = await reader.read();
			if (done) return;
			onFrame(frame);
		}
	};
	pump().catch(() => {});
	return { way: 'track processor', close: () => void reader.cancel().catch(() => {}) };
}

function openReader(
	TrackProcessor: Processor,
	track: MediaStreamTrack,
): ReadableStreamDefaultReader<VideoFrame> | null {
	try {
		return new TrackProcessor({ track, maxBufferSize: MOST_WAITING }).readable.getReader();
	} catch {
		return null;
	}
}

/**
 * A track processor in a worker, from the window's side. Frames are stamped when the window gets them: later than decoded by
 * the hop, on the one clock of this page. The worker's own clock begins elsewhere and is not used.
 */
import type { TrackReader } from './sight.ts';
import type { FromTrackWorker } from './trackWorker.ts';

/** A worker that has not said by then what it can do is not waited for. */
const ABLE_WITHIN_MS = 3000;

/** Null where workers have no processor, or where this browser hands no track over. */
export async function readByWorker(
	track: MediaStreamTrack,
	onFrame: (frame: VideoFrame) => void,
): Promise<TrackReader | null> {
	const worker = new Worker(new URL('./trackWorker.ts', import.meta.url), { type: 'module' });
	const close = (): void => worker.terminate();
	const isReading = await new Promise<boolean>((resolve) => {
		setTimeout(() => resolve(false), ABLE_WITHIN_MS);
		worker.onerror = () => resolve(false);
		worker.onmessage = ({ data }: MessageEvent<FromTrackWorker>) => {
			if ('frame' in data) {
				resolve(true);
				onFrame(data.frame);
			} else resolve('able' in data && data.able && isHandedOver(worker, track));
		};
	});
	if (isReading) return { way: 'track processor in a worker', close };
	close();
	return null;
}

/** A track that is not taken is still here; one that went over is not. */
function isHandedOver(worker: Worker, track: MediaStreamTrack): boolean {
	try {
		worker.postMessage(track, [track as unknown as Transferable]);
		return true;
	} catch {
		return false;
	}
}

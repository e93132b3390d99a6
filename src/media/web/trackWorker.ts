/** A worker with a track processor, for browsers that keep it from windows. Frames are handed on at once. */
import { hasTrackProcessor, readByProcessor } from './trackProcessor.ts';

export type FromTrackWorker =
	| { readonly able: boolean }
	| { readonly frame: VideoFrame }
	| { readonly failed: true };

const say = (message: FromTrackWorker, transfer: Transferable[] = []): void =>
	self.postMessage(message, { transfer });

self.onmessage = ({ data: track }: MessageEvent<MediaStreamTrack>): void => {
	if (readByProcessor(track, (frame) => say({ frame }, [frame])) === null) say({ failed: true });
};
say({ able: hasTrackProcessor() });

/**
 * Takes a frame for a close look now and then, at jittered instants so that the looking has no period of its own,
 * and hands it to a worker.
 */
import { holdAgain, type Picture } from '../../media/web/framePlanes.ts';
import type { CardSpec } from '../../pattern/card.ts';
import type { Sample, SampleAnswer, SampleRequest } from './sampleWorker.ts';

type KeptFrame = { readonly frameNumber: number | null; readonly planes: Uint8Array };
export type Sampler = {
	/** Looks at this frame if a sample is due; the frame stays the caller's. */
	offer(frame: Picture, frameNumber: number, atMs: number): void;
	/** The least like frame that was looked at. */
	takeKept(): Promise<KeptFrame>;
	close(): void;
};

/** The bench first settles the clock; a look before that stands in no segment and could only hide the worst of those that do. */
const SETTLE_MS = 4000;

export function startSampler(spec: CardSpec, everyMs: number, send: (message: Sample) => void): Sampler {
	const worker = new Worker(new URL('./sampleWorker.ts', import.meta.url), { type: 'module' });
	const ask = (request: SampleRequest, transfer: Transferable[] = []): void =>
		worker.postMessage(request, transfer);
	let dueMs = performance.now() + SETTLE_MS + everyMs * Math.random();
	let onKept: ((kept: KeptFrame) => void) | null = null;
	worker.onmessage = ({ data }: MessageEvent<SampleAnswer>) => {
		if (data.type === 'message') send(data.message);
		else onKept?.(data);
	};
	ask({ type: 'card', spec });

	return {
		offer(frame, frameNumber, atMs) {
			if (atMs < dueMs) return;
			dueMs = atMs + everyMs * (0.5 + Math.random());
			const copy = holdAgain(frame);
			ask({ type: 'sample', frame: copy, frameNumber, atMs }, [copy]);
		},
		takeKept() {
			return new Promise((resolve) => {
				onKept = resolve;
				ask({ type: 'kept' });
			});
		},
		close() {
			worker.terminate();
		},
	};
}

/** The headless viewer's process as the bench holds it: started again when it ends by itself, a few times. */
import type { ChildProcess } from 'node:child_process';
import { OutsideFailure } from '../../failure.ts';
import type { Random } from '../../statistics/random.ts';
import { ended, startChild, tell } from '../../transports/childChannel.ts';
import { fromHeadlessSchema, type HeadlessOrder } from './headlessMessages.ts';

const MAX_STARTS = 5;
const AGAIN_AFTER_MS = 300;
const STOP_WITHIN_MS = 2000;

export type HeadlessOptions = {
	readonly host: string;
	readonly controlPort: number;
	readonly random: Random;
	/** With how far its clock is ahead of the bench's. */
	readonly onStarted: (pid: number | undefined, clockAheadMs: number) => void;
	/** It cannot be had, or ended too often. */
	readonly onFailed: (failure: OutsideFailure) => void;
};

/** Starts it; the returned function ends it for good. */
export function keepHeadlessViewer(options: HeadlessOptions): () => Promise<void> {
	let child: ChildProcess | null = null;
	let timer: NodeJS.Timeout | undefined;
	let starts = 0;
	let closing = false;

	function start(): void {
		const { host, controlPort, random } = options;
		const started = startChild(import.meta.url, 'headlessProcess');
		child = started;
		starts++;
		started.on('message', (raw) => {
			const { code, happened, advice } = fromHeadlessSchema.parse(raw);
			closing = true;
			options.onFailed(new OutsideFailure(code, happened, advice));
		});
		started.once('exit', again);
		const seed = random.integer(2 ** 31);
		const clockAheadMs = 1000 * random.integer(1_000_000) + random.next();
		const order: HeadlessOrder = { type: 'view', host, controlPort, seed, clockAheadMs };
		tell(started, order);
		options.onStarted(started.pid, clockAheadMs);
	}

	function again(): void {
		if (closing) return;
		if (starts < MAX_STARTS) timer = setTimeout(start, AGAIN_AFTER_MS);
		else options.onFailed(viewerKeepsEnding());
	}

	start();
	return async () => {
		closing = true;
		clearTimeout(timer);
		if (child === null) return;
		if (child.connected) child.disconnect();
		await ended(child, STOP_WITHIN_MS);
	};
}

function viewerKeepsEnding(): OutsideFailure {
	return new OutsideFailure(
		'viewerKeepsEnding',
		`The receiving process ended by itself ${MAX_STARTS} times.`,
		'What was observed is kept; close other programs and measure again.',
	);
}

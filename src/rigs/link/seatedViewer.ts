/** The viewer in the seat: whether it is ready, settled, and still there. Silence is asked about before it is believed. */
import type { ToViewer } from '../../protocol/control.ts';
import type { Random } from '../../statistics/random.ts';
import { monotonicMs } from '../../transports/monotonic.ts';
import type { Hello } from './controlServer.ts';
import { Pinger } from './pinger.ts';

/** A viewer that says nothing for so long, pings included, is silent. */
const SILENT_AFTER_MS = 2000;
/** When nothing was heard for so long, a ping asks. */
const ASK_AFTER_MS = 600;

export class SeatedViewer {
	readonly hello: Hello;
	readonly pinger: Pinger;
	#ready = false;
	#silent = false;
	#heardMs = monotonicMs();
	#askedMs = this.#heardMs;

	constructor(hello: Hello, send: (message: ToViewer) => void, random: Random) {
		this.hello = hello;
		this.pinger = new Pinger(send, random);
	}

	/** Ready for pictures, its clock known well enough to begin, and not silent. */
	get isSettled(): boolean {
		return this.#ready && this.pinger.isSettled && !this.#silent;
	}

	markReady(): void {
		this.#ready = true;
	}

	/** It looks no longer; its clock may have stopped, so what is known of it is of no more use. */
	lookAway(): void {
		this.#ready = false;
		this.pinger.forget();
	}

	heard(atMs: number): void {
		this.#heardMs = atMs;
	}

	/** Asks when it is quiet; tells when it fell silent, and when it spoke again. */
	check(nowMs: number): 'fellSilent' | 'spokeAgain' | null {
		const quietMs = nowMs - this.#heardMs;
		if (quietMs > ASK_AFTER_MS && nowMs - this.#askedMs > ASK_AFTER_MS) {
			this.pinger.once();
			this.#askedMs = nowMs;
		}
		const isSilent = quietMs > SILENT_AFTER_MS;
		if (isSilent === this.#silent) return null;
		this.#silent = isSilent;
		return isSilent ? 'fellSilent' : 'spokeAgain';
	}
}

/**
 * Four-stamp pings to the viewer in jittered bursts, so that they meet no beat of anything periodic on the way. The samples
 * go into the run as they are; fitting the clock is the work of observations/clock.ts.
 *
 * The least round trip so far also gives the offset that the ledger needs while the run goes on.
 */
import { setTimeout as pause } from 'node:timers/promises';
import { type Ping, readPing } from '../../observations/clock.ts';
import type { FromViewer, ToViewer } from '../../protocol/control.ts';
import type { Random } from '../../statistics/random.ts';
import { monotonicMs, roundMs } from '../../transports/monotonic.ts';

const PINGS_BEFORE = 50;
const BURST_BEFORE = 12;
const BURST_DURING = 8;
const BURST_AFTER = 20;
/** Pings that were never answered are forgotten beyond this many. */
const MAX_OPEN = 200;

export class Pinger {
	readonly #send: (message: ToViewer) => void;
	readonly #random: Random;
	readonly #open = new Map<number, number>();
	#samples: [number, number, number, number][] = [];
	#nextId = 0;
	#answered = 0;
	#least: { readonly roundTripMs: number; readonly aheadMs: number } | null = null;
	#stopped = false;

	constructor(send: (message: ToViewer) => void, random: Random) {
		this.#send = send;
		this.#random = random;
	}

	/** Whether enough came back to begin. */
	get isSettled(): boolean {
		return this.#answered >= PINGS_BEFORE;
	}

	/** How far the viewer's clock is ahead; 0 before the first answer. */
	get aheadMs(): number {
		return this.#least?.aheadMs ?? 0;
	}

	/** Bursts one after another until settled, then one every 2 to 3 s until stopped. */
	async run(): Promise<void> {
		while (!this.#stopped) {
			await this.#burst(this.isSettled ? BURST_DURING : BURST_BEFORE);
			await pause(this.isSettled ? this.#between(2000, 3000) : this.#between(30, 90));
		}
	}

	/** One longer burst for the end of a run. */
	async after(): Promise<void> {
		await this.#burst(BURST_AFTER);
		await pause(50);
	}

	/** What was learned of the viewer's clock so far is forgotten; it settles anew. */
	forget(): void {
		this.#open.clear();
		this.#samples = [];
		this.#answered = 0;
		this.#least = null;
	}

	stop(): void {
		this.#stopped = true;
	}

	/** `heardMs`: when the answer's message arrived. Answers to no question are left aside. */
	pong({ id, t2, t3 }: Extract<FromViewer, { type: 'pong' }>, heardMs: number): void {
		const t1 = this.#open.get(id);
		if (t1 === undefined || t3 < t2) return;
		this.#open.delete(id);
		const sample: Ping = [roundMs(t1), t2, t3, roundMs(heardMs)];
		this.#samples.push([...sample]);
		this.#answered++;
		const { roundTripMs, aheadMs } = readPing(sample);
		if (this.#least === null || roundTripMs < this.#least.roundTripMs) this.#least = { roundTripMs, aheadMs };
	}

	takeSamples(): [number, number, number, number][] {
		const samples = this.#samples;
		this.#samples = [];
		return samples;
	}

	/** One ping, also to hear whether anyone is there. */
	once(): void {
		const id = this.#nextId++;
		if (this.#open.size >= MAX_OPEN) this.#open.delete(this.#open.keys().next().value ?? -1);
		const t1 = monotonicMs();
		this.#open.set(id, t1);
		this.#send({ type: 'ping', id, t1: roundMs(t1) });
	}

	async #burst(count: number): Promise<void> {
		for (let i = 0; i < count && !this.#stopped; i++) {
			this.once();
			await pause(this.#between(4, 16));
		}
	}

	#between(fromMs: number, toMs: number): number {
		return fromMs + this.#random.next() * (toMs - fromMs);
	}
}

/**
 * Packets of one way of the probe, joined from two ends: who sent what when, and who got what when. A packet that was sent
 * and not told of as received in time is lost; one that comes after that stays lost. What nobody sent is not taken.
 */
import type { ProbePacket } from '../../observations/probes.ts';

/** A report comes at most this much after what it tells of. */
const REPORT_GRACE_MS = 1500;
/** Received numbers whose sending is not known yet; more is hostile or broken. */
const MOST_EARLY = 5000;

type Open = {
	readonly sequence: number;
	readonly sentMs: number;
	readonly knownMs: number;
	receivedMs: number | null;
};

export class ProbeLedger {
	readonly #lostAfterMs: number;
	/** In order of sending. */
	readonly #open = new Map<number, Open>();
	readonly #early = new Map<number, number>();

	constructor(lostAfterMs: number) {
		this.#lostAfterMs = lostAfterMs;
	}

	/** `knownMs`: when the report came, reference clock. */
	sent(instants: readonly (readonly [number, number])[], knownMs: number): void {
		for (const [sequence, sentMs] of instants) {
			const receivedMs = this.#early.get(sequence) ?? null;
			this.#early.delete(sequence);
			if (!this.#open.has(sequence)) this.#open.set(sequence, { sequence, sentMs, knownMs, receivedMs });
		}
	}

	got(instants: readonly (readonly [number, number])[]): void {
		for (const [sequence, receivedMs] of instants) {
			const packet = this.#open.get(sequence);
			if (packet !== undefined) packet.receivedMs ??= receivedMs;
			else if (this.#early.size < MOST_EARLY) this.#early.set(sequence, receivedMs);
		}
	}

	/** Forgets everything: another viewer, or nobody looks. */
	clear(): void {
		this.#open.clear();
		this.#early.clear();
	}

	/** What is settled, in order of sending, in runs of numbers without a gap. A packet waits for those before it. */
	take(nowMs: number): ProbePacket[][] {
		const overdueMs = this.#overdueMs(nowMs);
		const settled: Open[] = [];
		for (const packet of this.#open.values()) {
			if (packet.receivedMs === null && packet.knownMs > overdueMs) break;
			settled.push(packet);
		}
		return this.#give(settled);
	}

	/**
	 * The stretch in which they were sent ends: all that is settled, whatever is still open before it. What is open stays, and is settled
	 * by its time; `silent`: nobody tells any more, and what should have been told of by now is lost with the pictures.
	 */
	takeAll(nowMs: number, silent: boolean): ProbePacket[][] {
		const overdueMs = silent ? nowMs - REPORT_GRACE_MS : this.#overdueMs(nowMs);
		return this.#give(
			[...this.#open.values()].filter(
				({ receivedMs, knownMs }) => receivedMs !== null || knownMs <= overdueMs,
			),
		);
	}

	#overdueMs(nowMs: number): number {
		return nowMs - this.#lostAfterMs - REPORT_GRACE_MS;
	}

	#give(settled: readonly Open[]): ProbePacket[][] {
		const runs: ProbePacket[][] = [];
		for (const { sequence, sentMs, receivedMs } of settled) {
			this.#open.delete(sequence);
			const run = runs.at(-1);
			if (run?.at(-1)?.sequence === sequence - 1) run?.push({ sequence, sentMs, receivedMs });
			else runs.push([{ sequence, sentMs, receivedMs }]);
		}
		// Whatever is older than all that is open was given up long ago.
		const [oldest] = this.#open.keys();
		if (oldest !== undefined)
			for (const sequence of this.#early.keys()) if (sequence < oldest) this.#early.delete(sequence);
		return runs;
	}
}

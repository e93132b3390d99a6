/**
 * A probe packet on its channel: four bytes that say it is one, four of its number (big endian). No time travels in it: each
 * end keeps when it sent which number, and when it got which.
 */
const MARK = 0x70726f62;
const BYTES = 8;

/** Throws `RangeError` when the number does not fit 32 bits. */
export function packProbe(sequence: number): Uint8Array {
	if (!Number.isInteger(sequence) || sequence < 0 || sequence > 0xffffffff)
		throw new RangeError(`probe number must fit 32 bits, got ${sequence}`);
	const bytes = new Uint8Array(BYTES);
	const view = new DataView(bytes.buffer);
	view.setUint32(0, MARK);
	view.setUint32(4, sequence);
	return bytes;
}

/** Its number; null when it is not one of ours. */
export function unpackProbe(bytes: Uint8Array): number | null {
	if (bytes.length !== BYTES) return null;
	const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
	return view.getUint32(0) === MARK ? view.getUint32(4) : null;
}

/** A late end makes up for this many spacings at once; what it is behind by more is not sent. */
const MOST_BEHIND = 4;

export type ProbePace = {
	/** Just after a packet was sent: how long to wait for the next. */
	waitMs(nowMs: number): number;
};

/**
 * Packets at a mean rate, each spaced by a draw, even from 0.4 to 1.6 of the mean, so that no beat is met. Counted from when a packet was
 * due and not from when a late timer sent it: timers are late only, and a browser's never wait under 4 ms, so that the rate would fall
 * by up to a fifth. `draw` gives numbers from 0 to 1.
 */
export function openProbePace(perSecond: number, draw: () => number, beginMs: number): ProbePace {
	const meanMs = 1000 / perSecond;
	let dueMs = beginMs;
	return {
		waitMs(nowMs) {
			dueMs = Math.max(dueMs + meanMs * (0.4 + 1.2 * draw()), nowMs - MOST_BEHIND * meanMs);
			return Math.max(0, dueMs - nowMs);
		},
	};
}

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

/** Spacing to the next packet for a draw between 0 and 1: even from 0.4 to 1.6 of the mean, so that no beat is met. */
export function probeSpacingMs(perSecond: number, draw: number): number {
	return (1000 / perSecond) * (0.4 + 1.2 * draw);
}

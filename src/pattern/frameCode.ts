/**
 * The frame code: 48 bits that say which frame of which card is seen.
 *
 *   bits  0..7   layout mark (`layoutMarks`)
 *   bits  8..31  frame number, most significant bit first
 *   bits 32..47  CRC-16 over the four bytes before
 *
 * A word of 48 random bits passes the CRC once in 2^16 = 65,536, and names the card that the reader expects once in 2^24
 * (about 17 million). It detects errors and corrects none: a frame that cannot be read is counted as unreadable.
 */
import { crc16 } from './crc16.ts';

export const NUMBER_BITS = 24;
export const CHECK_BITS = 16;
export const CODE_BITS = 48;
/** Frame numbers run from 0 to one below this: 77 hours at 60 frames a second. */
export const FRAME_NUMBERS = 2 ** 24;
const MARK_AND_NUMBER_BYTES = 4;

/** The 48 bits, each 0 or 1, first to last; throws `RangeError` when the number or the mark does not fit. */
export function encodeFrameNumber(frameNumber: number, layoutMark: number): Uint8Array {
	if (!Number.isInteger(frameNumber) || frameNumber < 0 || frameNumber >= FRAME_NUMBERS)
		throw new RangeError(`frame number must be a whole number below 2^24, got ${frameNumber}`);
	if (!Number.isInteger(layoutMark) || layoutMark < 0 || layoutMark > 0xff)
		throw new RangeError(`layout mark must be one byte, got ${layoutMark}`);
	const head = [layoutMark, frameNumber >>> 16, (frameNumber >>> 8) & 0xff, frameNumber & 0xff];
	const check = crc16(head);
	const bytes = [...head, check >>> 8, check & 0xff];
	return Uint8Array.from({ length: CODE_BITS }, (_, bit) => (bytes[bit >> 3]! >> (7 - (bit & 7))) & 1);
}

/** What 48 bits say, or null when the check does not hold. */
export function decodeFrameBits(bits: ArrayLike<number>): { frameNumber: number; layoutMark: number } | null {
	if (bits.length !== CODE_BITS) throw new RangeError(`a code has ${CODE_BITS} bits, got ${bits.length}`);
	const bytes = new Uint8Array(CODE_BITS / 8);
	for (let bit = 0; bit < CODE_BITS; bit++) bytes[bit >> 3]! |= bits[bit]! << (7 - (bit & 7));
	const check = (bytes[4]! << 8) | bytes[5]!;
	if (crc16(bytes.subarray(0, MARK_AND_NUMBER_BYTES)) !== check) return null;
	return { layoutMark: bytes[0]!, frameNumber: (bytes[1]! << 16) | (bytes[2]! << 8) | bytes[3]! };
}

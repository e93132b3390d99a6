/**
 * CRC-16/IBM-3740 (also called CCITT-FALSE): polynomial 0x1021, initial value 0xFFFF, not reflected, no final exclusive or.
 * The initial value is not zero on purpose: with zero, a strip of all black cells would be a valid word.
 * Source: the published catalogue of CRC parameters; check values in tests/vectors/crc16.ts.
 */
const POLYNOMIAL = 0x1021;
const INITIAL = 0xffff;

/** The checksum of the bytes, 0 to 0xFFFF. */
export function crc16(bytes: ArrayLike<number>): number {
	let register = INITIAL;
	for (let index = 0; index < bytes.length; index++) {
		register ^= bytes[index]! << 8;
		for (let bit = 0; bit < 8; bit++)
			register = register & 0x8000 ? ((register << 1) ^ POLYNOMIAL) & 0xffff : register << 1;
	}
	return register;
}

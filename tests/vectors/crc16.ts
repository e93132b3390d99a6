/**
 * CRC-16/IBM-3740 (poly 1021, init FFFF, not reflected, xorout 0). The check of "123456789" is published in the
 * catalogue of CRC parameters; the other three were computed from the same parameters by an independent program.
 */
export const crc16Vectors: readonly (readonly [string, readonly number[], number])[] = [
	['"123456789"', [...'123456789'].map((digit) => digit.charCodeAt(0)), 0x29b1],
	['nothing', [], 0xffff],
	['one zero byte', [0x00], 0xe1f0],
	['"A"', [0x41], 0xb915],
];

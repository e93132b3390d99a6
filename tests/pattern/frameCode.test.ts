import fc from 'fast-check';
import { expect, test } from 'vitest';
import { layoutMarks } from '../../src/pattern/card.ts';
import {
	CHECK_BITS,
	CODE_BITS,
	decodeFrameBits,
	encodeFrameNumber,
	FRAME_NUMBERS,
	NUMBER_BITS,
} from '../../src/pattern/frameCode.ts';

const frameNumbers = fc.integer({ min: 0, max: FRAME_NUMBERS - 1 });
const marks = fc.integer({ min: 0, max: 255 });

test('there are at least 24 bits of frame number and 16 check bits', () => {
	expect(NUMBER_BITS).toBeGreaterThanOrEqual(24);
	expect(CHECK_BITS).toBeGreaterThanOrEqual(16);
	expect(encodeFrameNumber(0, 0)).toHaveLength(8 + NUMBER_BITS + CHECK_BITS);
});

test('a number encoded comes back with its layout mark', () => {
	fc.assert(
		fc.property(frameNumbers, marks, (frameNumber, layoutMark) => {
			const bits = encodeFrameNumber(frameNumber, layoutMark);
			expect(decodeFrameBits(bits)).toEqual({ frameNumber, layoutMark });
		}),
	);
});

test('any one, two or three wrong bits, and any burst of up to 16, are noticed', () => {
	const flips = fc.uniqueArray(fc.integer({ min: 0, max: CODE_BITS - 1 }), { minLength: 1, maxLength: 3 });
	fc.assert(
		fc.property(frameNumbers, flips, (frameNumber, flipped) => {
			const bits = encodeFrameNumber(frameNumber, layoutMarks.link);
			for (const bit of flipped) bits[bit]! ^= 1;
			expect(decodeFrameBits(bits)).toBeNull();
		}),
	);
	const bursts = fc.tuple(fc.integer({ min: 0, max: CODE_BITS - 16 }), fc.integer({ min: 1, max: 0xffff }));
	fc.assert(
		fc.property(frameNumbers, bursts, (frameNumber, [at, pattern]) => {
			const bits = encodeFrameNumber(frameNumber, layoutMarks.link);
			for (let bit = 0; bit < 16; bit++) bits[at + bit]! ^= (pattern >> bit) & 1;
			expect(decodeFrameBits(bits)).toBeNull();
		}),
	);
});

test('all zeros and all ones are no code', () => {
	expect(decodeFrameBits(new Uint8Array(CODE_BITS))).toBeNull();
	expect(decodeFrameBits(new Uint8Array(CODE_BITS).fill(1))).toBeNull();
});

test('a number that does not fit is the caller’s mistake', () => {
	for (const wrong of [-1, 0.5, FRAME_NUMBERS, Number.NaN])
		expect(() => encodeFrameNumber(wrong, 0)).toThrow(RangeError);
	expect(() => encodeFrameNumber(0, 256)).toThrow('layout mark must be one byte, got 256');
	expect(() => decodeFrameBits([1, 0, 1])).toThrow('a code has 48 bits, got 3');
});

import { expect, test } from 'vitest';
import { crc16 } from '../../src/pattern/crc16.ts';
import { crc16Vectors } from '../vectors/crc16.ts';

test.each(crc16Vectors)('the checksum of %s is the published one', (_, bytes, expected) => {
	expect(crc16(bytes)).toBe(expected);
});

test('leading zero bytes change the checksum, so black cells are not free', () => {
	expect(crc16([0, 0, 0, 0])).not.toBe(0);
	expect(crc16([0, 1])).not.toBe(crc16([1]));
});

import { expect, test } from 'vitest';
import {
	formatAgainst,
	formatDuration,
	formatLimit,
	formatMs,
	formatNumber,
	formatShare,
} from '../../src/report/numbers.ts';
import { delayName, measuringPointsWords, notMeasuredWords } from '../../src/report/words.ts';

test('groups of three are set apart from five digits up', () => {
	expect(formatNumber(9300)).toBe('9300');
	expect(formatNumber(12_345)).toBe('12\u202f345');
	expect(formatNumber(1_234_567.891, 1)).toBe('1\u202f234\u202f567.9');
});

test('a figure that rounds to nothing has no sign', () => {
	expect(formatNumber(-0.04, 1)).toBe('0.0');
	expect(formatNumber(-0.06, 1)).toBe('\u22120.1');
});

test('what is not a number is never printed', () => {
	for (const value of [Number.NaN, Number.POSITIVE_INFINITY])
		expect(() => formatMs(value)).toThrow(RangeError);
});

test('a bound just over its limit does not look like the limit', () => {
	expect(formatAgainst(0.05001, 0.05, 'ratio')).toBe('5.001\u202f%');
	expect(formatAgainst(0.05, 0.05, 'ratio')).toBe('5.00\u202f%');
	expect(formatAgainst(100.04, 100, 'ms')).toBe('100.04\u202fms');
	expect(formatAgainst(0.6004, 0.6, 'perMin')).toBe('0.6004/min');
	expect(formatAgainst(0.062, 0.05, 'ratio')).toBe('6.20\u202f%');
});

test('a limit is written as it was stated', () => {
	expect(formatLimit(0.05, 'ratio')).toBe('5\u202f%');
	expect(formatLimit(0.6, 'perMin')).toBe('0.6/min');
	expect(formatLimit(3, 'deltaE')).toBe('3');
});

test('durations are told in the units a person would use', () => {
	expect(formatDuration(42_000)).toBe('42\u202fs');
	expect(formatDuration(310_000)).toBe('5\u202fmin 10\u202fs');
	expect(formatDuration(28_800_000)).toBe('8\u202fh 0\u202fmin');
	expect(formatDuration(59_990)).toBe('1\u202fmin 0\u202fs');
	expect(formatShare(0.5)).toBe('50.0\u202f%');
});

test('the delay is named for the points it was taken between', () => {
	expect(delayName({ source: 'generated', viewer: 'presented' })).toBe(
		'delay, from picture made to picture shown',
	);
	expect(delayName({ source: 'generated', viewer: 'decoded' })).toContain('picture decoded');
	expect(measuringPointsWords({ source: 'generated', viewer: 'decoded' })).toContain(
		'the way on to the glass is not in it',
	);
	expect(measuringPointsWords({ source: 'file', viewer: 'file' })).toContain('no delay is read');
});

test('a reason is told in words', () => {
	expect(notMeasuredWords('seenBeforeShown')).toBe('not measured: seen before shown');
});

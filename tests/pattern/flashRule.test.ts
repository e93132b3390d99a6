import { expect, test } from 'vitest';
import type { Rgb } from '../../src/colour/rgb.ts';
import { type FlashArea, judgeFlashes } from '../../src/pattern/flashRule.ts';

const FULL_SCREEN = 1280 * 800;

test('a full screen going from black to white twice a second keeps the rule, four times breaks it', () => {
	expect(judgeFlashes([between(0, 255, { flashesPerSecond: 2 })])).toMatchObject({
		pass: true,
		areaCssPx: 0,
	});
	expect(judgeFlashes([between(0, 255, { flashesPerSecond: 3 })]).pass).toBe(true);
	expect(judgeFlashes([between(0, 255, { flashesPerSecond: 4 })])).toMatchObject({
		pass: false,
		flashesPerSecond: 4,
		areaCssPx: FULL_SCREEN,
		deltaLuminance: expect.closeTo(1, 9),
	});
});

test('black against grey 80 is no flash at any size and rate; against grey 90 it is one, until it is small', () => {
	expect(judgeFlashes([between(0, 80, { flashesPerSecond: 30 })])).toMatchObject({
		pass: true,
		flashesPerSecond: 0,
	});
	expect(judgeFlashes([between(0, 90, { flashesPerSecond: 30 })]).pass).toBe(false);
	expect(judgeFlashes([between(0, 90, { flashesPerSecond: 30, areaCssPx: 21_824 })]).pass).toBe(true);
});

test('sixteen cells of 36 px keep the area rule, of 38 px break it', () => {
	const cells = (sidePx: number) =>
		Array.from({ length: 16 }, () => between(0, 255, { flashesPerSecond: 15, areaCssPx: sidePx ** 2 }));
	expect(judgeFlashes(cells(36))).toMatchObject({ pass: true, areaCssPx: 20_736 });
	expect(judgeFlashes(cells(38))).toMatchObject({ pass: false, areaCssPx: 23_104 });
	expect(judgeFlashes(cells(38)).why).toContain('more than the 21824');
});

test('two bright states are no flash: the darker has 0.80 of the greatest luminance', () => {
	expect(judgeFlashes([between(232, 255, { flashesPerSecond: 30 })]).pass).toBe(true);
	expect(judgeFlashes([between(230, 255, { flashesPerSecond: 30 })]).pass).toBe(false);
});

test('pure red against black breaks the rule, and so does a red too dark to be a general flash', () => {
	expect(judgeFlashes([full([255, 0, 0], [0, 0, 0])]).pass).toBe(false);
	// 120 in red alone has a luminance of 0.04: only the red rule can object.
	expect(judgeFlashes([full([120, 0, 0], [0, 0, 0])])).toMatchObject({ pass: false });
	expect(judgeFlashes([full([120, 0, 0], [110, 0, 0])]).pass).toBe(true);
	expect(judgeFlashes([full([0, 0, 120], [0, 0, 0])]).pass).toBe(true);
});

test('an area that is slow does not count, whatever flashes beside it', () => {
	const slow = between(0, 255, { flashesPerSecond: 1.875 });
	const fast = between(0, 255, { flashesPerSecond: 30, areaCssPx: 1000 });
	expect(judgeFlashes([slow, fast])).toMatchObject({ pass: true, areaCssPx: 1000 });
});

test('nothing shown keeps the rule', () => {
	expect(judgeFlashes([])).toEqual({
		pass: true,
		flashesPerSecond: 0,
		areaCssPx: 0,
		deltaLuminance: 0,
		why: 'Nothing changes enough in luminance or in red to count as a flash.',
	});
});

test('a size or rate that is no number is the caller’s mistake, never a pass', () => {
	expect(() => judgeFlashes([between(0, 255, { flashesPerSecond: Number.NaN })])).toThrow(RangeError);
	expect(() => judgeFlashes([between(0, 255, { flashesPerSecond: 4, areaCssPx: -1 })])).toThrow(RangeError);
});

function between(
	dark: number,
	light: number,
	options: { flashesPerSecond: number; areaCssPx?: number },
): FlashArea {
	const states = [
		[dark, dark, dark],
		[light, light, light],
	] as const;
	return { name: 'cell', areaCssPx: FULL_SCREEN, states, ...options };
}

function full(first: Rgb, second: Rgb): FlashArea {
	return { name: 'screen', areaCssPx: FULL_SCREEN, states: [first, second], flashesPerSecond: 10 };
}

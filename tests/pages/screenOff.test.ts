import { expect, test } from 'vitest';
import { ScreenOff } from '../../src/pages/tablet/screenOff.ts';

test('how long the screen stayed on without a touch is told, and a touch begins the count anew without forgetting the longest', () => {
	const screen = new ScreenOff(1000);
	expect(screen.words(41_000)).toContain('stayed on for 40 s so far');
	screen.touched(41_000);
	expect(screen.words(61_000)).toContain('stayed on for 40 s so far');
	expect(screen.words(191_000)).toContain('stayed on for 2 min 30 s so far');
});

test('a screen that goes dark untouched is told with its time and the setting to change, until it has stayed on longer', () => {
	const screen = new ScreenOff(0);
	screen.touched(10_000);
	screen.dark(41_000);
	screen.back(50_000);
	expect(screen.words(51_000)).toMatch(/went dark.*after 31 s without a touch.*screen-off time/);
	// The time in the dark is no time on.
	expect(screen.words(80_000)).toContain('went dark');
	expect(screen.words(100_000)).toContain('stayed on for 50 s so far');
});

test('a page that is left by hand says nothing of a setting', () => {
	const screen = new ScreenOff(0);
	screen.touched(10_000);
	screen.dark(12_000);
	screen.back(20_000);
	expect(screen.words(21_000)).not.toContain('went dark');
});

import { defineConfig } from 'vitest/config';

/**
 * `unit` needs Node only and stays under three minutes. `whole` runs the built program from outside, with real sockets
 * and real H.264. `browser` drives an installed Chromium; STEERWORTHY_BROWSER=required makes its absence a failure.
 */

/** After the unit tests, two files at a time: they wait more than they reckon, and one by one they take twenty minutes. */
const TWO_AT_ONCE = { maxWorkers: 2, sequence: { groupOrder: 1 } };

export default defineConfig({
	test: {
		reporters: ['default', './tests/closingLine.ts'],
		projects: [
			{
				test: {
					name: 'unit',
					include: ['tests/**/*.test.ts'],
					exclude: ['tests/browser/**', 'tests/whole/**'],
					setupFiles: ['tests/seededProperties.ts'],
					testTimeout: 60_000,
					hookTimeout: 60_000,
					// Unsaid, one core of two stays idle.
					maxWorkers: '100%',
				},
			},
			{
				test: {
					name: 'whole',
					include: ['tests/whole/**/*.test.ts'],
					testTimeout: 300_000,
					hookTimeout: 120_000,
					...TWO_AT_ONCE,
				},
			},
			{
				test: {
					name: 'browser',
					include: ['tests/browser/**/*.test.ts'],
					testTimeout: 180_000,
					hookTimeout: 120_000,
					...TWO_AT_ONCE,
				},
			},
		],
	},
});

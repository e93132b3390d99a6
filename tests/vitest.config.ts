import { defineConfig } from 'vitest/config';

/** Two projects: `unit` needs Node only; `browser` drives an installed Chromium and runs the built program. */
export default defineConfig({
	test: {
		projects: [
			{
				test: {
					name: 'unit',
					root: '.',
					include: ['tests/**/*.test.ts'],
					exclude: ['tests/browser/**', 'tests/whole/**'],
					testTimeout: 30_000,
				},
			},
			{
				test: {
					name: 'browser',
					root: '.',
					include: ['tests/browser/**/*.test.ts'],
					testTimeout: 180_000,
					hookTimeout: 120_000,
					fileParallelism: false,
				},
			},
			{
				test: {
					name: 'whole',
					root: '.',
					include: ['tests/whole/**/*.test.ts'],
					testTimeout: 300_000,
					hookTimeout: 120_000,
					fileParallelism: false,
				},
			},
		],
	},
});

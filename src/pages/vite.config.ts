import { existsSync, readdirSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { defineConfig } from 'vite';

/** Every folder here with an `index.html` is a page. */
const pages = readdirSync(import.meta.dirname).filter((name) =>
	existsSync(join(import.meta.dirname, name, 'index.html')),
);

/** Builds the pages into dist/pages: no address but the bench's own, so that they work with the internet off. */
export default defineConfig({
	root: import.meta.dirname,
	base: './',
	logLevel: 'warn',
	worker: { format: 'es' },
	build: {
		outDir: resolve(import.meta.dirname, '../../dist/pages'),
		emptyOutDir: true,
		target: 'es2022',
		modulePreload: { polyfill: false },
		rollupOptions: {
			input: Object.fromEntries(
				pages.map((page) => [page, resolve(import.meta.dirname, page, 'index.html')]),
			),
		},
	},
});

import { resolve } from 'node:path';
import { defineConfig } from 'vite';

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
		rollupOptions: { input: { tablet: resolve(import.meta.dirname, 'tablet/index.html') } },
	},
});

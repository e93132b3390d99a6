/** The card drawn in a browser is the card drawn in Node, byte for byte: raster and planes. */
import { createHash } from 'node:crypto';
import { resolve } from 'node:path';
import { chromium } from 'playwright-core';
import { build } from 'vite';
import { describe, expect, test } from 'vitest';
import { findBrowser } from '../../src/cli/installedBrowser.ts';
import { CARD_SIZES, type CardSpec } from '../../src/pattern/card.ts';
import { createCardPainter } from '../../src/pattern/painter.ts';

const executablePath = findBrowser();
const FRAMES = [0, 1, 29, 4711, 2 ** 24 - 1];
const SPECS: readonly CardSpec[] = CARD_SIZES.flatMap((size) =>
	(['easy', 'hard'] as const).map((difficulty) => ({ layout: 'link', size, seed: 77, difficulty }) as const),
);

function hashes(spec: CardSpec): string[] {
	const painter = createCardPainter(spec);
	return FRAMES.flatMap((frame) => {
		const { y, u, v } = painter.paintPlanes(frame);
		return [hash(painter.paint(frame).rgba), hash(y), hash(u), hash(v)];
	});
}

function hash(bytes: Uint8Array | Uint8ClampedArray): string {
	return createHash('sha256').update(bytes).digest('hex');
}

async function painterScript(): Promise<string> {
	const built = await build({
		configFile: false,
		logLevel: 'silent',
		build: {
			write: false,
			lib: {
				entry: resolve(import.meta.dirname, '../../src/pattern/painter.ts'),
				formats: ['iife'],
				name: 'painter',
			},
		},
	});
	const [bundle] = Array.isArray(built) ? built : [built];
	if (bundle === undefined || !('output' in bundle)) throw new Error('nothing was built');
	return bundle.output[0].code;
}

describe.skipIf(executablePath === null)('a card in the browser', () => {
	test('has the bytes that Node draws, for every size, difficulty and frame', async () => {
		const browser = await chromium.launch({ executablePath: executablePath ?? '', args: ['--no-sandbox'] });
		try {
			const page = await browser.newPage();
			await page.goto('about:blank');
			await page.addScriptTag({ content: `${await painterScript()}\nwindow.painter = painter;` });
			// As text, so that no bundler's marks travel into the page. SHA-256 needs a secure page; bytes are compared here.
			const drawn = (await page.evaluate(
				`(${JSON.stringify(SPECS)}).map((spec) => {
					const made = window.painter.createCardPainter(spec);
					const text = (bytes) => {
						let all = '';
						for (let i = 0; i < bytes.length; i += 32768) all += String.fromCharCode(...bytes.subarray(i, i + 32768));
						return btoa(all);
					};
					return (${JSON.stringify(FRAMES)}).flatMap((frame) => {
						const { y, u, v } = made.paintPlanes(frame);
						return [made.paint(frame).rgba, y, u, v].map(text);
					});
				})`,
			)) as string[][];
			expect(drawn).toHaveLength(SPECS.length);
			SPECS.forEach((spec, i) => {
				expect(drawn[i]?.map((text) => hash(Buffer.from(text, 'base64')))).toEqual(hashes(spec));
			});
		} finally {
			await browser.close();
		}
	});
});

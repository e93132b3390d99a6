/** The plain loop in an installed browser of its own, opened and closed like the rig's. */
import { fileURLToPath } from 'node:url';
import { chromium } from 'playwright-core';
import { build } from 'vite';
import { findBrowser } from '../src/cli/installedBrowser.ts';
import type { PlainLoopOptions, PlainLoopResult } from './plainLoop.ts';

let script: Promise<string> | null = null;

/** Throws without a browser. */
export async function runPlainLoop(options: PlainLoopOptions): Promise<PlainLoopResult> {
	script ??= bundled();
	const content = await script;
	const executablePath = findBrowser();
	if (executablePath === null) throw new Error('this bench needs an installed Chromium');
	const browser = await chromium.launch({ executablePath, args: ['--no-sandbox', '--disable-gpu'] });
	try {
		const page = await browser.newPage({ viewport: { width: 1180, height: 820 } });
		await page.addScriptTag({ content });
		return await page.evaluate(`plainLoop(${JSON.stringify(options)})`);
	} finally {
		await browser.close();
	}
}

async function bundled(): Promise<string> {
	const entry = fileURLToPath(new URL('./plainLoop.ts', import.meta.url));
	const made = await build({
		configFile: false,
		logLevel: 'error',
		build: { write: false, minify: false, target: 'es2022', lib: { entry, formats: ['iife'], name: 'loop' } },
	});
	const [first] = [made].flat();
	if (first === undefined || !('output' in first)) throw new Error('the plain loop was not bundled');
	return first.output[0].code;
}

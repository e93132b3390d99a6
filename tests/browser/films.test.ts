/** Films dropped on the laptop's page, in a real Chromium: handed over as they are and judged by the built program. */
import { mkdtempSync, readdirSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { type Browser, chromium, type Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { findBrowser } from '../../src/cli/installedBrowser.ts';
import { type ConsoleServer, openConsoleServer } from '../../src/console/consoleServer.ts';
import { FilmDesk } from '../../src/console/filmDesk.ts';
import { filmRoutes } from '../../src/console/filmRoutes.ts';
import { drawClip } from '../rigs/optical/drawnClip.ts';

const executablePath = findBrowser();
const LOOKS = mkdtempSync(join(tmpdir(), 'steerworthy-films-'));
const AXE = createRequire(import.meta.url).resolve('axe-core/axe.min.js');
const MAIN = resolve(import.meta.dirname, '../../dist/cli/main.js');

/** At three sizes: nothing wider than the window, nothing that an automated check finds. */
async function lookAt(page: Page, name: string): Promise<void> {
	for (const width of [360, 820, 1366]) {
		await page.setViewportSize({ width, height: 800 });
		expect(await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth)).toBe(0);
		await page.screenshot({ path: join(LOOKS, `${name}-${width}.png`), fullPage: true });
	}
	await page.addScriptTag({ path: AXE });
	const found = await page.evaluate(async () => {
		const { axe } = globalThis as unknown as { axe: { run(): Promise<{ violations: { id: string }[] }> } };
		return (await axe.run()).violations.map(({ id }) => id);
	});
	expect(found).toEqual([]);
}

/** Keeps every text that an element is given from now on, however short its life. */
async function textsOf(page: Page, selector: string): Promise<() => Promise<string[]>> {
	const kept = await page.evaluateHandle((of) => {
		const texts: string[] = [];
		const element = document.querySelector(of);
		if (element !== null)
			new MutationObserver(() => texts.push(element.textContent ?? '')).observe(element, {
				childList: true,
			});
		return texts;
	}, selector);
	return () => kept.jsonValue();
}

describe.skipIf(executablePath === null)('the page for films', () => {
	const root = mkdtempSync(join(tmpdir(), 'steerworthy-films-'));
	let run = 0;
	const desk = new FilmDesk({
		...{ root, program: [process.execPath, MAIN], criteria: null },
		newRunId: () => `films-${++run}`,
	});
	let browser: Browser;
	let server: ConsoleServer;
	beforeAll(async () => {
		browser = await chromium.launch({ executablePath: executablePath ?? '', args: ['--no-sandbox'] });
		server = await openConsoleServer({
			...{ port: 0, pagesFolder: resolve(import.meta.dirname, '../../dist/pages'), runsFolder: root },
			...{ routes: filmRoutes(desk), isBusy: () => false, onPage: () => {} },
		});
	});
	afterAll(async () => {
		await desk.close();
		server.close();
		await browser.close();
	});

	test('HEVC that no page decodes is judged, with what is wrong with another file and what is still missing', async () => {
		const film = await drawClip({ name: 'film one.mp4', codec: 'hevc', durationMs: 6000 });
		const torn = join(root, 'notes.mp4');
		writeFileSync(torn, 'no video\n'.repeat(500));
		const page = await browser.newPage();
		await page.goto(`${server.url}films/`);
		await lookAt(page, 'empty');
		const own = join(root, 'own.mp4');
		writeFileSync(own, '');
		await page.setInputFiles('#choose', [film, torn, own]);
		await page.getByLabel('what own.mp4 shows').selectOption('own');
		await page.fill('#kit', 'the lark');
		await page.getByText('handed over', { exact: true }).nth(2).waitFor();
		await lookAt(page, 'chosen');
		const told = await textsOf(page, '#state');
		await page.click('#judge');
		await page.locator('#result').waitFor({ timeout: 180_000 });
		// Which words a look meets is luck, since each is soon gone; that the page never stands silent while films are read is not.
		expect((await told())[0]).toMatch(/^looking at the first film$|^\d+ % /);
		// What was left out is looked for first: it stands open where there is no answer yet.
		await page.locator('#warnings').waitFor();
		const said = await page.locator('#result').textContent();
		expect(said).toMatch(/enough evidence yet/i);
		expect(said).toMatch(/film 3 more at 120 or 240 frames a second/);
		expect(said).toMatch(
			/notes\.mp4 was left out\. notes\.mp4 is not a video file that can be read\. Give the original/i,
		);
		expect(said).toMatch(/own\.mp4 was left out\. own\.mp4 is empty \(zero bytes\)\. Copy it again/i);
		expect(said).toContain('the lark');
		await lookAt(page, 'answer');
		// The films are gone from the laptop's disk, the run is kept.
		expect(readdirSync(root)).not.toContain('.films');
		expect(readdirSync(join(root, 'films-1'))).toContain('report.html');
	});

	test('where no film says anything, the page tells why and keeps the films for another try', async () => {
		const frozen = await drawClip({ name: 'frozen.mp4', tablet: 'frozen', durationMs: 5500 });
		const page = await browser.newPage();
		await page.goto(`${server.url}films/`);
		await page.setInputFiles('#choose', frozen);
		await page.getByText('handed over', { exact: true }).waitFor();
		await page.click('#judge');
		await page.getByText('did not change once in the whole clip').waitFor({ timeout: 120_000 });
		expect(await page.locator('#judge').isEnabled()).toBe(true);
	});
});

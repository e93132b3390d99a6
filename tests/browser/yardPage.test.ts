/** The yard check's page in a real Chromium: the questions in large steps, a run with a tablet, the answer, back to the kit. */
import { mkdtempSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { type Browser, chromium, type Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { judgeFolder } from '../../src/cli/conclude.ts';
import { findBrowser } from '../../src/cli/installedBrowser.ts';
import { type Console, openConsole } from '../../src/console/console.ts';
import { standardCriteria } from '../../src/verdict/criteria.ts';
import { yardMeans } from './yardMeans.ts';

const executablePath = findBrowser();
const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
/** What a glove can hit, in CSS pixels: more than the 48 that everything has. */
const LEAST_PX = 72;

/** Shown buttons that are too small, parts wider than a phone, and what an automated check finds that shuts people out. */
async function faults(page: Page): Promise<string[]> {
	await page.setViewportSize({ width: 360, height: 740 });
	const small = await page
		.locator('main button:visible, footer button:visible')
		.evaluateAll(
			(buttons, least) =>
				buttons.flatMap((each) =>
					each.getBoundingClientRect().height < least ? [each.textContent ?? ''] : [],
				),
			LEAST_PX,
		);
	const beyond = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
	await page.evaluate(AXE);
	const barriers = await page.evaluate(async () => {
		const { axe } = globalThis as unknown as {
			axe: { run(): Promise<{ violations: { id: string; nodes: { html: string }[] }[] }> };
		};
		const { violations } = await axe.run();
		return violations.map(({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html).join(' ')}`);
	});
	return [...small, ...(beyond > 0 ? [`${beyond} px too wide`] : []), ...barriers];
}

describe.skipIf(executablePath === null)('the yard check on the laptop', () => {
	let browser: Browser;
	let opened: Console;
	beforeAll(async () => {
		browser = await chromium.launch({
			executablePath: executablePath ?? '',
			args: ['--no-sandbox', '--disable-gpu'],
		});
		opened = await openConsole({
			...{ port: 0, doorPort: 0, toolVersion: 'test', httpsPreferred: false, observedMs: 6000, routes: [] },
			pagesFolder: resolve(import.meta.dirname, '../../dist/pages'),
			runsFolder: mkdtempSync(join(tmpdir(), 'steerworthy-yardpage-')),
			newRunId: () => 'run',
			conclude: async (folder) => (await judgeFolder(folder, standardCriteria)).result,
			yard: yardMeans,
		});
	});
	afterAll(async () => {
		await opened.close();
		await browser.close();
	});

	test('from whose Wi-Fi to back at the kit, with a run in between and "Stop now and tell me" always there', async () => {
		const page = await browser.newPage();
		await page.goto(`${opened.url}yard/`);
		const shown = (part: string) => page.locator(`#${part}:not([hidden])`).waitFor();
		const press = (name: string | RegExp) => page.getByRole('button', { name }).click();
		const stop = page.getByRole('button', { name: 'Stop now' });
		await shown('open');
		await press('Begin');
		await shown('askWifi');
		expect(await faults(page)).toEqual([]);
		expect(await stop.isVisible()).toBe(true);
		await press(/^This laptop cannot join it/);
		await press('20 min');
		await shown('askPlaces');
		for (const place of ['box door', 'arch']) {
			await page.locator('#placeName').fill(place);
			await press('Add this place');
			await page.locator('#named li', { hasText: place }).waitFor();
		}
		expect(await faults(page)).toEqual([]);
		await press('These are all');
		await shown('film');
		expect(await page.locator('#filmWords').textContent()).toContain('can only say no');
		expect(await faults(page)).toEqual([]);
		await press('It is another Wi-Fi after all');
		await page.locator('#channelText').fill('52');
		await press('That channel');
		await shown('look');
		await page.getByLabel(/this computer only/).check();
		await press('Show the code');
		await shown('door');
		expect(await faults(page)).toEqual([]);

		const tablet = await (await browser.newContext({ viewport: { width: 1180, height: 820 } })).newPage();
		await tablet.goto(
			`${await page.locator('#address').textContent()}?code=${await page.locator('#code').textContent()}`,
		);
		await tablet.locator('#step', { hasText: 'let in' }).waitFor();
		await page.getByText('How the picture travels').click();
		await page.getByLabel(/^TCP/).check();
		await press('Everyone in place');
		await tablet.locator('#start:enabled').click({ timeout: 30_000 });
		await page.locator('#runTitle', { hasText: 'Measuring' }).waitFor({ timeout: 60_000 });
		expect(await stop.isVisible()).toBe(true);
		expect(await page.locator('#runWords').textContent()).toBe('box door: visit, 2 minutes');
		await page.locator('#lookTitle', { hasText: 'arch' }).waitFor({ timeout: 60_000 });

		await stop.click();
		await page.getByRole('button', { name: 'Stop now: press again' }).click();
		await shown('answer');
		expect(await page.locator('#frame').textContent()).toContain('treat as not fit to steer');
		expect(await page.locator('#findings').textContent()).toContain('arch: not measured.');
		expect(await faults(page)).toEqual([]);
		const sheet = await page.request.get(
			new URL((await page.locator('#page').getAttribute('href')) ?? '', page.url()).href,
		);
		expect(await sheet.text()).toContain('Who stands where');
		await tablet.goto((await page.locator('#sheet').textContent()) ?? '');
		await tablet.getByText('Who stands where').waitFor();
		await press('Back to the kit');
		expect(await page.locator('#silence').textContent()).toContain('Nothing of ours is sending');
		expect(await faults(page)).toEqual([]);
		await press('Done: all of these');
		await shown('done');
		await press('To the list of checks');
		await press(/^yard/);
		await shown('done');
		// The program on the laptop ends: wherever the page stood, it is the last screen that stays.
		await opened.close();
		await page.locator('#silence', { hasText: 'The program on this laptop was closed' }).waitFor();
		expect(await page.locator('#kitSteps').textContent()).toContain('Only then go on');
		expect(await page.locator('#kitDone').isVisible()).toBe(false);
	}, 180_000);
});

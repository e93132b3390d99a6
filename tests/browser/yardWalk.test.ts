/** Walking away with a real page: the tablet's Chromium loses the laptop for six seconds in a run, and the check says so and asks. */
import { mkdtempSync, readFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { judgeFolder } from '../../src/cli/conclude.ts';
import { type Console, openConsole } from '../../src/console/console.ts';
import { openYard, saveYard } from '../../src/register/yardFolder.ts';
import { standardCriteria } from '../../src/verdict/criteria.ts';
import { applyAct } from '../../src/verdict/yardActs.ts';
import { yardSchema } from '../../src/verdict/yardSession.ts';
import { CUT_OFF, executablePath, launch } from './pageLink.ts';
import { yardMeans } from './yardMeans.ts';

/** Longer by far than what a busy computer still has to draw when the sockets are gone. */
const AWAY_MS = 6000;

describe.skipIf(executablePath === null)('walking away with the tablet', () => {
	const runsFolder = mkdtempSync(join(tmpdir(), 'steerworthy-walk-'));
	let browser: Browser;
	let opened: Console;
	beforeAll(async () => {
		browser = await launch();
		// A check that was told already: what is asked for now is the walk.
		const questions = [
			{ kind: 'wifi', wifi: 'shared' } as const,
			{ kind: 'minutes', minutes: 8 } as const,
			{ kind: 'addPlace', text: 'door, 4 m' } as const,
			{ kind: 'placesNamed' } as const,
			{ kind: 'channel', text: '36' } as const,
			{ kind: 'stop' } as const,
		];
		await saveYard(
			runsFolder,
			questions.reduce(applyAct, openYard(runsFolder, 'morning', new Date().toISOString())),
		);
		opened = await openConsole({
			...{ port: 0, doorPort: 0, toolVersion: 'test', httpsPreferred: false, observedMs: 14_000, routes: [] },
			...{ pagesFolder: resolve(import.meta.dirname, '../../dist/pages'), runsFolder },
			newRunId: () => 'run',
			conclude: async (folder) => (await judgeFolder(folder, standardCriteria)).result,
			yard: yardMeans,
		});
	});
	afterAll(async () => {
		await opened.close();
		await browser.close();
	});

	test('the picture stood, for how long and how it came back is told, with the metres and the warning that were noted', async () => {
		const page = await browser.newPage();
		await page.goto(`${opened.url}yard/`);
		const press = (name: string | RegExp) => page.getByRole('button', { name }).click();
		await press(/^morning/);
		await page.getByText('Look again: any place').click();
		await press('door: walking away and back');
		await page.locator('#lookWords', { hasText: 'walk away with the tablet' }).waitFor();
		await page.getByLabel(/this computer only/).check();
		await press('Show the code');
		const context = await browser.newContext({ viewport: { width: 1180, height: 820 } });
		await context.addInitScript(CUT_OFF);
		const tablet = await context.newPage();
		const [address, code] = [page.locator('#address'), page.locator('#code')];
		await address.filter({ hasText: 'http' }).waitFor();
		await tablet.goto(`${await address.textContent()}?code=${await code.textContent()}`);
		await tablet.locator('#step', { hasText: 'let in' }).waitFor();
		await page.getByText('How the picture travels').click();
		await page.getByLabel(/^TCP/).check();
		await press('Everyone in place');
		await tablet.locator('#start:enabled').click({ timeout: 30_000 });
		// Observed for two seconds, not only begun, and with ten more to come.
		await page.locator('#stage', { hasText: /^(12|11|10|\d) s left/ }).waitFor({ timeout: 60_000 });
		await tablet.evaluate('cutOff(true)');
		await tablet.waitForTimeout(AWAY_MS);
		await tablet.evaluate('cutOff(false)');

		await page.locator('#note:not([hidden])').waitFor({ timeout: 90_000 });
		await page.locator('#walkFar').fill('12');
		await page.locator('#warned').getByLabel('No', { exact: true }).check();
		await press('Keep this');
		// The plan goes on with the visit that was not made: enough is known.
		await page.locator('#look:not([hidden])').waitFor();
		await press('Stop now and tell me');
		await press('Stop now: press again');
		await page.locator('#findings', { hasText: 'It stood at about 12 m, as noted.' }).waitFor();
		const told = ((await page.locator('#findings').textContent()) ?? '').replace(/\s+/g, ' ');
		expect(told).toMatch(
			/From door: .*no new picture for \d+\.\d s; (steady again|it did not become steady)/,
		);
		expect(told).toContain('did not warn: look for a standing picture yourself');
		const { walkRuns } = yardSchema.parse(
			JSON.parse(readFileSync(join(runsFolder, 'yards/morning/yard.json'), 'utf8')),
		);
		expect(walkRuns).toMatchObject([{ state: 'done', note: { distanceM: 12, warned: 'no' } }]);
		await press('Back to the kit');
		expect(await page.locator('#kitSteps').textContent()).toContain('Only then go on');
	}, 180_000);
});

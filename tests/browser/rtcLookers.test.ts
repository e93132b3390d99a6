/** A second and a third page look on over WebRTC and leave again: each sees the card, and the first one's run goes on and says so. */
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { measureRun } from '../../src/metrics/measureRun.ts';
import { placeRun } from '../../src/observations/placeRun.ts';
import { standardCriteria, thresholdsOf } from '../../src/verdict/criteria.ts';
import { executablePath, GENTLE_RTC, launch, pressStart, startLink } from './pageLink.ts';

describe.skipIf(executablePath === null)('lookers-on over WebRTC', () => {
	let browser: Browser;
	beforeAll(async () => {
		browser = await launch();
	});
	afterAll(() => browser.close());

	test('come, see the card, and go, and the run of the steering page is one stretch whose warnings name them', async () => {
		const link = startLink(60_000, { ...GENTLE_RTC, rateHz: 10, bitrateKbps: 1500 });
		const url = await link.url;
		const steering = await browser.newPage({ viewport: { width: 1180, height: 820 } });
		await steering.goto(url);
		await pressStart(steering);
		const isBegun = () => link.records.some(({ kind }) => kind === 'segment');
		await expect.poll(isBegun, { timeout: 60_000 }).toBe(true);
		const lookers = [];
		for (const _ of [2, 3]) {
			const page = await (await browser.newContext()).newPage();
			await page.goto(url);
			await page.getByRole('button', { name: 'Look on' }).click({ timeout: 30_000 });
			await pressStart(page);
			await page
				.locator('#status', { hasText: /looking on: [1-9]\d+ pictures arrived/ })
				.waitFor({ timeout: 30_000 });
			lookers.push(page);
		}
		for (const page of lookers) await page.close();
		await expect
			.poll(() => link.records.filter((one) => one.kind === 'event' && one.code === 'watching').length)
			.toBe(4);
		await steering.waitForTimeout(1500);
		link.stop();
		await link.outcome;
		await steering.close();
		const run = placeRun(link.records);
		expect(run.segments).toHaveLength(1);
		expect(run.events.filter(({ code }) => code === 'streamLost')).toEqual([]);
		expect([...run.frames].filter(({ fate }) => fate === 'presented').length).toBeGreaterThan(50);
		const { warnings } = measureRun(run, thresholdsOf(standardCriteria));
		expect(warnings.some(({ code }) => code === 'othersLookedOn')).toBe(true);
	});
});

/**
 * A tablet that is away: frozen, slept, cut off, loaded anew, come back from elsewhere. Each ends a stretch at what was seen last and begins
 * another with a clock fitted anew; nothing that was seen is lost, and what nobody could see is nobody's loss.
 */
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { placeRun } from '../../src/observations/placeRun.ts';
import type { Run } from '../../src/observations/run.ts';
import {
	CUT_OFF,
	executablePath,
	GENTLE_RTC,
	launch,
	type PageLink,
	pressStart,
	startLink,
} from './pageLink.ts';

/** Long enough that a busy machine has not observed it all before what happens has happened. */
const LONG_MS = 15_000;
/** The page's own clock jumps ahead of the wall's, as the wall's does of a page's whose tablet slept. */
const JUMP = `{ const now = Date.now; globalThis.jumpMs = 0; Date.now = () => now() + globalThis.jumpMs; }`;

describe.skipIf(executablePath === null)('a tablet that is away', () => {
	let browser: Browser;
	let context: BrowserContext;
	beforeAll(async () => {
		browser = await launch();
		context = await browser.newContext({ viewport: { width: 1180, height: 820 } });
		await context.addInitScript(CUT_OFF + JUMP);
	});
	afterAll(() => browser.close());

	const segments = ({ records }: PageLink) => records.filter(({ kind }) => kind === 'segment').length;

	/** A run that is left alone for two seconds of its first stretch, then `happens`, then until its end. */
	async function observe(link: PageLink, happens: (page: Page) => Promise<void>): Promise<Run> {
		const page = await context.newPage();
		await page.goto((await link.url).replace('0.0.0.0', '127.0.0.1'));
		await pressStart(page);
		await expect.poll(() => segments(link), { timeout: 60_000 }).toBe(1);
		await page.waitForTimeout(2500);
		await happens(page);
		await link.outcome;
		await page.close();
		return placeRun(link.records);
	}

	/** Two stretches, each with its own clock and its own pictures, and the first ended for this reason. */
	function isBroken(run: Run, ...reasons: string[]): void {
		expect(run.segments.map(({ endedBy }) => endedBy)).toHaveLength(2);
		expect(reasons).toContain(run.segments[0]?.endedBy);
		expect(run.segments.every(({ clock }) => clock !== null)).toBe(true);
		for (const segment of [0, 1]) {
			const seen = [...run.frames].filter((frame) => frame.segment === segment && frame.seenMs !== null);
			expect(seen.length).toBeGreaterThan(10);
		}
	}

	test('frozen, its clock running: the stretch ends there, and the standstill is in no picture’s delay', async () => {
		const link = startLink(LONG_MS, { warmUpMs: 500, lostAfterMs: 1500 });
		const run = await observe(link, async (page) => {
			// A browser freezes only what nobody can see, so the page is stopped by its debugger: no script, no timer, no message.
			const devtools = await context.newCDPSession(page);
			await devtools.send('Debugger.enable');
			await devtools.send('Debugger.pause');
			await new Promise((passed) => setTimeout(passed, 5000));
			await devtools.send('Debugger.resume');
		});
		isBroken(run, 'pageFroze', 'viewerSilent');
		for (const { seenMs, shownMs } of run.frames)
			if (seenMs !== null) expect(seenMs - shownMs).toBeLessThan(4000);
	});

	test('its clock stood still: the stretch ends, whatever the page’s own clock says', async () => {
		const link = startLink(LONG_MS, { warmUpMs: 500, lostAfterMs: 1500 });
		const run = await observe(link, (page) => page.evaluate('jumpMs = 30_000') as Promise<void>);
		isBroken(run, 'clockStopped');
	});

	test.each([
		['WebSocket', {}],
		['WebRTC', GENTLE_RTC],
	] as const)(
		'cut off whole for four seconds over %s: what was seen before is kept, and a new stretch begins',
		async (_, how) => {
			const link = startLink(LONG_MS, { warmUpMs: 500, lostAfterMs: 1500, ...how });
			let shownBefore = 0;
			const run = await observe(link, async (page) => {
				shownBefore = await page
					.locator('#status')
					.textContent()
					.then((text) => Number.parseInt(text ?? '', 10));
				await page.evaluate('cutOff(true)');
				await page.waitForTimeout(4000);
				await page.evaluate('cutOff(false)');
			});
			isBroken(run, 'viewerLeft');
			expect(shownBefore).toBeGreaterThan(10);
			// Nothing that was seen is told twice.
			expect(run.events.filter(({ code }) => code === 'repeated')).toEqual([]);
		},
	);

	test('loaded anew over WebRTC: another page takes the seat, and the first one’s pictures stay', async () => {
		const link = startLink(LONG_MS, GENTLE_RTC);
		const run = await observe(link, async (page) => {
			await page.reload();
			await pressStart(page);
		});
		isBroken(run, 'pageHidden', 'viewerLeft');
	});

	test('come back from another address: the seat is its own again, and no picture is counted twice', async () => {
		const link = startLink(LONG_MS, { host: '0.0.0.0', warmUpMs: 500, lostAfterMs: 1500 });
		const run = await observe(link, async (page) => {
			// The same page by another way to this computer, as a tablet that changed its network.
			await page.evaluate(`{ const Cut = WebSocket;
				globalThis.WebSocket = class extends Cut { constructor(url) { super(String(url).replace('127.0.0.1', '127.0.0.2')); } }; }`);
			await page.evaluate('cutOff(true); isAway = false');
		});
		isBroken(run, 'viewerLeft');
		expect(run.events.filter(({ code }) => code === 'repeated')).toEqual([]);
	});
});

/** The console and the tablet page together, in a real Chromium: from the code to the answer, over http and https. */
import { mkdtempSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { type Browser, chromium, type Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';

import { judgeFolder, writeConclusion } from '../../src/cli/conclude.ts';
import { findBrowser } from '../../src/cli/installedBrowser.ts';
import { type Console, openConsole } from '../../src/console/console.ts';
import type { Run } from '../../src/observations/run.ts';
import { readRunFolder } from '../../src/register/runFolder.ts';
import { standardCriteria } from '../../src/verdict/criteria.ts';
import { yardMeans } from './yardMeans.ts';

const executablePath = findBrowser();
const LOOKS = mkdtempSync(join(tmpdir(), 'steerworthy-looks-'));
const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const SIZES = [
	[360, 740],
	[820, 1180],
	[1366, 768],
] as const;

/** What an automated check finds that shuts people out; it finds a part of it only. */
async function barriers(page: Page): Promise<string[]> {
	await page.evaluate(AXE);
	return page.evaluate(async () => {
		const { axe } = globalThis as unknown as {
			axe: { run(): Promise<{ violations: { id: string; nodes: { html: string }[] }[] }> };
		};
		const { violations } = await axe.run();
		return violations.map(({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html).join(' ')}`);
	});
}

/** Stands for what takes long on the laptop: judging again, a pack. */
const HEAVY_PATH = '/ask/heavy';

/** At three sizes: nothing wider than the window, nothing that a check finds, a picture to look at. */
async function lookAt(page: Page, name: string): Promise<void> {
	for (const [width, height] of SIZES) {
		await page.setViewportSize({ width, height });
		const beyond = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
		expect({ name, width, beyond: Math.max(0, beyond) }).toEqual({ name, width, beyond: 0 });
		await page.screenshot({ path: join(LOOKS, `${name}-${width}.png`), fullPage: true });
	}
	expect(await barriers(page)).toEqual([]);
}

describe.skipIf(executablePath === null)('the console and a tablet', () => {
	let browser: Browser;
	let runsFolder = '';
	let runCount = 0;
	let opened: Console | null = null;
	/** The console's clock goes ahead by this much. */
	let laterMs = 0;
	beforeAll(async () => {
		browser = await chromium.launch({
			executablePath: executablePath ?? '',
			args: ['--no-sandbox', '--disable-gpu'],
		});
	});
	afterAll(async () => {
		await opened?.close();
		await browser.close();
	});

	async function openDesk(observedMs: number, https: boolean): Promise<Page> {
		await opened?.close();
		runsFolder = mkdtempSync(join(tmpdir(), 'steerworthy-console-'));
		runCount = 0;
		opened = await openConsole({
			port: 0,
			doorPort: 0,
			pagesFolder: resolve(import.meta.dirname, '../../dist/pages'),
			runsFolder,
			toolVersion: 'test',
			httpsPreferred: https,
			newRunId: () => (runCount++ === 0 ? 'run' : `run-${runCount}`),
			conclude: async (folder) => {
				const conclusion = await judgeFolder(folder, standardCriteria);
				await writeConclusion(folder, conclusion);
				return conclusion.result;
			},
			routes: [
				{
					...{ method: 'GET', path: HEAVY_PATH, heavy: true },
					answer: async () => ({ status: 200, type: 'text/plain', body: 'done' }),
				},
			],
			yard: yardMeans,
			observedMs,
			nowMs: () => performance.now() + laterMs,
		});
		const desk = await browser.newPage({ viewport: { width: 1366, height: 768 } });
		await desk.goto(opened.url);
		await desk.getByLabel(/this computer only/).check();
		await desk.getByRole('button', { name: 'Show the code' }).click();
		await desk.locator('#door').waitFor();
		return desk;
	}

	/** A tablet of its own, let in by the code of now. */
	async function letIn(desk: Page, script = ''): Promise<Page> {
		const before = await desk.locator('#code').textContent();
		const context = await browser.newContext({
			ignoreHTTPSErrors: true,
			viewport: { width: 1180, height: 820 },
		});
		if (script !== '') await context.addInitScript(script);
		const tablet = await context.newPage();
		await tablet.goto(`${await desk.locator('#address').textContent()}?code=${before}`);
		await tablet.locator('#step', { hasText: 'let in' }).waitFor();
		return tablet;
	}

	async function startRun(desk: Page, transport: 'WebSocket' | 'WebRTC'): Promise<void> {
		await desk.locator('#joining').selectOption('thisComputer');
		await desk.getByLabel(/Twenty seconds/).check();
		await desk.getByLabel(new RegExp(`^${transport}`)).check();
		await desk.getByRole('button', { name: 'Start the run' }).click();
	}

	/** The page's own socket class, with a switch: cut what is open, and let no new one come through. */
	const CUT_OFF = `{ const Real = WebSocket; const open = [];
			globalThis.cutOff = (away) => { globalThis.isAway = away; if (away) for (const one of open) one.close(); };
			globalThis.WebSocket = class extends Real { constructor(url) {
				const isControl = String(url).endsWith('/control');
				super(isControl && globalThis.isAway ? 'ws://127.0.0.1:9/' : url);
				if (isControl) open.push(this); } }; }`;
	const pressStart = (tablet: Page) => tablet.locator('#start:enabled').click({ timeout: 30_000 });
	const answer = (desk: Page) => desk.locator('#result:not([hidden]) h1').textContent({ timeout: 90_000 });
	const observed = (): Promise<Run> => readRunFolder(join(runsFolder, 'run'));

	test('over http: from the code to the answer and the report; each view shuts nobody out that a check can tell', async () => {
		const desk = await openDesk(8000, false);
		await lookAt(desk, 'console-door');
		const tablet = await letIn(desk);
		await startRun(desk, 'WebRTC');
		await tablet.locator('#start:enabled').waitFor({ timeout: 30_000 });
		await lookAt(tablet, 'tablet-before');
		await tablet.setViewportSize({ width: 1180, height: 820 });
		await pressStart(tablet);
		await desk.locator('#runTitle', { hasText: 'Measuring' }).waitFor({ timeout: 60_000 });
		await lookAt(desk, 'console-run');
		expect(await barriers(tablet)).toEqual([]);
		const stranger = await (await browser.newContext()).newPage();
		await stranger.goto(new URL('/pair', tablet.url()).href);
		await lookAt(stranger, 'door-form');
		await stranger.goto(new URL('/tablet/', tablet.url()).href);
		await lookAt(stranger, 'door-refused');
		await stranger.close();
		// What is answered of a few real seconds is the machine's; that it is the kept result's, and no "fit", is ours.
		const told = await answer(desk);
		const kept = JSON.parse(readFileSync(join(runsFolder, 'run', 'result.json'), 'utf8'));
		expect(told?.toLowerCase()).toBe(kept.verdict.headline.toLowerCase());
		expect(kept.verdict.steer).not.toBe('yes');
		await lookAt(desk, 'console-result');
		await tablet.getByRole('heading', { name: 'Done' }).waitFor();
		await lookAt(tablet, 'tablet-after');
		const report = await desk.request.get(
			new URL((await desk.locator('#report').getAttribute('href')) ?? '', desk.url()).href,
		);
		expect(await report.text()).toContain('the tablet page in this computer');
		const { header } = await observed();
		expect(header.joined).toBe('both ends on this computer');
		expect(header.path?.transport).toBe('webrtc');
		await Promise.all([desk.close(), tablet.close()]);
	});

	test('over https: hidden and turned, the page ends a stretch each time and begins another; a second tablet may look on', async () => {
		const desk = await openDesk(10_000, true);
		const tablet = await letIn(desk);
		await startRun(desk, 'WebSocket');
		await pressStart(tablet);
		const second = await browser.newContext({ ignoreHTTPSErrors: true });
		const other = await second.newPage();
		const code = await desk.locator('#code').textContent();
		await desk.locator('#runTitle', { hasText: 'Measuring' }).waitFor({ timeout: 60_000 });
		await other.goto(`${await desk.locator('#address').textContent()}?code=${code}`);
		await other.getByRole('heading', { name: 'Another tablet steers' }).waitFor({ timeout: 30_000 });
		await other.getByRole('button', { name: 'Look on' }).click();
		await pressStart(other);
		await other.locator('#status', { hasText: 'looking on: ' }).waitFor();
		const hide = (hidden: boolean) =>
			tablet.evaluate((value) => {
				Object.defineProperty(document, 'hidden', { configurable: true, get: () => value });
				document.dispatchEvent(new Event('visibilitychange'));
			}, hidden);
		await hide(true);
		await tablet.waitForTimeout(1500);
		await hide(false);
		await tablet.waitForTimeout(5000);
		await tablet.setViewportSize({ width: 820, height: 1180 });
		await other.close();
		await answer(desk);
		const run = await observed();
		expect(run.segments.map(({ endedBy }) => endedBy)).toEqual(['pageHidden', 'pageTurned', 'runEnd']);
		const watching = run.events.filter(({ code: one }) => one === 'watching');
		expect(watching.map(({ detail }) => detail?.slice(0, 1))).toEqual(['1', '0']);
		// Looking away is nobody's loss: it would be 45 pictures. A busy machine may lose one by itself.
		expect(run.frames.count).toBeGreaterThan(100);
		expect([...run.frames].filter(({ fate }) => fate === 'lost').length).toBeLessThan(20);
		await Promise.all([desk.close(), tablet.close()]);
	});

	test('with its control socket lost for 20 s the tablet keeps what it sees, and the laptop has all of it afterwards', async () => {
		const desk = await openDesk(30_000, false);
		const tablet = await letIn(desk, CUT_OFF);
		await startRun(desk, 'WebSocket');
		await pressStart(tablet);
		await desk.locator('#runTitle', { hasText: 'Measuring' }).waitFor({ timeout: 60_000 });
		await tablet.waitForTimeout(2000);
		await tablet.evaluate('cutOff(true)');
		await tablet.locator('#status', { hasText: 'out of reach' }).waitFor();
		await tablet.waitForTimeout(20_000);
		// Not told over by the counts of what its picture socket still brings.
		expect(await tablet.locator('#status').textContent()).toContain('out of reach');
		await tablet.evaluate('cutOff(false)');
		await answer(desk);
		const run = await observed();
		expect(run.segments[0]?.endedBy).toBe('viewerLeft');
		const [first] = run.segments;
		if (first === undefined) throw new Error('no segment');
		// The picture kept coming by its own socket: the stretch goes on through the silence, and its pictures are in the record.
		expect(first.endMs - first.startMs).toBeGreaterThan(20_000);
		const seen = [...run.frames].filter(({ segment, seenMs }) => segment === 0 && seenMs !== null);
		expect(seen.length).toBeGreaterThan(200);
		expect(run.events.filter(({ code }) => code === 'repeated')).toEqual([]);
		expect(run.segments.length).toBe(2);
		await Promise.all([desk.close(), tablet.close()]);
	});

	test('a run that ends while the tablet is out of reach, before it saw a picture, leaves it waiting for the next one', async () => {
		const desk = await openDesk(60_000, false);
		const tablet = await letIn(desk, CUT_OFF);
		await startRun(desk, 'WebSocket');
		await tablet.locator('#start:enabled').waitFor({ timeout: 30_000 });
		await tablet.evaluate('cutOff(true)');
		await tablet.locator('#step', { hasText: 'out of reach' }).waitFor();
		await desk.locator('#stop').click();
		await desk.locator('#stop').click();
		await desk.locator('#run').waitFor({ state: 'hidden', timeout: 30_000 });
		await tablet.evaluate('cutOff(false)');
		await tablet.locator('#step', { hasText: 'let in' }).waitFor({ timeout: 30_000 });
		await desk.getByRole('button', { name: 'Another run' }).click();
		await startRun(desk, 'WebSocket');
		await tablet.locator('#start:enabled').waitFor({ timeout: 30_000 });
		await Promise.all([desk.close(), tablet.close()]);
	});

	test('Stop on the tablet darkens its card at once and ends the run, with what was seen judged', async () => {
		const desk = await openDesk(60_000, false);
		const tablet = await letIn(desk);
		await startRun(desk, 'WebSocket');
		await pressStart(tablet);
		await desk.locator('#runTitle', { hasText: 'Measuring' }).waitFor({ timeout: 60_000 });
		await tablet.waitForTimeout(1500);
		// What would hold a run up is not done while it is on.
		const heavy = () => desk.request.get(new URL(HEAVY_PATH, desk.url()).href);
		expect(await (await heavy()).text()).toContain('A run is on');
		await tablet.locator('#stop').click();
		await answer(desk);
		expect(await (await heavy()).text()).toBe('done');
		await tablet.getByRole('heading', { name: 'Done' }).waitFor();
		const run = await observed();
		expect(run.segments.at(-1)?.endedBy).toBe('stopPressed');
		expect(run.endedBy).toBe('stopped');
		await Promise.all([desk.close(), tablet.close()]);
	});

	test('a tablet without a video decoder gets JPEG pictures, codes and colours read; Stop on the laptop needs its second press', async () => {
		const desk = await openDesk(60_000, false);
		const tablet = await letIn(desk, 'delete globalThis.VideoDecoder;');
		await desk.locator('#costs', { hasText: 'pictures travel as JPEG' }).waitFor();
		await startRun(desk, 'WebSocket');
		await pressStart(tablet);
		await desk.locator('#runTitle', { hasText: 'Measuring' }).waitFor({ timeout: 60_000 });
		await tablet.waitForTimeout(4000);
		await desk.locator('#stop').click();
		await desk.locator('#stop', { hasText: 'press again' }).waitFor();
		// Armed for five seconds, then it is as if nobody had pressed.
		await desk.locator('#stop', { hasText: /^Stop$/ }).waitFor({ timeout: 8000 });
		expect(await desk.locator('#runTitle').textContent()).toBe('Measuring');
		await desk.locator('#stop').click();
		await desk.locator('#stop').click();
		await answer(desk);
		const run = await observed();
		expect([run.endedBy, run.header.path?.codec]).toEqual(['stopped', 'jpeg']);
		const frames = [...run.frames];
		expect(frames.filter(({ fate }) => fate === 'presented').length).toBeGreaterThan(50);
		expect(frames.filter(({ fate }) => fate === 'unreadable')).toEqual([]);
		expect(run.events.filter(({ code }) => code === 'codeMismatch')).toEqual([]);
		// The browser alone turned these pictures into colours: none is called our own conversion.
		expect(new Set(run.patches.map(({ path }) => path))).toEqual(new Set(['displayed']));
		await Promise.all([desk.close(), tablet.close()]);
	});

	test('over https by WebRTC: small packets are tried before the run, and the run is measured to the presented picture', async () => {
		const desk = await openDesk(4000, true);
		const tablet = await letIn(desk);
		await desk.locator('#ladder li.done', { hasText: 'Small packets pass' }).waitFor({ timeout: 20_000 });
		expect(await desk.locator('#useWebSocket').isVisible()).toBe(false);
		await startRun(desk, 'WebRTC');
		await pressStart(tablet);
		await answer(desk);
		const run = await observed();
		expect(run.header.path?.transport).toBe('webrtc');
		expect(run.header.measuringPoints.viewer).toBe('presented');
		expect([...run.frames].filter(({ fate }) => fate === 'presented').length).toBeGreaterThan(30);
		await Promise.all([desk.close(), tablet.close()]);
	});

	test('where UDP is shut the ladder says so before a run, and one press begins the run again by WebSocket, labelled', async () => {
		const desk = await openDesk(4000, false);
		// No candidate of either end reaches the other: nothing passes, as with a firewall that drops it.
		const tablet = await letIn(
			desk,
			`{ const without = (sdp) => sdp.replace(/a=candidate.*\\r\\n/g, '');
			const kind = RTCPeerConnection.prototype;
			const { get } = Object.getOwnPropertyDescriptor(kind, 'localDescription');
			Object.defineProperty(kind, 'localDescription', { get() { const { type, sdp } = get.call(this); return { type, sdp: without(sdp) }; } });
			const real = kind.setRemoteDescription;
			kind.setRemoteDescription = function ({ type, sdp }) { return real.call(this, { type, sdp: without(sdp) }); }; }`,
		);
		await desk.locator('#ladder li.failed', { hasText: 'did not pass' }).waitFor({ timeout: 30_000 });
		await lookAt(desk, 'console-udp-shut');
		await startRun(desk, 'WebRTC');
		await pressStart(tablet);
		await desk.getByRole('button', { name: 'Go by WebSocket' }).click();
		await tablet
			.locator('#step', { hasText: 'let in' })
			.or(tablet.locator('#start:enabled'))
			.first()
			.waitFor({ timeout: 30_000 });
		await pressStart(tablet);
		await answer(desk);
		await expect.poll(() => desk.locator('#answers').textContent()).toContain('WebSocket (UDP did not pass)');
		expect(await desk.locator('#trouble').isVisible()).toBe(false);
		await Promise.all([desk.close(), tablet.close()]);
	});

	test('a minute without a tablet has its own words, and no second less', async () => {
		const desk = await openDesk(4000, false);
		laterMs = 55_000;
		await desk.locator('#ladder li.failed', { hasText: 'likely causes' }).waitFor();
		expect(await desk.locator('#advice').textContent()).toBe('');
		laterMs = 61_000;
		await desk.locator('#advice', { hasText: 'No tablet has come within a minute' }).waitFor();
		expect(await desk.locator('#advice').textContent()).toContain('127.0.0.1');
		await lookAt(desk, 'console-no-tablet');
		await letIn(desk);
		await desk.locator('#advice:empty').waitFor({ state: 'attached' });
		laterMs = 0;
		await desk.close();
	});

	test('the list for home passes with nothing but this computer and its networks', async () => {
		const desk = await openDesk(5000, false);
		await desk.context().route(/./, (route) => {
			const { hostname } = new URL(route.request().url());
			return hostname === '127.0.0.1' ? route.continue() : route.abort();
		});
		await desk.getByRole('button', { name: 'Go through the list' }).click();
		await desk.locator('#checks li.pass').nth(4).waitFor({ timeout: 60_000 });
		await lookAt(desk, 'console-home');
		await desk.close();
	});
});

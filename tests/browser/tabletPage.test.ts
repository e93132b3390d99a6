/** The tablet page in a real Chromium: real H.264 over a real socket, decoded, read, drawn and reported. */
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { decodePng } from '../../src/media/node/png.ts';
import { measureRun } from '../../src/metrics/measureRun.ts';
import { placeRun } from '../../src/observations/placeRun.ts';
import { standardCriteria, thresholdsOf } from '../../src/verdict/criteria.ts';
import { executablePath, launch, pressStart, startLink } from './pageLink.ts';

const LOOKS = mkdtempSync(join(tmpdir(), 'steerworthy-looks-'));

describe.skipIf(executablePath === null)('the tablet page', () => {
	let browser: Browser;
	beforeAll(async () => {
		browser = await launch();
	});
	afterAll(async () => {
		await browser.close();
	});

	test('every frame is in one class, codes and colours arrive as drawn, and the end point is presented', async () => {
		const link = startLink(8000);
		const page = await browser.newPage({ viewport: { width: 1180, height: 820 } });
		await page.goto(await link.url);
		await pressStart(page);
		await link.outcome;
		await page.getByRole('heading', { name: 'Done' }).waitFor();
		const run = placeRun(link.records);
		const metrics = measureRun(run, thresholdsOf(standardCriteria));
		await page.close();

		expect(run.header.measuringPoints).toEqual({ source: 'generated', viewer: 'presented' });
		expect(run.header.displayPeriodMs).toBeGreaterThan(3);
		if (metrics.frames.kind !== 'measured' || metrics.freshDelay.kind !== 'measured')
			throw new Error('not measured');
		const { sent, presented, notDrawn, unreadable, overtaken, late, lost } = metrics.frames;
		expect(presented + notDrawn + unreadable + overtaken + late + lost).toBe(sent);
		expect({ unreadable, lost }).toEqual({ unreadable: 0, lost: 0 });
		expect(run.events.filter(({ code }) => code === 'codeMismatch')).toEqual([]);
		expect(metrics.freshDelay.minMs).toBeGreaterThan(0);
		// Presented never comes before decoded, frame by frame.
		for (const frame of run.frames)
			if (frame.seenMs !== null && frame.decodedMs !== null)
				expect(frame.seenMs).toBeGreaterThanOrEqual(frame.decodedMs);
		if (metrics.colour.kind !== 'measured') throw new Error('no colour');
		expect(metrics.colour.path).toBe('decoded');
		// Our own conversion of known planes: what is left is the codec's. The browser's conversion is the second line.
		expect(metrics.colour.p95DeltaE00).toBeLessThan(1);
		expect(metrics.colour.displayedMedianDeltaE00).not.toBeNull();
		if (metrics.likeness.kind !== 'measured') throw new Error('no likeness');
		expect(metrics.likeness.worstSsim).toBeGreaterThan(0.95);
		// The least like picture is kept as the page got it and as it differs, named in the record that it belongs to.
		const named = run.pictures.flatMap(({ evidence }) => evidence ?? []);
		expect(named).toEqual([...link.pictures.keys()].filter((name) => name.includes('difference')));
		expect(link.pictures.size).toBe(2);
		for (const png of link.pictures.values()) expect(decodePng(png).widthPx).toBe(1280);
	});

	test('a page that is loaded anew begins a new segment, and nothing seen before is lost', async () => {
		const link = startLink(9000, { warmUpMs: 500 });
		const page = await browser.newPage({ viewport: { width: 820, height: 1180 } });
		await page.goto(await link.url);
		await pressStart(page);
		await page.waitForTimeout(5000);
		await page.reload();
		await pressStart(page);
		const { segmentCount } = await link.outcome;
		await page.close();
		const run = placeRun(link.records);
		expect(segmentCount).toBeGreaterThanOrEqual(2);
		// A page that goes says that it is hidden, if it still can.
		expect(['pageHidden', 'viewerLeft']).toContain(run.segments[0]?.endedBy);
		const seenIn = (segment: number): number =>
			[...run.frames].filter((frame) => frame.segment === segment && frame.fate === 'presented').length;
		expect(seenIn(0)).toBeGreaterThan(20);
		expect(seenIn(1)).toBeGreaterThan(20);
	});

	test('the card is never shown wider than the flash rule allows, and is judged again when the window grows', async () => {
		const link = startLink(60_000);
		const page = await browser.newPage({ viewport: { width: 2600, height: 1600 } });
		await page.goto(await link.url);
		await pressStart(page);
		const width = () => page.locator('#card').evaluate((canvas) => canvas.getBoundingClientRect().width);
		expect(await width()).toBeLessThanOrEqual(1864);
		// Only what happens within a segment is an observation.
		await expect
			.poll(() => link.records.some(({ kind }) => kind === 'segment'), { timeout: 20_000 })
			.toBe(true);
		// The style that keeps it within is taken away: the page must notice by itself on the next change of size.
		await page.locator('#card').evaluate((canvas) => {
			canvas.style.maxWidth = '';
		});
		await page.setViewportSize({ width: 2590, height: 1600 });
		await page.locator('#status', { hasText: 'flash' }).waitFor({ timeout: 30_000 });
		// Longer than the page takes to tell its counts: why the card is dark is not told over.
		await page.waitForTimeout(2500);
		expect(await page.locator('#status').textContent()).toContain('flash');
		link.stop();
		await link.outcome;
		await page.close();
		expect(
			link.records.some((record) => record.kind === 'event' && record.code === 'flashRuleExceeded'),
		).toBe(true);
	});

	test('nothing overflows and every target is large enough at phone, tablet and laptop size', async () => {
		const link = startLink(60_000);
		for (const [width, height] of [
			[360, 740],
			[820, 1180],
			[1366, 768],
		] as const) {
			const page = await browser.newPage({ viewport: { width, height } });
			await page.goto(await link.url);
			await page.locator('#start:enabled').waitFor({ timeout: 20_000 });
			const wide = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
			expect(wide).toBeLessThanOrEqual(0);
			const box = await page.locator('#start').boundingBox();
			expect(Math.min(box?.width ?? 0, box?.height ?? 0)).toBeGreaterThanOrEqual(48);
			await page.screenshot({ path: join(LOOKS, `before-${width}.png`) });
			await page.close();
			await new Promise((settled) => setTimeout(settled, 300));
		}
		link.stop();
		await link.outcome.catch(() => {});
	});
});

/** The card page in a browser: what it shows is the card, at the size asked for, and Stop ends it. */
import { mkdirSync } from 'node:fs';
import { resolve } from 'node:path';
import { chromium, type Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { serveCard } from '../../src/cli/cardServe.ts';
import { findBrowser } from '../../src/cli/installedBrowser.ts';
import type { LumaPlane } from '../../src/imaging/planes.ts';
import type { Raster } from '../../src/imaging/raster.ts';
import { decodePng } from '../../src/media/node/png.ts';
import { createCardPainter } from '../../src/pattern/painter.ts';
import { createMarkerLocator } from '../../src/reading/markerLocator.ts';

const executablePath = findBrowser();
const SHOTS = process.env['STEERWORTHY_SHOTS'];

describe.skipIf(executablePath === null)('the card page', () => {
	let stop: () => Promise<void>;
	let page: Page;

	beforeAll(async () => {
		const served = await serveCard(0, resolve(import.meta.dirname, '../../dist/pages'));
		const browser = await chromium.launch({ executablePath: executablePath ?? '', args: ['--no-sandbox'] });
		page = await browser.newPage({ viewport: { width: 1366, height: 768 } });
		await page.goto(`${served.url}?session=7`);
		stop = async () => {
			await browser.close();
			served.close();
		};
	});
	afterAll(() => stop());

	test('measures the refresh, and shows the card that Node draws, with its session and its rate', async () => {
		await page.waitForSelector('#start:enabled', { timeout: 20_000 });
		expect(await page.textContent('#state')).toMatch(/^This screen refreshes \d+\.\d\d times a second/);
		await shoot('before');
		await page.click('#start');
		await page.waitForFunction(() => Number(document.getElementById('card')?.dataset['tick'] ?? 0) > 30);
		const { tick, pixels } = await page.evaluate(() => {
			const halves = ['card', 'free'].map((id) => document.getElementById(id) as HTMLCanvasElement);
			const pixels = halves.map((canvas) => {
				const { data } = canvas.getContext('2d')!.getImageData(0, 0, 640, 720);
				return Array.from({ length: 640 * 72 }, (_, i) => data[40 * i]!);
			});
			return { tick: Number(halves[0]!.dataset['tick']), pixels };
		});
		const rateHz = Number(/refreshes ([\d.]+)/.exec((await page.textContent('#state')) ?? '')?.[1]);
		const spec = { layout: 'scope', size: '1280x720', seed: 7, difficulty: 'easy' } as const;
		const { rgba } = createCardPainter({ ...spec, displayHz: rateHz }).paint(tick);
		const drawn = [0, 640].map((left) =>
			Array.from({ length: 640 * 72 }, (_, i) => {
				const [x, y] = [(10 * i) % 640, Math.floor((10 * i) / 640)];
				return rgba[4 * (y * 1280 + left + x)];
			}),
		);
		expect(pixels).toEqual(drawn);
		const found = markersOf(await page.screenshot());
		expect(new Set(found.map(({ label }) => label?.copy))).toEqual(new Set(['scope', 'free', 'low']));
		expect(found.every(({ label }) => label?.session === 7)).toBe(true);
		await shoot('during');
	});

	test('the scope’s marker has the millimetres asked for, and never more than the flash rule allows', async () => {
		const widthMm = () =>
			page.evaluate(() => {
				const { width } = (document.getElementById('card') as HTMLCanvasElement).getBoundingClientRect();
				return (2 * width * 0.45 * 25.4) / 96;
			});
		expect(await widthMm()).toBeCloseTo(31, 0);
		await setRange('size', '20');
		expect(await widthMm()).toBeCloseTo(20, 0);
		expect(await page.textContent('#distances')).toContain('30 mm');
		await setRange('size', '70');
		await setRange('scale', '1.8');
		// 644 CSS px of card: what 21,824 CSS px of flashing cells allow.
		expect(await widthMm()).toBeLessThan(77);
		expect(await page.textContent('#sizeText')).toMatch(/^4\d mm$/);
		await setRange('scale', '1');
		await setRange('size', '31');
	});

	test('a mirrored and turned card is read as what it is', async () => {
		await page.check('#mirrored');
		await page.selectOption('#turned', '180');
		const found = markersOf(await page.screenshot());
		const scope = found.find(({ label }) => label?.copy === 'scope')!;
		const free = found.find(({ label }) => label?.copy === 'free')!;
		expect(scope.heightRatio).toBeCloseTo(free.heightRatio, 2);
		expect(scope.pose.mirrored).toBe(true);
		expect(Math.abs(Math.abs(scope.turnedDeg) - 180)).toBeLessThan(3);
	});

	test('the screen is kept on while the card is shown, and no longer; where it cannot be, a person is told', async () => {
		await page.keyboard.press('Escape');
		await page.evaluate(() => {
			const locks: string[] = [];
			Object.assign(globalThis, { locks });
			const request = async () => {
				locks.push('held');
				return { release: async () => locks.push('released') };
			};
			Object.defineProperty(navigator, 'wakeLock', { value: { request }, configurable: true });
		});
		const locks = () => page.evaluate(() => (globalThis as unknown as { locks: string[] }).locks);
		await page.click('#start');
		await page.waitForFunction(
			() => document.getElementById('seen')?.textContent?.includes('session 7') === true,
		);
		expect(await locks()).toEqual(['held']);
		expect(await page.textContent('#seen')).not.toContain('stays on');
		await page.keyboard.press('Escape');
		expect(await locks()).toEqual(['held', 'released']);
		await page.evaluate(() => {
			const request = async () => Promise.reject(new Error('refused'));
			Object.defineProperty(navigator, 'wakeLock', { value: { request }, configurable: true });
			document.getElementById('seen')!.textContent = '';
		});
		await page.click('#start');
		await page.getByText('See to it by its settings that this screen stays on').waitFor();
	});

	test('Stop and Esc end it at once, and it can be shown again', async () => {
		await page.click('#stop');
		expect(await page.isVisible('#card')).toBe(false);
		await page.click('#start');
		expect(await page.isVisible('#card')).toBe(true);
		await page.keyboard.press('Escape');
		expect(await page.isVisible('#card')).toBe(false);
		expect(await page.textContent('#state')).toBe('Stopped.');
	});

	test('a marker that runs off the screen is told', async () => {
		await page.setViewportSize({ width: 360, height: 740 });
		await page.click('#start');
		expect(await page.textContent('#tooLarge')).toMatch(/^A marker runs off this screen\./);
		await setRange('apart', '0');
		await setRange('size', '20');
		expect(await page.isHidden('#tooLarge')).toBe(true);
		await page.keyboard.press('Escape');
		await setRange('apart', '40');
		await setRange('size', '31');
		await page.setViewportSize({ width: 1366, height: 768 });
	});

	test('nothing lies beside the window at the width of a phone, a tablet, a laptop', async () => {
		for (const width of [360, 820, 1366]) {
			await page.setViewportSize({ width, height: 900 });
			const over = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
			expect(over).toBeLessThanOrEqual(0);
			await shoot(`before-${width}`);
			await page.click('#start');
			await shoot(`during-${width}`);
			await page.keyboard.press('Escape');
		}
	});

	async function setRange(id: string, value: string): Promise<void> {
		await page.evaluate(
			([name, to]) => {
				const range = document.getElementById(name!) as HTMLInputElement;
				range.value = to!;
				range.dispatchEvent(new Event('input'));
			},
			[id, value],
		);
	}

	async function shoot(name: string): Promise<void> {
		if (SHOTS === undefined) return;
		mkdirSync(SHOTS, { recursive: true });
		await page.screenshot({ path: `${SHOTS}/card-${name}.png`, fullPage: true });
	}
});

function markersOf(png: Buffer) {
	const locator = createMarkerLocator();
	locator.add(greenOf(decodePng(png)));
	const located = locator.locate();
	if (located.kind === 'notMeasured') throw new Error(located.explanation);
	return located.markers.filter(({ label }) => label !== null);
}

function greenOf({ rgba, widthPx, heightPx }: Raster): LumaPlane {
	const data = new Uint8Array(widthPx * heightPx);
	for (let i = 0; i < data.length; i++) data[i] = rgba[4 * i + 1]!;
	return { data, stride: widthPx, widthPx, heightPx };
}

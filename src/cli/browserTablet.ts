/** The tablet page in an installed browser on this machine, its Start pressed for the person: `--tablet browser`. */
import { type Browser, chromium, type Page } from 'playwright-core';
import { OutsideFailure } from '../failure.ts';
import { findBrowser } from './installedBrowser.ts';

/** Keeps the browser off the network beyond this machine and its frames coming while nobody looks at it. */
const SWITCHES = [
	...['--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync'],
	...['--disable-quic', '--disable-background-timer-throttling', '--disable-renderer-backgrounding'],
	'--disable-backgrounding-occluded-windows',
];
const READY_WITHIN_MS = 20_000;

export type BrowserTablet = { readonly page: Page; close(): Promise<void> };

/** Opens the page and presses Start. Throws `OutsideFailure` `browserMissing` or `pageNotReady`. */
export async function openBrowserTablet(url: string): Promise<BrowserTablet> {
	const executablePath = findBrowser();
	if (executablePath === null)
		throw new OutsideFailure(
			'browserMissing',
			'No Chromium browser was found on this machine.',
			'Install one, or set STEERWORTHY_CHROMIUM to its path, or use --tablet none.',
		);
	const asRoot = process.getuid?.() === 0;
	const browser = await chromium.launch({
		executablePath,
		args: [...SWITCHES, ...(asRoot ? ['--no-sandbox', '--disable-gpu'] : [])],
	});
	try {
		return { page: await pressStart(browser, url), close: () => browser.close() };
	} catch (cause) {
		await browser.close();
		throw new OutsideFailure(
			'pageNotReady',
			`The tablet page did not become ready within ${READY_WITHIN_MS / 1000} s.`,
			'Run again on a quieter machine; if it stays so, use --tablet none and say what the page shows.',
			{ cause },
		);
	}
}

async function pressStart(browser: Browser, url: string): Promise<Page> {
	const page = await browser.newPage({ viewport: { width: 1180, height: 820 } });
	await page.goto(url);
	await page.locator('#start:enabled').click({ timeout: READY_WITHIN_MS });
	return page;
}

/**
 * The tablet page in whatever browsers are installed, each a plain process that is given an address and nothing else: the page is
 * served with one line more, which presses Start. Not installed: skipped, and the name says so. Chromium is among them so that the way
 * of asking is itself tried. WebKitGTK has no WebRTC for pages; there the ladder offers WebSocket.
 */
import { type ChildProcess, spawn } from 'node:child_process';
import { appendFileSync, cpSync, existsSync, mkdtempSync, readdirSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { delimiter, join, resolve } from 'node:path';
import { afterEach, expect, test } from 'vitest';
import { findBrowser } from '../../src/cli/installedBrowser.ts';
import { placeRun } from '../../src/observations/placeRun.ts';
import type { LinkOptions } from '../../src/rigs/link/link.ts';
import { GENTLE_RTC, startLink } from './pageLink.ts';

/** Pictures that every browser decodes. */
const JPEG = {
	format: 'jpeg',
	rateHz: 10,
	warmUpMs: 500,
	lostAfterMs: 1500,
} as const satisfies Partial<LinkOptions>;
type Asked = { readonly name: string; readonly program: string | null; readonly words: readonly string[] };

function onPath(...names: string[]): string | null {
	for (const folder of (process.env['PATH'] ?? '').split(delimiter))
		for (const name of names) if (existsSync(join(folder, name))) return join(folder, name);
	return null;
}

/** Beside its library, below a folder named for the machine. */
function miniBrowser(): string | null {
	for (const root of ['/usr/lib', '/usr/libexec'])
		for (const machine of existsSync(root) ? ['', ...readdirSync(root)] : [])
			for (const version of ['4.1', '4.0', '6.0']) {
				const kind = version === '6.0' ? 'webkitgtk' : 'webkit2gtk';
				const path = join(root, machine, `${kind}-${version}`, 'MiniBrowser');
				if (existsSync(path)) return path;
			}
	return null;
}

const xvfb = onPath('xvfb-run');
const mini = miniBrowser();
const profile = (): string => mkdtempSync(join(tmpdir(), 'steerworthy-profile-'));
const BROWSERS: readonly Asked[] = [
	{
		name: 'Chromium',
		program: findBrowser(),
		words: [
			'--headless=new',
			'--no-sandbox',
			'--disable-gpu',
			'--no-first-run',
			`--user-data-dir=${profile()}`,
		],
	},
	{
		name: 'Firefox',
		program: onPath('firefox', 'firefox-esr'),
		words: ['--headless', '--no-remote', '--profile', profile()],
	},
	{
		name: 'WebKitGTK',
		program: mini === null ? null : xvfb,
		words: ['-a', mini ?? ''],
	},
];

let child: ChildProcess | null = null;
afterEach(() => {
	// Its own group, and nobody else's.
	if (child?.pid !== undefined) process.kill(-child.pid, 'SIGKILL');
	child = null;
});

async function observe({ program, words }: Asked, how: Partial<LinkOptions>) {
	const pagesFolder = mkdtempSync(join(tmpdir(), 'steerworthy-pages-'));
	cpSync(resolve(import.meta.dirname, '../../dist/pages'), pagesFolder, { recursive: true });
	appendFileSync(
		join(pagesFolder, 'tablet/index.html'),
		'<script>setInterval(() => { const start = document.getElementById("start"); if (!start.disabled) start.click(); }, 300);</script>',
	);
	const link = startLink(4000, { ...how, pagesFolder });
	child = spawn(program ?? '', [...words, await link.url], {
		stdio: 'ignore',
		detached: true,
		// The process of pages may not be kept in a box of its own where tests run as root.
		env: { ...process.env, WEBKIT_DISABLE_SANDBOX_THIS_IS_DANGEROUS: '1' },
	});
	await link.outcome;
	return placeRun(link.records);
}

const CASES = BROWSERS.flatMap((browser) => [
	{ browser, way: 'WebSocket', how: JPEG },
	...(browser.name === 'WebKitGTK' ? [] : [{ browser, way: 'WebRTC', how: GENTLE_RTC }]),
]);

for (const { browser, way, how } of CASES) {
	const isHere = browser.program !== null;
	test.skipIf(!isHere)(
		`${browser.name} over ${way}${isHere ? '' : ' (not installed here)'}: pictures are read, drawn and told of`,
		async () => {
			const run = await observe(browser, how);
			expect(run.header.measuringPoints.viewer).toBe('presented');
			const frames = [...run.frames];
			expect(frames.filter(({ fate }) => fate === 'presented').length).toBeGreaterThan(15);
			expect(run.events.filter(({ code }) => code === 'codeMismatch')).toEqual([]);
			expect(run.patches.some(({ path }) => path === 'displayed')).toBe(true);
		},
	);
}

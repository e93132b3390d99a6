/** A link run of this process that waits for a page: what browser tests of the tablet page start from. */
import { resolve } from 'node:path';
import { type Browser, chromium, type Page } from 'playwright-core';
import { findBrowser } from '../../src/cli/installedBrowser.ts';
import type { ObservationRecord } from '../../src/observations/records.ts';
import { runLink } from '../../src/rigs/link/harness.ts';
import { type LinkOptions, type LinkOutcome, usualLink } from '../../src/rigs/link/link.ts';

/** Null: none is installed, and tests of pages do not run. */
export const executablePath = findBrowser();

export function launch(): Promise<Browser> {
	return chromium.launch({
		executablePath: executablePath ?? '',
		args: ['--no-sandbox', '--disable-gpu'],
	});
}

export type PageLink = {
	/** Of the tablet's page. */
	readonly url: Promise<string>;
	readonly records: ObservationRecord[];
	/** Evidence pictures as PNG, by name. */
	readonly pictures: Map<string, Uint8Array>;
	readonly outcome: Promise<LinkOutcome>;
	readonly stop: () => void;
};

export function startLink(observedMs: number, changes: Partial<LinkOptions> = {}): PageLink {
	const records: ObservationRecord[] = [];
	const pictures = new Map<string, Uint8Array>();
	const ending = new AbortController();
	let told: (url: string) => void = () => {};
	const url = new Promise<string>((resolveUrl) => {
		told = resolveUrl;
	});
	const options: LinkOptions = {
		...usualLink,
		runId: 'browser-test',
		toolVersion: 'test',
		startedAt: '2026-01-01T00:00:00Z',
		profile: 'demo',
		subject: { kind: 'link', name: 'the page under test', invented: false },
		viewer: 'external',
		pagesFolder: resolve(import.meta.dirname, '../../dist/pages'),
		sampleEveryMs: 500,
		observedMs,
		...changes,
	};
	const outcome = runLink(options, {
		record: (record) => records.push(record),
		evidence: (name, png) => pictures.set(name, png),
		progress: (step) => {
			if (step.stage === 'waitingForViewer') told(`${step.url}tablet/`);
		},
		signal: ending.signal,
	});
	return { url, records, pictures, outcome, stop: () => ending.abort() };
}

/** Over WebRTC at a rate and size of data that a busy machine bears. */
export const GENTLE_RTC = {
	rateHz: 20,
	bitrateKbps: 3000,
	warmUpMs: 500,
	lostAfterMs: 1500,
	webrtc: { codec: 'VP8', pinned: false },
} as const satisfies Partial<LinkOptions>;

export async function pressStart(page: Page): Promise<void> {
	await page.locator('#start:enabled').click({ timeout: 20_000 });
}

/** All sockets of the page, with a switch: cut what is open, and let no new one come through. */
export const CUT_OFF = `{ const Real = WebSocket; const open = [];
	globalThis.cutOff = (away) => { globalThis.isAway = away; if (away) for (const one of open) one.close(); };
	globalThis.WebSocket = class extends Real { constructor(url) { super(globalThis.isAway ? 'ws://127.0.0.1:9/' : url); open.push(this); } }; }`;

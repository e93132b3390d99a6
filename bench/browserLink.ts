/** A link run with the tablet page in an installed browser as its viewer, for benches: records, and what the page's clock truly was. */
import { fileURLToPath } from 'node:url';
import { type BrowserTablet, openBrowserTablet } from '../src/cli/browserTablet.ts';
import { placeRun } from '../src/observations/placeRun.ts';
import type { ObservationRecord } from '../src/observations/records.ts';
import type { Run } from '../src/observations/run.ts';
import { runLink } from '../src/rigs/link/harness.ts';
import { type LinkOptions, type LinkOutcome, usualLink } from '../src/rigs/link/link.ts';

const PAGES_FOLDER = fileURLToPath(new URL('../dist/pages', import.meta.url));

export type BrowserRun = {
	readonly run: Run;
	/** As written down, viewer instants on the page's own clock. */
	readonly records: readonly ObservationRecord[];
	/** CLOCK_MONOTONIC, in ms, at the page's own zero: Chromium's NavigationStart, the same clock as Node's. */
	readonly pageZeroMs: number;
	readonly outcome: LinkOutcome;
};

export function benchLink(options: Partial<LinkOptions> & { readonly observedMs: number }): LinkOptions {
	return {
		...usualLink,
		runId: 'bench',
		toolVersion: 'bench',
		startedAt: '2026-01-01T00:00:00Z',
		profile: 'demo',
		subject: { kind: 'computer', name: 'this computer', invented: false },
		...options,
	};
}

/** Needs the built pages. Throws what the rig or the browser throws. */
export async function runWithBrowser(options: LinkOptions): Promise<BrowserRun> {
	const records: ObservationRecord[] = [];
	const seen = await lookWithBrowser(options, (record) => records.push(record));
	return { run: placeRun(records), records, ...seen };
}

/** The same, every record handed over and none kept. */
export async function lookWithBrowser(
	options: LinkOptions,
	record: (record: ObservationRecord) => void,
): Promise<Omit<BrowserRun, 'run' | 'records'>> {
	const stop = new AbortController();
	let opened: Promise<BrowserTablet> | null = null;
	try {
		const outcome = await runLink(
			{ ...options, viewer: 'external', pagesFolder: PAGES_FOLDER },
			{
				record,
				evidence: () => {},
				progress: (step) => {
					if (step.stage !== 'waitingForViewer') return;
					opened = openBrowserTablet(`${step.url}tablet/`);
					opened.catch(() => stop.abort());
				},
				signal: stop.signal,
			},
		);
		const tablet = await (opened as Promise<BrowserTablet> | null);
		if (tablet === null) throw new Error('the run ended before it waited for a viewer');
		return { pageZeroMs: await pageZeroMs(tablet), outcome };
	} finally {
		await (await (opened as Promise<BrowserTablet> | null)?.catch(() => null))?.close();
	}
}

async function pageZeroMs({ page }: BrowserTablet): Promise<number> {
	const session = await page.context().newCDPSession(page);
	await session.send('Performance.enable');
	const { metrics } = await session.send('Performance.getMetrics');
	const start = metrics.find(({ name }) => name === 'NavigationStart');
	if (start === undefined) throw new Error('this browser does not tell NavigationStart');
	return start.value * 1000;
}

/** The tablet page over WebRTC in a real Chromium: through a relay with an air, the probe beside it, and hostile answers. */
import { resolve } from 'node:path';
import { type Browser, chromium } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { WebSocket } from 'ws';
import { findBrowser } from '../../src/cli/installedBrowser.ts';
import { measureRun } from '../../src/metrics/measureRun.ts';
import { placeRun } from '../../src/observations/placeRun.ts';
import { probePackets } from '../../src/observations/probes.ts';
import type { ObservationRecord } from '../../src/observations/records.ts';
import { runLink } from '../../src/rigs/link/harness.ts';
import { type LinkOptions, usualLink } from '../../src/rigs/link/link.ts';
import { stillAir } from '../../src/simulation/airSpec.ts';
import { standardCriteria, thresholdsOf } from '../../src/verdict/criteria.ts';

const executablePath = findBrowser();

function startLink(changes: Partial<LinkOptions>) {
	const records: ObservationRecord[] = [];
	const ending = new AbortController();
	let told: (url: string) => void = () => {};
	const url = new Promise<string>((resolveUrl) => {
		told = resolveUrl;
	});
	const options: LinkOptions = {
		...usualLink,
		runId: 'rtc-page-test',
		toolVersion: 'test',
		startedAt: '2026-01-01T00:00:00Z',
		profile: 'demo',
		subject: { kind: 'link', name: 'the page under test', invented: false },
		viewer: 'external',
		pagesFolder: resolve(import.meta.dirname, '../../dist/pages'),
		sampleEveryMs: 700,
		observedMs: 6000,
		warmUpMs: 500,
		rateHz: 20,
		bitrateKbps: 3000,
		webrtc: { codec: 'VP8', pinned: false },
		...changes,
	};
	const outcome = runLink(options, {
		record: (record) => records.push(record),
		evidence: () => {},
		progress: (step) => {
			if (step.stage === 'waitingForViewer') told(step.url);
		},
		signal: ending.signal,
	});
	return { url, records, outcome, stop: () => ending.abort() };
}

describe.skipIf(executablePath === null)('the tablet page over WebRTC', () => {
	let browser: Browser;
	beforeAll(async () => {
		browser = await chromium.launch({
			executablePath: executablePath ?? '',
			args: ['--no-sandbox', '--disable-gpu'],
		});
	});
	afterAll(async () => {
		await browser.close();
	});

	test('frames are told by their codes, presented never stands for decoded, and the relay saw the packets', async () => {
		const link = startLink({
			air: { spec: { ...stillAir, name: 'thirty', delayMs: 30 }, seed: 3 },
			probePerSecond: 100,
		});
		const page = await browser.newPage({ viewport: { width: 1180, height: 820 } });
		await page.goto(`${await link.url}tablet/`);
		await page.locator('#start:enabled').click({ timeout: 20_000 });
		const { udpRelayLog, probeRelayLog } = await link.outcome;
		await page.getByRole('heading', { name: 'Done' }).waitFor();
		await page.close();
		const run = placeRun(link.records);
		expect(run.header.path).toMatchObject({ transport: 'webrtc', codec: 'VP8' });
		expect(run.header.measuringPoints.viewer).toBe('presented');
		const { frames, warnings, colour } = measureRun(run, thresholdsOf(standardCriteria));
		if (frames.kind !== 'measured') throw new Error('not measured');
		const { sent, presented, notDrawn, unreadable, overtaken, late, lost } = frames;
		expect(presented + notDrawn + unreadable + overtaken + late + lost).toBe(sent);
		expect(presented).toBeGreaterThan(sent / 2);
		for (const { seenMs, decodedMs, shownMs } of run.frames) {
			if (seenMs === null || decodedMs === null) continue;
			expect(seenMs).toBeGreaterThanOrEqual(decodedMs);
			// The relay's 30 ms are in every picture's delay: nothing went around it.
			expect(decodedMs - shownMs).toBeGreaterThan(29);
		}
		// The decoder counted at least what was seen. (On a busy machine a page may miss pictures: that is a warning's affair.)
		const counts = run.streamCounts.filter(({ end }) => end === 'viewer').flatMap(({ rows }) => rows);
		expect(counts.at(-1)?.[2] ?? 0).toBeGreaterThanOrEqual(presented);
		expect(warnings.map(({ code }) => code).some((code) => code.startsWith('buffer'))).toBe(true);
		expect(colour.kind).toBe('measured');
		expect(udpRelayLog?.rows.some(([way, , , , , rtp]) => way === 0 && rtp !== null)).toBe(true);
		// Probes of both ways went through an air of their own and came out later by it.
		const probes = [...probePackets(run)];
		for (const way of ['toViewer', 'toBench'] as const) {
			const delays = probes.flatMap((probe) =>
				probe.way === way && probe.receivedMs !== null ? [probe.receivedMs - probe.sentMs] : [],
			);
			expect(delays.length).toBeGreaterThan(100);
			expect(Math.min(...delays)).toBeGreaterThan(28);
		}
		expect(probeRelayLog?.rows.length).toBeGreaterThan(probes.length);
	});
});

test('answers that are no descriptions, of another connection or without end do not stop the bench', async () => {
	const link = startLink({ observedMs: 60_000, pagesFolder: null, probePerSecond: 100 });
	const address = `${(await link.url).replace('http', 'ws')}control`;
	const socket = new WebSocket(address);
	const say = (message: object) => socket.send(JSON.stringify(message));
	const offers: string[] = [];
	const refused = new Promise<string>((resolveReason) => {
		socket.on('message', (data) => {
			const message = JSON.parse(String(data));
			if (message.type === 'plan') {
				say({
					...{ type: 'hello', protocol: 1, displayPeriodMs: null, clockQuantumMs: 0.1 },
					...{ userAgent: 'hostile', viewerPoint: 'decoded', decoder: 'none' },
				});
				say({ type: 'ready' });
			} else if (message.type === 'offer') {
				offers.push(message.way);
				const { way, link: number } = message;
				say({ type: 'answer', way, link: number + 900, sdp: 'v=0' });
				say({ type: 'answer', way, link: number, sdp: 'not a description' });
				say({ type: 'probed', sent: [[4_000_000_000, 1]], got: [[7, Number.MAX_VALUE]] });
				say({ type: 'streamCounts', rows: [[1, 900_000, null, null, -5, 0, 0]] });
				// The bench offers anew after a broken answer; then comes one that is too long.
				if (offers.filter((offered) => offered === 'picture').length >= 2)
					say({ type: 'answer', way, link: number, sdp: 'x'.repeat(60_000) });
			} else if (message.type === 'refused') resolveReason(message.reason);
		});
	});
	expect(await refused).toBeTruthy();
	expect(new Set(offers)).toEqual(new Set(['picture', 'probe']));
	link.stop();
	const { reason } = await link.outcome;
	expect(reason).toBe('stopped');
});

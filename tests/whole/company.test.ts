/** Two and three viewers at once: one is measured, the others come to look on and leave again. */

import { expect, test } from 'vitest';
import { WebSocket } from 'ws';
import { measureCompany } from '../../src/metrics/company.ts';
import { gatherPictures, observedIn } from '../../src/metrics/presentedPictures.ts';
import { placeRun } from '../../src/observations/placeRun.ts';
import type { ObservationRecord } from '../../src/observations/records.ts';
import { PROTOCOL_VERSION } from '../../src/protocol/control.ts';
import { runLink } from '../../src/rigs/link/harness.ts';
import { usualLink } from '../../src/rigs/link/link.ts';

/** Says that it looks on, and takes every picture as a page does. */
class Onlooker {
	readonly #control: WebSocket;
	#pictures: WebSocket | null = null;
	pictureCount = 0;

	constructor(url: string) {
		const { host, hostname } = new URL(url);
		this.#control = new WebSocket(`ws://${host}/control`);
		this.#control.on('error', () => {});
		this.#control.on('message', (data) => {
			const message = JSON.parse(String(data)) as { type: string; picturePort: number; picturePath: string };
			if (message.type !== 'plan') return;
			this.#control.send(
				JSON.stringify({
					...{ type: 'hello', protocol: PROTOCOL_VERSION, displayPeriodMs: 16, clockQuantumMs: 1 },
					...{ userAgent: 'onlooker', viewerPoint: 'presented', decoder: 'none', watching: true },
				}),
			);
			this.#pictures = new WebSocket(`ws://${hostname}:${message.picturePort}${message.picturePath}`);
			this.#pictures.on('error', () => {});
			this.#pictures.on('message', () => this.pictureCount++);
		});
	}

	leave(): void {
		this.#control.close();
		this.#pictures?.close();
	}
}

test('while a second and a third viewer come and leave, the first is measured on, and each number of them is told for itself', async () => {
	const records: ObservationRecord[] = [];
	const onlookers: Onlooker[] = [];
	const stop = new AbortController();
	let url = '';
	const watching = (): string[] =>
		records.flatMap((record) =>
			record.kind === 'event' && record.code === 'watching' ? [record.detail ?? ''] : [],
		);
	// By what was observed, and counted from each one's coming as the bench told it, however slow the machine lets them come:
	// 6 s alone, 4 with one, 6 with two, and the rest with one again.
	const cameMs: number[] = [];
	const step = (observedMs: number): void => {
		if (watching().length > cameMs.length) cameMs.push(observedMs);
		const [first, second] = cameMs;
		if (observedMs > 6000 && onlookers.length === 0) onlookers.push(new Onlooker(url));
		if (observedMs > (first ?? Number.POSITIVE_INFINITY) + 4000 && onlookers.length === 1)
			onlookers.push(new Onlooker(url));
		if (observedMs > (second ?? Number.POSITIVE_INFINITY) + 6000) onlookers[0]?.leave();
	};
	await runLink(
		{
			...usualLink,
			...{
				runId: 'company',
				toolVersion: '0',
				startedAt: '',
				profile: 'demo',
				observedMs: 24_000,
				warmUpMs: 300,
			},
			...{ lostAfterMs: 1000, rateHz: 15, bitrateKbps: 1000 },
			subject: { kind: 'computer', name: 'this computer', invented: false },
		},
		{
			record: (record) => records.push(record),
			evidence: () => {},
			progress: (progress) => {
				if (progress.stage === 'waitingForViewer') url = progress.url;
				if (progress.stage === 'measuring') step(progress.observedMs);
			},
			signal: stop.signal,
		},
	);
	for (const onlooker of onlookers) onlooker.leave();
	expect(onlookers.map(({ pictureCount }) => pictureCount > 20)).toEqual([true, true]);
	expect(
		watching()
			.map((detail) => Number.parseInt(detail, 10))
			.slice(0, 3),
	).toEqual([1, 2, 1]);
	const run = placeRun(records);
	const rows = measureCompany(run, 240);
	expect(rows.map(({ others }) => others)).toEqual([0, 1, 2]);
	// All of them together are what was observed, but for the wait for each segment's first picture.
	const observedS = observedIn(gatherPictures(run)) / 1000;
	const toldS = rows.reduce((sum, { seconds }) => sum + seconds, 0);
	expect(toldS).toBeLessThanOrEqual(observedS + 0.001);
	expect(toldS).toBeGreaterThan(0.8 * observedS);
}, 90_000);

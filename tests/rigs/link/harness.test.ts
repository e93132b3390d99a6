import { createServer } from 'node:net';
import { setTimeout as pause } from 'node:timers/promises';
import { expect, test } from 'vitest';
import { WebSocket } from 'ws';
import { decodePng } from '../../../src/media/node/png.ts';
import { placeRun } from '../../../src/observations/placeRun.ts';
import type { ObservationRecord } from '../../../src/observations/records.ts';
import { formatRecord, parseRecord } from '../../../src/observations/recordText.ts';
import { runLink } from '../../../src/rigs/link/harness.ts';
import { type LinkOptions, type LinkProgress, usualLink } from '../../../src/rigs/link/link.ts';
import type { SentFrame } from '../../../src/rigs/link/senderMessages.ts';
import { stillAir } from '../../../src/simulation/airSpec.ts';
import { listen } from '../../../src/transports/listen.ts';

const options: LinkOptions = {
	...usualLink,
	runId: 'test',
	toolVersion: '0.0.0',
	startedAt: '2026-01-01T00:00:00Z',
	profile: 'demo',
	subject: { kind: 'computer', name: 'this computer', invented: false },
	observedMs: 1500,
	warmUpMs: 300,
	lostAfterMs: 1000,
	sampleEveryMs: 400,
};

type Told = {
	readonly records: ObservationRecord[];
	readonly sent: SentFrame[];
	readonly pictures: Map<string, Uint8Array>;
};

/** `onProgress` also hears what was told so far, and may stop the run. */
function run(
	changes: Partial<LinkOptions>,
	onProgress: (progress: LinkProgress, told: Told, stop: () => void) => void = () => {},
) {
	const controller = new AbortController();
	const told: Told = { records: [], sent: [], pictures: new Map() };
	const outcome = runLink(
		{ ...options, ...changes },
		{
			record: (record) => {
				const read = parseRecord(formatRecord(record));
				if (read.kind !== 'unknown') told.records.push(read);
			},
			evidence: (name, png) => told.pictures.set(name, png),
			progress: (progress) => onProgress(progress, told, () => controller.abort()),
			signal: controller.signal,
			sent: (frame) => told.sent.push(frame),
		},
	);
	return { told, outcome };
}

function events({ records }: Told): string[] {
	return records.flatMap((record) => (record.kind === 'event' ? [record.code] : []));
}

test('through the relay every frame shown is in one class, whoever else knocks', async () => {
	const air = { spec: { ...stillAir, name: 'twenty', delayMs: 20 }, seed: 1 };
	let answers: Promise<string[]> | null = null;
	let url = '';
	const { told, outcome } = run({ air, card: { ...options.card, difficulty: 'hard' } }, (progress) => {
		if (progress.stage === 'waitingForViewer') url = progress.url;
		if (progress.stage === 'measuring') answers ??= knock(url);
	});
	expect(await outcome).toMatchObject({ reason: 'runEnd', segmentCount: 1 });
	const placed = placeRun(told.records);
	expect(placed.readingNotes).toEqual([]);
	const [segment] = placed.segments;
	if (segment === undefined) throw new Error('no segment');
	const shown = told.sent.filter(
		({ shownMs }) => shownMs >= segment.startMs - 0.001 && shownMs < segment.endMs,
	);
	expect([...placed.frames].map(({ frameNumber }) => frameNumber).toSorted((a, b) => a - b)).toEqual(
		shown.map(({ frameNumber }) => frameNumber),
	);
	for (const { shownMs, seenMs } of placed.frames)
		if (seenMs !== null) expect(seenMs).toBeGreaterThan(shownMs + 20 - (segment.clock?.boundMs ?? 0));
	expect(placed.header.path?.air).toBe('twenty');
	expect(placed.header.systematics).toMatchObject([{ shape: 'oneSided' }]);
	expect(await answers).toEqual(['another viewer steers this run', 'not JSON']);

	const evidence = placed.pictures.flatMap((picture) => picture.evidence ?? []);
	for (const name of evidence) expect(decodePng(told.pictures.get(name)!).widthPx).toBe(1280);
	expect(placed.patches[0]?.rgb).toHaveLength(placed.header.patches.length);
});

/** Whether the run has written enough of a segment to look at, its pictures seen: by what happened, not by the clock. */
function isUnderWay({ records }: Told, segment: number): boolean {
	const rows = records.flatMap((record) =>
		record.kind === 'presentations' && record.segment === segment ? record.rows : [],
	);
	return rows.filter(([, , , , , seenMs]) => seenMs !== null).length > 10;
}

test('a viewer that vanishes and returns makes a second segment, and the first is kept', async () => {
	let pid: number | undefined;
	let killed = false;
	const { told, outcome } = run({ observedMs: 60_000 }, (progress, so, stop) => {
		if (progress.stage === 'viewerStarted') pid = progress.pid;
		if (progress.stage === 'measuring' && isUnderWay(so, 0) && !killed && pid !== undefined) {
			killed = true;
			process.kill(pid, 'SIGKILL');
		}
		if (isUnderWay(so, 1)) stop();
	});
	expect(await outcome).toMatchObject({ reason: 'stopped', segmentCount: 2 });
	const placed = placeRun(told.records);
	expect(placed.endedBy).toBe('stopped');
	expect(placed.segments.map(({ endedBy }) => endedBy)).toEqual(['viewerLeft', 'stopped']);
	expect(events(told)).toContain('viewerReturned');
	for (const { segment, startMs, endMs, clock } of placed.segments) {
		const frames = [...placed.frames].filter((frame) => frame.segment === segment);
		expect(frames.length).toBeGreaterThan(5);
		for (const { shownMs } of frames) {
			expect(shownMs).toBeGreaterThanOrEqual(startMs - 0.001);
			expect(shownMs).toBeLessThanOrEqual(endMs + (clock?.boundMs ?? 0));
		}
	}
});

test('when the sender dies, what was measured is closed properly and the failure has a name', async () => {
	let pid: number | undefined;
	const { told, outcome } = run({ observedMs: 60_000 }, (progress) => {
		if (progress.stage === 'senderStarted') pid = progress.pid;
		if (progress.stage === 'measuring' && pid !== undefined) process.kill(pid, 'SIGKILL');
	});
	await expect(outcome).rejects.toMatchObject({ name: 'OutsideFailure', code: 'senderLost' });
	const placed = placeRun(told.records);
	expect(placed.endedBy).toBe('senderLost');
	expect(placed.segments).toMatchObject([{ endedBy: 'senderLost' }]);
	expect(placed.frames.count).toBeGreaterThan(5);
});

test('a viewer that holds its socket and says nothing ends its segment, the silence counted', async () => {
	let pid: number | undefined;
	let paused = false;
	const { told, outcome } = run({ observedMs: 60_000 }, (progress, so, stop) => {
		if (progress.stage === 'viewerStarted') pid = progress.pid;
		if (isUnderWay(so, 1)) stop();
		if (progress.stage !== 'measuring' || paused || pid === undefined || !isUnderWay(so, 0)) return;
		const silenced = pid;
		paused = true;
		process.kill(silenced, 'SIGSTOP');
		setTimeout(() => process.kill(silenced, 'SIGCONT'), 2600);
	});
	expect(await outcome).toMatchObject({ segmentCount: 2 });
	const placed = placeRun(told.records);
	expect(placed.segments.map(({ endedBy }) => endedBy)).toEqual(['viewerSilent', 'stopped']);
	const first = placed.segments[0]!;
	const frames = [...placed.frames].filter(({ segment }) => segment === 0);
	const seen = frames.filter(({ fate }) => fate === 'presented');
	const lastSeen = Math.max(...seen.map(({ frameNumber }) => frameNumber));
	const after = frames.filter(({ frameNumber }) => frameNumber > lastSeen);
	// However fast this machine is: what came after the last word is lost, every number of it, and within the segment.
	expect(after.length).toBeGreaterThan(0);
	expect(after.every(({ fate }) => fate === 'lost')).toBe(true);
	expect(after.map(({ frameNumber }) => frameNumber).sort((x, y) => x - y)).toEqual(
		after.map((_, i) => lastSeen + 1 + i),
	);
	expect(Math.max(...after.map(({ shownMs }) => shownMs))).toBeLessThan(first.endMs);
	expect(events(told)).toEqual(expect.arrayContaining(['viewerSilent', 'viewerReturned']));
});

test('a viewer that vanishes while the run waits for the last pictures hides none of them', async () => {
	// Most of a second in the air, so that many are on their way when it happens.
	const air = { spec: { ...stillAir, name: 'far', delayMs: 800 }, seed: 1 };
	let pid: number | undefined;
	const { told, outcome } = run({ air }, (progress) => {
		if (progress.stage === 'viewerStarted') pid ??= progress.pid;
		if (progress.stage === 'draining' && pid !== undefined) process.kill(pid, 'SIGKILL');
	});
	await outcome;
	const placed = placeRun(told.records);
	const segment = placed.segments[0]!;
	const shown = told.sent.filter(
		({ shownMs }) => shownMs >= segment.startMs - 0.001 && shownMs < segment.endMs,
	);
	const inLedger = [...placed.frames].filter((frame) => frame.segment === segment.segment);
	expect(inLedger.map(({ frameNumber }) => frameNumber).toSorted((a, b) => a - b)).toEqual(
		shown.map(({ frameNumber }) => frameNumber),
	);
	expect(inLedger.filter(({ fate }) => fate === 'lost').length).toBeGreaterThan(5);
});

test('a port in use is named, for the control socket and for the picture', async () => {
	const holder = createServer();
	const port = await listen(holder, 0, '127.0.0.1');
	await expect(run({ controlPort: port }).outcome).rejects.toMatchObject({ code: 'portInUse' });
	await expect(run({ picturePort: port }).outcome).rejects.toMatchObject({ code: 'portInUse' });
	holder.close();
});

test('stopped before a viewer came, a run says so and has written nothing', async () => {
	const { told, outcome } = run({ viewer: 'external' }, ({ stage }, _, stop) => {
		if (stage === 'waitingForViewer') stop();
	});
	await expect(outcome).rejects.toMatchObject({ code: 'viewerStillAwaited' });
	expect(told.records).toEqual([]);
});

test('no observed time is no run', async () => {
	await expect(run({ observedMs: 0 }).outcome).rejects.toThrow(RangeError);
});

/** Knocks twice at a run that has its viewer: politely, and with nonsense. Gives the reasons of refusal. */
async function knock(url: string): Promise<string[]> {
	const hello = {
		type: 'hello',
		protocol: 1,
		displayPeriodMs: null,
		clockQuantumMs: null,
		userAgent: '',
		viewerPoint: 'decoded',
		decoder: '',
	};
	return [await refusalOf(url, JSON.stringify(hello)), await refusalOf(url, '}{')];
}

async function refusalOf(url: string, text: string): Promise<string> {
	const socket = new WebSocket(`${url.replace('http', 'ws')}control`);
	const refused = new Promise<string>((resolve) =>
		socket.on('message', (data) => {
			const message = JSON.parse(String(data));
			if (message.type === 'plan') socket.send(text);
			if (message.type === 'refused') resolve(message.reason);
		}),
	);
	return Promise.race([refused, pause(2000).then(() => 'no refusal')]);
}

test('probe packets that came after a lost one are in the record, though the run ended before the lost one was given up', async () => {
	const lossy = { ...stillAir, name: 'lossy', delayMs: 2, loss: { p: 0.05, r: 1, k: 1, h: 0 } };
	const { told, outcome } = run({
		probePerSecond: 100,
		air: { spec: lossy, seed: 5 },
		lostAfterMs: 30_000,
		observedMs: 1500,
	});
	await outcome;
	const ways = { toViewer: 0, toBench: 0 };
	for (const record of told.records)
		if (record.kind === 'probes')
			ways[record.way] += record.beyondUs.filter((beyondUs) => beyondUs !== null).length;
	// One in twenty is lost: without the last look only what came before the first lost one would be here.
	expect(ways.toViewer).toBeGreaterThan(75);
	expect(ways.toBench).toBeGreaterThan(75);
});

/**
 * How good the link rig is over WebRTC, with the tablet page in an installed Chromium: known truth in, reading out.
 *
 * Delay: constant air of 0, 40, 80, 160 ms in the UDP relay, forwards and backwards in turn. The shift of the median reading,
 * less the change of the jitter buffer's mean delay that the browser itself recorded, against the shift that the relay's
 * own log shows; said beforehand: within 5 ms. Probes on the same air: median against their relay's log, within 2 ms.
 *
 * Events: an outage, Gilbert-Elliott loss, a bottleneck. The relay's log gives when the last packet of each picture was let
 * through (packets of one picture share their RTP time stamp); gaps between those are the independent intervals that the
 * gaps between decoded pictures are compared with. All classes must sum to what was sent.
 *
 * Floor per codec: generated to decoded, beside a plain loop of the same browser with the same codec, in turn, medians of
 * the repeats. The loop's pictures are simpler than the card: its ratio is an upper bound of what the rig adds.
 *
 * Probe on and off in turn: change of median and P95 age of the picture.
 *
 * `npx tsx bench/rtc.ts [--quick] [--json]`; quick: one repeat, short legs.
 */
import { chromium } from 'playwright-core';
import { findBrowser } from '../src/cli/installedBrowser.ts';
import { measureRun } from '../src/metrics/measureRun.ts';
import { probePackets } from '../src/observations/probes.ts';
import type { Run } from '../src/observations/run.ts';
import type { LinkOptions } from '../src/rigs/link/link.ts';
import { type AirSpec, stillAir } from '../src/simulation/airSpec.ts';
import { quantileSorted, sortSamples } from '../src/statistics/quantile.ts';
import { RTC_CODECS, type RtcCodec } from '../src/transports/sdpText.ts';
import type { UdpRelayLog } from '../src/transports/udpRelay.ts';
import { standardCriteria, thresholdsOf } from '../src/verdict/criteria.ts';
import { benchContext, printTable } from './benchReport.ts';
import { type BrowserRun, benchLink, runWithBrowser } from './browserLink.ts';
import { plainLoop } from './plainLoop.ts';

const SEED = 31_000;
const RATE_HZ = 30;
const KBPS = 4000;
const SHIFT_TOLERANCE_MS = 5;
const PROBE_TOLERANCE_MS = 2;
/** Of the longest gap, and of gaps that only one of the two logs has. */
const GAP_TOLERANCE_MS = 40;
const FLOOR_RATIO = 1.1;

const quick = process.argv.includes('--quick');
const size = quick
	? { repeats: 1, delaysMs: [0, 40], legMs: 5000, codecs: ['VP8'] as readonly RtcCodec[] }
	: { repeats: 2, delaysMs: [0, 40, 80, 160], legMs: 10_000, codecs: RTC_CODECS };
const alternations = quick ? 1 : 5;

type Row = Record<string, string | number>;

const delays = await benchDelays();
const events = await benchEvents();
const floor = await benchFloor();
const probe = await benchProbe();
report();

function leg(changes: Partial<LinkOptions>): Promise<BrowserRun> {
	const webrtc = { codec: 'VP8', pinned: true } as const;
	const usual = { observedMs: size.legMs, rateHz: RATE_HZ, bitrateKbps: KBPS, webrtc, seed: SEED };
	return runWithBrowser(benchLink({ ...usual, warmUpMs: 500, lostAfterMs: 2500, ...changes }));
}

function air(changes: Partial<AirSpec>): NonNullable<LinkOptions['air']> {
	return { spec: { ...stillAir, name: 'bench', ...changes }, seed: SEED };
}

async function benchDelays(): Promise<{ video: Row[]; probes: Row[] }> {
	const legs: { repeat: number; setMs: number; readMs: number; bufferMs: number; relayMs: number }[] = [];
	const probes: Row[] = [];
	for (let repeat = 0; repeat < size.repeats; repeat++) {
		for (const setMs of repeat % 2 === 0 ? size.delaysMs : size.delaysMs.toReversed()) {
			const { run, outcome } = await leg({ air: air({ delayMs: setMs }), probePerSecond: 100 });
			const relayMs = medianOf(addedMs(outcome.udpRelayLog, run));
			legs.push({ repeat, setMs, readMs: medianOf(decodedDelays(run)), bufferMs: bufferMean(run), relayMs });
			probes.push(...probeRows(run, outcome.probeRelayLog, { repeat, setMs }));
		}
	}
	const video = legs.map(({ repeat, setMs, readMs, bufferMs, relayMs }): Row => {
		const zero = legs.find((other) => other.repeat === repeat && other.setMs === 0);
		if (zero === undefined) throw new Error('no floor');
		const bufferChange = bufferMs - zero.bufferMs;
		const errorMs = readMs - zero.readMs - bufferChange - (relayMs - zero.relayMs);
		return {
			...{ repeat, setMs, readMs: round(readMs), shiftMs: round(readMs - zero.readMs) },
			...{ bufferChangeMs: round(bufferChange), relayShiftMs: round(relayMs - zero.relayMs) },
			...{ errorMs: round(errorMs), verdict: within(errorMs, SHIFT_TOLERANCE_MS) },
		};
	});
	return { video, probes };
}

function probeRows(run: Run, log: UdpRelayLog | null, at: { repeat: number; setMs: number }): Row[] {
	return (['toViewer', 'toBench'] as const).map((way, number) => {
		const readMs = medianOf(
			[...probePackets(run)].flatMap((one) =>
				one.way === way && one.receivedMs !== null ? [one.receivedMs - one.sentMs] : [],
			),
		);
		// Data packets only: connectivity checks are larger or smaller, and few.
		const relayMs = medianOf(
			(log?.rows ?? []).flatMap(([of, inMs, , outMs]) =>
				of === number && outMs !== null ? [outMs - inMs] : [],
			),
		);
		const errorMs = readMs - relayMs;
		return {
			...at,
			way,
			readMs: round(readMs),
			relayMs: round(relayMs),
			errorMs: round(errorMs),
			verdict: within(errorMs, PROBE_TOLERANCE_MS),
		};
	});
}

async function benchEvents(): Promise<Row[]> {
	// Again and again, since nobody knows beforehand how long the jitter buffer is waited for.
	const scheduled = Array.from({ length: 12 }, (_, i) => ({ atMs: 8000 + 9000 * i, lengthMs: 600 }));
	const outages = { scheduled, random: null };
	const cases: [string, Partial<AirSpec>][] = [
		['outage 600 ms, held', { outages: { ...outages, packets: 'held' } }],
		['outage 600 ms, dropped', { outages: { ...outages, packets: 'dropped' } }],
		['Gilbert-Elliott loss', { delayMs: 5, loss: { p: 0.01, r: 0.25, k: 1, h: 0.5 } }],
		['1.5 Mbit/s bottleneck', { rate: { kbitPerSecond: 1500, queueMs: 300, queueBytes: null } }],
	];
	const rows: Row[] = [];
	for (const [what, changes] of quick ? cases.slice(1, 2) : cases) {
		const webrtc = { codec: 'VP8', pinned: false } as const;
		rows.push(
			eventRow(what, await leg({ air: air(changes), webrtc, observedMs: Math.max(size.legMs, 12_000) })),
		);
	}
	return rows;
}

function eventRow(what: string, { run, outcome }: BrowserRun): Row {
	const { frames, warnings } = measureRun(run, thresholdsOf(standardCriteria));
	if (frames.kind !== 'measured') throw new Error('no ledger');
	const classes = [
		frames.presented,
		frames.notDrawn,
		frames.unreadable,
		frames.overtaken,
		frames.late,
		frames.lost,
	];
	const log = outcome.udpRelayLog;
	const made = gapsOf(passedMs(log, run));
	const seen = gapsOf(decodedMs(run));
	const longest = { made: Math.max(0, ...made), seen: Math.max(0, ...seen) };
	const [, total] = packetsToViewer(log);
	const lostPackets = (log?.rows ?? []).filter(([way, , , outMs]) => way === 0 && outMs === null).length;
	return {
		what,
		packetsLost: `${lostPackets}/${total}`,
		sumOff: frames.sent - classes.reduce((sum, count) => sum + count, 0),
		lost: frames.lost,
		madeGapMs: round(longest.made),
		seenGapMs: round(longest.seen),
		madeOver200: made.filter((ms) => ms > 200).length,
		seenOver200: seen.filter((ms) => ms > 200).length,
		countsDisagree: warnings.filter(({ code }) => code === 'countsDisagree').length,
		verdict: within(longest.seen - longest.made, GAP_TOLERANCE_MS),
	};
}

async function benchFloor(): Promise<Row[]> {
	const rows: Row[] = [];
	for (const codec of size.codecs) {
		const ours: number[] = [];
		const plain: number[] = [];
		let unreadable = 0;
		let sent = 0;
		for (let i = 0; i < alternations; i++) {
			const { run } = await leg({ webrtc: { codec, pinned: true } });
			ours.push(medianOf(decodedDelays(run)));
			for (const { fate } of run.frames) {
				sent++;
				if (fate === 'unreadable') unreadable++;
			}
			plain.push(medianOf(await plainDelays(codec)));
		}
		const [ourMs, plainMs] = [medianOf(ours), medianOf(plain)];
		const verdict = ourMs / plainMs <= FLOOR_RATIO ? 'within' : 'ABOVE';
		const about = { ourMs: round(ourMs), plainMs: round(plainMs), ratio: round(ourMs / plainMs), verdict };
		rows.push({ codec, alternations, ...about, unreadable: `${unreadable}/${sent}` });
	}
	return rows;
}

async function plainDelays(codec: RtcCodec): Promise<number[]> {
	const browser = await chromium.launch({
		executablePath: findBrowser() ?? '',
		args: ['--no-sandbox', '--disable-gpu'],
	});
	try {
		const page = await browser.newPage({ viewport: { width: 1180, height: 820 } });
		await page.evaluate('globalThis.__name = (named) => named');
		const rtc = { codec, kbps: KBPS };
		const { decodedMs: all } = await page.evaluate(plainLoop, {
			...{ rateHz: RATE_HZ, durationMs: size.legMs, widthPx: 1280, heightPx: 720, rtc },
		});
		return all;
	} finally {
		await browser.close();
	}
}

async function benchProbe(): Promise<Row[]> {
	const rows: Row[] = [];
	for (let i = 0; i < alternations; i++) {
		for (const probePerSecond of i % 2 === 0 ? [null, 200] : [200, null]) {
			const { run } = await leg({ probePerSecond });
			const { pictureAge } = measureRun(run, thresholdsOf(standardCriteria));
			if (pictureAge.kind !== 'measured') throw new Error('no age');
			const { medianMs, p95Ms } = pictureAge;
			rows.push({
				alternation: i,
				probe: probePerSecond ?? 0,
				medianAgeMs: round(medianMs),
				p95AgeMs: round(p95Ms),
			});
		}
	}
	return rows;
}

function observed({ segments }: Run): { fromMs: number; toMs: number } {
	return { fromMs: segments[0]?.warmUpUntilMs ?? 0, toMs: segments.at(-1)?.endMs ?? 0 };
}

function decodedDelays(run: Run): number[] {
	const { fromMs } = observed(run);
	return [...run.frames].flatMap((frame) =>
		frame.decodedMs === null || frame.shownMs < fromMs ? [] : [frame.decodedMs - frame.shownMs],
	);
}

function decodedMs(run: Run): number[] {
	const { fromMs, toMs } = observed(run);
	return [...run.frames]
		.flatMap(({ decodedMs: at }) => (at === null || at < fromMs || at > toMs ? [] : [at]))
		.sort((a, b) => a - b);
}

/** When each picture's last packet was let through, in the observed time, in order. */
function passedMs(log: UdpRelayLog | null, run: Run): number[] {
	const { fromMs, toMs } = observed(run);
	const last = new Map<number, number>();
	for (const [way, , , outMs, , rtp] of log?.rows ?? [])
		if (way === 0 && outMs !== null && rtp !== null) last.set(rtp, Math.max(last.get(rtp) ?? 0, outMs));
	return [...last.values()].filter((at) => at >= fromMs && at <= toMs).sort((a, b) => a - b);
}

function gapsOf(instants: readonly number[]): number[] {
	return instants.slice(1).map((at, i) => at - (instants[i] ?? at));
}

function addedMs(log: UdpRelayLog | null, run: Run): number[] {
	const { fromMs, toMs } = observed(run);
	return (log?.rows ?? []).flatMap(([way, inMs, , outMs, , rtp]) =>
		way === 0 && outMs !== null && rtp !== null && inMs >= fromMs && inMs <= toMs ? [outMs - inMs] : [],
	);
}

function packetsToViewer(log: UdpRelayLog | null): [number, number] {
	const rows = (log?.rows ?? []).filter(([way]) => way === 0);
	return [rows.filter(([, , , outMs]) => outMs === null).length, rows.length];
}

/** Mean time in the jitter buffer over the observed time, from the browser's own counts. */
function bufferMean(run: Run): number {
	const { fromMs, toMs } = observed(run);
	const rows = run.streamCounts
		.filter(({ end }) => end === 'viewer')
		.flatMap((record) => record.rows)
		.filter(([atMs]) => atMs >= fromMs && atMs <= toMs);
	const [first, last] = [rows[0], rows.at(-1)];
	if (first === undefined || last === undefined) throw new Error('no counts');
	return ((last[5] ?? 0) - (first[5] ?? 0)) / ((last[6] ?? 0) - (first[6] ?? 0));
}

function medianOf(values: readonly number[]): number {
	return quantileSorted(sortSamples([...values]), 0.5);
}

function within(errorMs: number, toleranceMs: number): string {
	return Math.abs(errorMs) <= toleranceMs ? 'within' : 'OUTSIDE';
}

function round(value: number): number {
	return Math.round(value * 100) / 100;
}

function report(): void {
	const context = benchContext();
	const all = [...delays.video, ...delays.probes, ...events, ...floor];
	process.exitCode = all.every(({ verdict }) => verdict === 'within') ? 0 : 1;
	if (process.argv.includes('--json')) {
		console.log(JSON.stringify({ bench: 'rtc', context, seed: SEED, quick, delays, events, floor, probe }));
		return;
	}
	console.log(`rtc: ${JSON.stringify({ ...context, seed: SEED, quick })}`);
	console.log(
		`\nAdded delay, VP8: shift of the median to decoded, jitter buffer taken out, tolerance ${SHIFT_TOLERANCE_MS} ms`,
	);
	printTable(delays.video);
	console.log(`\nProbes on the same air, tolerance ${PROBE_TOLERANCE_MS} ms`);
	printTable(delays.probes);
	console.log(
		`\nGaps between pictures let through by the relay and decoded in the page, tolerance ${GAP_TOLERANCE_MS} ms`,
	);
	printTable(events);
	console.log(`\nFloor to decoded beside a plain loop, goal at most ${FLOOR_RATIO}`);
	printTable(floor);
	console.log('\nAge of the picture with the probe off and on');
	printTable(probe);
}

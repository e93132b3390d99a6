/**
 * How good the link rig is over WebRTC, with the tablet page in an installed Chromium: known truth in, reading out.
 *
 * Delay: constant air of 0, 40, 80, 160 ms in the UDP relay, forwards and backwards in turn. The shift of the mean reading to decoded,
 * less the change of the jitter buffer's mean delay that the browser itself recorded (it records no other mean), against the shift of the mean
 * instant at which the relay's own log let a picture's first packet through (there the buffer's time begins); said beforehand: within 5 ms.
 * Probes on the same air: median against their relay's log, within 2 ms.
 *
 * Events: an outage, Gilbert-Elliott loss, a bottleneck. Beside what the rig says stands a second log, made from the relay's packets
 * alone (`packetLog.ts`): longest gap and oldest age within 40 ms and what the jitter buffer holds besides (it gives that out in an outage, and takes up
 * as much before a bottleneck); as many freezes, but for intervals that near to where a freeze begins; the share of time over the limit within 2 points.
 * All classes must sum to what was sent.
 *
 * Floor per codec: generated to decoded, beside a plain loop of the same browser with the same card, codec, bitrate and reader, in turn,
 * medians of the alternations; goal at most 1.1 times.
 *
 * Probe on and off in turn: change of median and P95 age of the picture.
 *
 * `npx tsx bench/rtc.ts [--quick] [--json] [--only delays,events,floor,probe] [--codec VP8]`; quick: one repeat, short legs.
 */
import { measureRun } from '../src/metrics/measureRun.ts';
import { probePackets } from '../src/observations/probes.ts';
import type { Run } from '../src/observations/run.ts';
import { type LinkOptions, usualLink } from '../src/rigs/link/link.ts';
import { type AirSpec, stillAir } from '../src/simulation/airSpec.ts';
import { RTC_CODECS } from '../src/transports/sdpText.ts';
import type { UdpRelayLog } from '../src/transports/udpRelay.ts';
import { standardCriteria, thresholdsOf } from '../src/verdict/criteria.ts';
import { benchContext, median, printTable } from './benchReport.ts';
import { type BrowserRun, benchLink, runWithBrowser } from './browserLink.ts';
import { picturesOf, storyOf } from './packetLog.ts';
import { runPlainLoop } from './plainBrowser.ts';
import { addedMs, bufferMean, decodedDelays, mean, observed, seenDelays, shownMs } from './rtcFigures.ts';

const SEED = 31_000;
const RATE_HZ = 30;
const KBPS = 4000;
const SHIFT_TOLERANCE_MS = 5;
const PROBE_TOLERANCE_MS = 2;
const GAP_TOLERANCE_MS = 40;
const SHARE_TOLERANCE = 0.02;
const FLOOR_RATIO = 1.1;
/** As long as the rig waits at least for the jitter buffer. */
const LOOP_SETTLE_MS = 6500;

const quick = process.argv.includes('--quick');
const only = wordAfter('--only')?.split(',') ?? ['delays', 'events', 'floor', 'probe'];
const codecs = RTC_CODECS.filter((codec) => (wordAfter('--codec') ?? (quick ? 'VP8' : codec)) === codec);
const size = quick
	? { repeats: 1, delaysMs: [0, 40], legMs: 5000, alternations: 1, eventMs: 12_000 }
	: { repeats: 2, delaysMs: [0, 40, 80, 160], legMs: 10_000, alternations: 5, eventMs: 20_000 };
const floorMs = quick ? 5000 : 6000;
const probeMs = quick ? 5000 : 8000;

type Row = Record<string, string | number>;

const delays = only.includes('delays') ? await benchDelays() : { video: [], probes: [] };
const events = only.includes('events') ? await benchEvents() : [];
const floor = only.includes('floor') ? await benchFloor() : [];
const probe = only.includes('probe') ? await benchProbe() : [];
report();

function wordAfter(option: string): string | null {
	const at = process.argv.indexOf(option);
	return at < 0 ? null : (process.argv[at + 1] ?? null);
}

function leg(changes: Partial<LinkOptions>): Promise<BrowserRun> {
	const webrtc = { codec: 'VP8', pinned: true } as const;
	const usual = { observedMs: size.legMs, rateHz: RATE_HZ, bitrateKbps: KBPS, webrtc, seed: SEED };
	return runWithBrowser(benchLink({ ...usual, warmUpMs: 500, lostAfterMs: 2500, ...changes }));
}

function air(changes: Partial<AirSpec>): NonNullable<LinkOptions['air']> {
	return { spec: { ...stillAir, name: 'bench', ...changes }, seed: SEED };
}

type DelayLeg = Readonly<Record<'repeat' | 'setMs' | 'readMs' | 'bufferMs' | 'relayMs' | 'loggedMs', number>>;

async function benchDelays(): Promise<{ video: Row[]; probes: Row[] }> {
	const legs: DelayLeg[] = [];
	const probes: Row[] = [];
	for (let repeat = 0; repeat < size.repeats; repeat++) {
		for (const setMs of repeat % 2 === 0 ? size.delaysMs : size.delaysMs.toReversed()) {
			const { run, outcome } = await leg({ air: air({ delayMs: setMs }), probePerSecond: 100 });
			const log = outcome.udpRelayLog;
			if (log === null) throw new Error('no relay');
			const { fromMs, toMs } = observed(run);
			const logged = picturesOf(log, shownMs(run)).flatMap(({ shownMs: at, firstOutMs }) =>
				at >= fromMs && at < toMs ? [firstOutMs - at] : [],
			);
			const [relayMs, loggedMs] = [mean(addedMs(log, run)), mean(logged)];
			const readMs = mean(decodedDelays(run));
			legs.push({ repeat, setMs, readMs, bufferMs: bufferMean(run), relayMs, loggedMs });
			probes.push(...probeRows(run, outcome.probeRelayLog, { repeat, setMs }));
		}
	}
	return { video: legs.map((one) => delayRow(one, legs)), probes };
}

function delayRow(
	{ repeat, setMs, readMs, bufferMs, relayMs, loggedMs }: DelayLeg,
	legs: readonly DelayLeg[],
): Row {
	const zero = legs.find((other) => other.repeat === repeat && other.setMs === 0);
	if (zero === undefined) throw new Error('no floor');
	const [bufferChange, loggedChange] = [bufferMs - zero.bufferMs, loggedMs - zero.loggedMs];
	const errorMs = readMs - zero.readMs - bufferChange - loggedChange;
	return {
		...{ repeat, setMs, readMs: round(readMs), shiftMs: round(readMs - zero.readMs) },
		...{ bufferMs: round(bufferMs), bufferChangeMs: round(bufferChange) },
		...{ relayShiftMs: round(relayMs - zero.relayMs), loggedShiftMs: round(loggedChange) },
		...{ errorMs: round(errorMs), verdict: within(errorMs, SHIFT_TOLERANCE_MS) },
	};
}

function probeRows(run: Run, log: UdpRelayLog | null, at: { repeat: number; setMs: number }): Row[] {
	return (['toViewer', 'toBench'] as const).map((way, number) => {
		const readMs = median(
			[...probePackets(run)].flatMap((one) =>
				one.way === way && one.receivedMs !== null ? [one.receivedMs - one.sentMs] : [],
			),
		);
		// Data packets only: connectivity checks are larger or smaller, and few.
		const relayMs = median(
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
		rows.push(eventRow(what, await leg({ air: air(changes), webrtc, observedMs: size.eventMs })));
	}
	return rows;
}

function eventRow(what: string, { run, outcome }: BrowserRun): Row {
	const thresholds = thresholdsOf(standardCriteria);
	const { frames, gaps, freezes, pictureAge, warnings } = measureRun(run, thresholds);
	const log = outcome.udpRelayLog;
	if (log === null || frames.kind !== 'measured' || gaps.kind !== 'measured') throw new Error('no ledger');
	if (freezes.kind !== 'measured' || pictureAge.kind !== 'measured') throw new Error('no age');
	const { sent, presented, notDrawn, unreadable, overtaken, late, lost } = frames;
	const pictures = picturesOf(log, shownMs(run));
	const restMs = median(seenDelays(run)) - median(pictures.map(({ shownMs: at, wholeMs }) => wholeMs - at));
	const story = storyOf(pictures, { ...observed(run), restMs, limitMs: thresholds.ageLimitMs });
	const loggedGapMs = Math.max(0, ...story.gapsMs);
	const shareOff = pictureAge.shareOverLimitRatio - story.overLimitRatio;
	const heldMs = bufferMean(run);
	const nearMs = GAP_TOLERANCE_MS + heldMs;
	const isNear = (offMs: number): boolean => Math.abs(offMs) <= nearMs;
	const freezeCount = freezes.freezes.count;
	const agrees =
		isNear(gaps.longestMs - loggedGapMs) &&
		isNear(pictureAge.maxMs - story.oldestMs) &&
		freezeCount >= story.freezeCount(-nearMs) &&
		freezeCount <= story.freezeCount(nearMs) &&
		Math.abs(shareOff) <= SHARE_TOLERANCE;
	const sumOff = sent - presented - notDrawn - unreadable - overtaken - late - lost;
	return {
		what,
		lostPkts: packetsLost(log),
		...{ sumOff, lost, unread: unreadable, heldMs: Math.round(heldMs) },
		gapMs: `${Math.round(gaps.longestMs)}/${Math.round(loggedGapMs)}`,
		over200: `${gaps.over200.count}/${story.gapsMs.filter((ms) => ms > 200).length}`,
		freezes: `${freezeCount}/${story.freezeCount(0)}`,
		oldestMs: `${Math.round(pictureAge.maxMs)}/${Math.round(story.oldestMs)}`,
		overLimit: `${percent(pictureAge.shareOverLimitRatio)}/${percent(story.overLimitRatio)}`,
		countsOff: warnings.filter(({ code }) => code === 'countsDisagree').length,
		verdict: agrees && sumOff === 0 ? 'within' : 'OUTSIDE',
	};
}

function packetsLost({ rows }: UdpRelayLog): string {
	const toViewer = rows.filter(([way]) => way === 0);
	return `${toViewer.filter(([, , , outMs]) => outMs === null).length}/${toViewer.length}`;
}

async function benchFloor(): Promise<Row[]> {
	const rows: Row[] = [];
	for (const codec of codecs) {
		const [ours, plain, ourBuffers, plainBuffers] = [[], [], [], []] as number[][];
		let [unreadable, sent] = [0, 0];
		for (let i = 0; i < size.alternations; i++) {
			const { run } = await leg({ webrtc: { codec, pinned: true }, observedMs: floorMs });
			ours?.push(median(decodedDelays(run)));
			ourBuffers?.push(bufferMean(run));
			sent += run.frames.count;
			for (const { fate } of run.frames) if (fate === 'unreadable') unreadable++;
			const loop = { rateHz: RATE_HZ, kbps: KBPS, pinned: true, settleMs: LOOP_SETTLE_MS };
			const { decodedMs, bufferMs } = await runPlainLoop({
				...{ spec: usualLink.card, codec, durationMs: floorMs, ...loop },
			});
			plain?.push(median(decodedMs));
			plainBuffers?.push(bufferMs);
		}
		const [ourMs, plainMs] = [median(ours ?? []), median(plain ?? [])];
		rows.push({
			...{ codec, alternations: size.alternations, ourMs: round(ourMs), plainMs: round(plainMs) },
			ratio: round(ourMs / plainMs),
			ourBufferMs: round(median(ourBuffers ?? [])),
			plainBufferMs: round(median(plainBuffers ?? [])),
			unreadable: `${unreadable}/${sent}`,
			verdict: ourMs / plainMs <= FLOOR_RATIO ? 'within' : 'ABOVE',
		});
	}
	return rows;
}

async function benchProbe(): Promise<Row[]> {
	const rows: Row[] = [];
	for (let i = 0; i < size.alternations; i++) {
		const pair = new Map<number, { medianMs: number; p95Ms: number }>();
		for (const perSecond of i % 2 === 0 ? [0, 200] : [200, 0]) {
			const probePerSecond = perSecond === 0 ? null : perSecond;
			const { run } = await leg({ probePerSecond, observedMs: probeMs });
			const { pictureAge } = measureRun(run, thresholdsOf(standardCriteria));
			if (pictureAge.kind !== 'measured') throw new Error('no age');
			const { medianMs, p95Ms } = pictureAge;
			if (medianMs === null || p95Ms === null) throw new Error('age without its median');
			pair.set(perSecond, { medianMs, p95Ms });
		}
		const [off, on] = [pair.get(0)!, pair.get(200)!];
		rows.push({
			alternation: i + 1,
			...{ medianOffMs: round(off.medianMs), medianOnMs: round(on.medianMs) },
			medianChangeMs: round(on.medianMs - off.medianMs),
			...{ p95OffMs: round(off.p95Ms), p95OnMs: round(on.p95Ms), p95ChangeMs: round(on.p95Ms - off.p95Ms) },
		});
	}
	return rows;
}

function within(errorMs: number, toleranceMs: number): string {
	return Math.abs(errorMs) <= toleranceMs ? 'within' : 'OUTSIDE';
}

function round(value: number): number {
	return Math.round(value * 100) / 100;
}

function percent(ratio: number): string {
	return `${(100 * ratio).toFixed(1)} %`;
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
		`\nAdded delay, VP8: shift of the mean to decoded, less the buffer's change, against the relay's log, tolerance ${SHIFT_TOLERANCE_MS} ms`,
	);
	printTable(delays.video);
	console.log(`\nProbes on the same air, tolerance ${PROBE_TOLERANCE_MS} ms`);
	printTable(delays.probes);
	console.log(
		`\nEvents: the rig / the second log, from packets alone. Longest gap and oldest age within ${GAP_TOLERANCE_MS} ms and what is held`,
	);
	printTable(events);
	console.log(`\nFloor to decoded beside a plain loop of the same card, goal at most ${FLOOR_RATIO}`);
	printTable(floor);
	console.log('\nAge of the picture with the probe off and on');
	printTable(probe);
}

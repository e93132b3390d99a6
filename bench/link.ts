/**
 * How good the link rig is as an instrument: known truth in, reading out, over real sockets with real H.264.
 *
 * Delay: constant air of 0, 40, 80, 160 ms in the relay, alternating; the shift of the median reading against the shift that
 * the relay's own log shows for the same pictures. Losses: the sender drops encoded pictures and logs it; the ledger must
 * name exactly those, and all classes must sum to what was sent. With predicted pictures the same losses cost more: how much.
 * An outage of the relay and a freeze by loss: the longest gap seen against the longest gap made.
 *
 * `npx tsx bench/link.ts [--quick] [--json]`; quick (a minute): one repeat, short legs.
 */

import type { Frame } from '../src/observations/frameTable.ts';
import { placeRun } from '../src/observations/placeRun.ts';
import type { ObservationRecord } from '../src/observations/records.ts';
import type { Run } from '../src/observations/run.ts';
import { runLink } from '../src/rigs/link/harness.ts';
import { type LinkOptions, usualLink } from '../src/rigs/link/link.ts';
import type { SentFrame } from '../src/rigs/link/senderMessages.ts';
import { type AirSpec, stillAir } from '../src/simulation/airSpec.ts';
import { quantileSorted, sortSamples } from '../src/statistics/quantile.ts';
import { createRandom } from '../src/statistics/random.ts';
import { pictureDelays, type RelayLog } from '../src/transports/relayLog.ts';
import { benchContext, printTable } from './benchReport.ts';

const SEED = 20_000;
const RATE_HZ = 30;
/** Said beforehand: a shift of the median is right within this. */
const TOLERANCE_MS = 2;
const LOSS_SHARE = 0.05;
const BURST_LENGTH = 12;

const quick = process.argv.includes('--quick');
const size = quick
	? { repeats: 1, delaysMs: [0, 40, 160], delayLegMs: 2500, lossFrames: 120, gapLegMs: 3000 }
	: { repeats: 3, delaysMs: [0, 40, 80, 160], delayLegMs: 10_000, lossFrames: 1000, gapLegMs: 5000 };

type Leg = { readonly run: Run; readonly sent: readonly SentFrame[]; readonly relayLog: RelayLog | null };
type Row = Record<string, string | number>;

const result = { ...(await benchDelays()), losses: await benchLosses(), gaps: await benchGaps() };
report(result);

async function runLeg(changes: Partial<LinkOptions>): Promise<Leg> {
	const records: ObservationRecord[] = [];
	const sent: SentFrame[] = [];
	const { relayLog } = await runLink(
		{
			...usualLink,
			runId: 'bench',
			toolVersion: 'bench',
			startedAt: '',
			profile: 'demo',
			subject: { kind: 'computer', name: 'this computer', invented: false },
			observedMs: size.delayLegMs,
			rateHz: RATE_HZ,
			warmUpMs: 1000,
			lostAfterMs: 1500,
			seed: SEED,
			...changes,
		},
		{
			record: (record) => records.push(record),
			evidence: () => {},
			progress: () => {},
			sent: (frame) => sent.push(frame),
		},
	);
	return { run: placeRun(records), sent, relayLog };
}

async function benchDelays() {
	const legs: { repeat: number; setMs: number; readMs: number; relayMs: number; leg: Leg }[] = [];
	for (let repeat = 0; repeat < size.repeats; repeat++) {
		// Forwards and backwards in turn, so that a machine that warms up or fills does not favour one delay.
		for (const setMs of repeat % 2 === 0 ? size.delaysMs : size.delaysMs.toReversed()) {
			const leg = await runLeg({ air: still({ delayMs: setMs }) });
			legs.push({ repeat, setMs, readMs: medianReadMs(leg), relayMs: medianRelayMs(leg), leg });
		}
	}
	const delays = legs.map(({ repeat, setMs, readMs, relayMs }): Row => {
		const floor = legs.find((other) => other.repeat === repeat && other.setMs === 0);
		if (floor === undefined) throw new Error('no floor');
		const errorMs = readMs - floor.readMs - (relayMs - floor.relayMs);
		const verdict = Math.abs(errorMs) <= TOLERANCE_MS ? 'within' : 'OUTSIDE';
		const shifts = {
			readShiftMs: round(readMs - floor.readMs),
			relayShiftMs: round(relayMs - floor.relayMs),
		};
		return { repeat, setMs, readMedianMs: round(readMs), ...shifts, errorMs: round(errorMs), verdict };
	});
	return { delays, floor: await floorRow() };
}

/** Without a relay: what the rig itself takes, and what of it the encoder takes. */
async function floorRow(): Promise<Row[]> {
	const leg = await runLeg({});
	const reads = sortSamples(readDelays(leg));
	const encodes = sortSamples(leg.sent.flatMap(({ encodeMs }) => encodeMs ?? []));
	const lateness = sortSamples(leg.sent.map(({ dueMs, shownMs }) => shownMs - dueMs));
	return [
		['generated to decoded', reads],
		['encoding', encodes],
		['lateness of the source', lateness],
	].map(([what, sorted]) => distributionRow(String(what), sorted as typeof reads));
}

function distributionRow(what: string, sorted: ReturnType<typeof sortSamples>): Row {
	const at = (order: number): number => round(quantileSorted(sorted, order));
	return { what, medianMs: at(0.5), p95Ms: at(0.95), p99Ms: at(0.99), maxMs: at(1), count: sorted.length };
}

async function benchLosses(): Promise<Row[]> {
	const random = createRandom(SEED);
	const beyond = size.lossFrames * 2;
	const burstFrom = Math.round(size.lossFrames / 2);
	const frameNumbers = Array.from({ length: beyond }, (_, frameNumber) => frameNumber).filter(
		(frameNumber) =>
			random.next() < LOSS_SHARE || (frameNumber >= burstFrom && frameNumber < burstFrom + BURST_LENGTH),
	);
	const rows: Row[] = [];
	for (const keyEveryFrames of [1, 30]) {
		const leg = await runLeg({
			drop: { kind: 'frames', frameNumbers },
			keyEveryFrames,
			warmUpMs: 0,
			observedMs: (1000 * size.lossFrames) / RATE_HZ + 100,
			sampleEveryMs: 250,
		});
		rows.push(lossRow(leg, keyEveryFrames));
	}
	return rows;
}

function lossRow({ run, sent }: Leg, keyEveryFrames: number): Row {
	const dropped = new Set(sent.filter((frame) => frame.dropped).map(({ frameNumber }) => frameNumber));
	const counts = { presented: 0, notDrawn: 0, unreadable: 0, overtaken: 0, late: 0, lost: 0 };
	let wrong = 0;
	let sentCount = 0;
	const { startMs, endMs } = run.segments[0]!;
	for (const { shownMs } of sent) if (shownMs >= startMs - 0.001 && shownMs < endMs) sentCount++;
	for (const { fate, frameNumber } of run.frames) {
		counts[fate]++;
		if ((fate === 'lost') !== dropped.has(frameNumber)) wrong++;
	}
	const mismatches = run.events.filter(({ code }) => code === 'codeMismatch').length;
	const worstSsim = round(Math.min(...run.pictures.map(({ ssim }) => ssim)));
	const sumOff = run.frames.count - sentCount;
	return {
		keyEvery: keyEveryFrames,
		sent: sentCount,
		sumOff,
		...counts,
		wrongFate: wrong,
		mismatches,
		worstSsim,
	};
}

async function benchGaps(): Promise<Row[]> {
	const outage = { scheduled: [{ atMs: 2500, lengthMs: 600 }], random: null, packets: 'held' } as const;
	const held = await runLeg({
		air: still({ outages: outage }),
		keyEveryFrames: 1,
		observedMs: size.gapLegMs,
	});
	const frameNumbers = Array.from({ length: 20 }, (_, i) => 70 + i);
	const dropped = await runLeg({
		drop: { kind: 'frames', frameNumbers },
		keyEveryFrames: 1,
		observedMs: 5000,
	});
	const released = pictureDelays(held.relayLog ?? { zeroMs: 0, rows: [] }, held.sent).map(
		({ outMs }) => outMs,
	);
	const left = dropped.sent.filter((frame) => !frame.dropped).map(({ shownMs }) => shownMs);
	return [
		gapRow('outage 600 ms, held', held.run, released),
		gapRow('20 pictures dropped', dropped.run, left),
	];
}

function gapRow(what: string, { frames }: Run, madeMs: readonly number[]): Row {
	const all = [...frames];
	const seenMs = all.flatMap((frame) => frame.seenMs ?? []);
	const lost = all.filter(({ fate }) => fate === 'lost').length;
	const madeGapMs = longestGap(madeMs);
	const seenGapMs = longestGap(seenMs);
	return {
		what,
		madeGapMs: round(madeGapMs),
		seenGapMs: round(seenGapMs),
		errorMs: round(seenGapMs - madeGapMs),
		lost,
	};
}

function longestGap(instants: readonly number[]): number {
	let longest = 0;
	for (let i = 1; i < instants.length; i++) longest = Math.max(longest, instants[i]! - instants[i - 1]!);
	return longest;
}

function still(changes: Partial<AirSpec>): NonNullable<LinkOptions['air']> {
	return { spec: { ...stillAir, name: 'bench', ...changes }, seed: SEED };
}

function readDelays({ run }: Leg): number[] {
	const { warmUpUntilMs } = run.segments[0]!;
	return [...run.frames].filter((frame) => frame.shownMs >= warmUpUntilMs).flatMap(delayMs);
}

function delayMs({ seenMs, shownMs }: Frame): number[] {
	return seenMs === null ? [] : [seenMs - shownMs];
}

function medianReadMs(leg: Leg): number {
	return quantileSorted(sortSamples(readDelays(leg)), 0.5);
}

/** Over the pictures that the run counts. */
function medianRelayMs({ run, sent, relayLog }: Leg): number {
	if (relayLog === null) throw new Error('no relay');
	const { warmUpUntilMs, endMs } = run.segments[0]!;
	const counted = sent.filter(({ shownMs }) => shownMs >= warmUpUntilMs && shownMs < endMs);
	return quantileSorted(sortSamples(pictureDelays(relayLog, counted).map(({ addedMs }) => addedMs)), 0.5);
}

function round(value: number): number {
	return Math.round(value * 1000) / 1000;
}

function report({ delays, floor, losses, gaps }: typeof result): void {
	const context = benchContext();
	const isWrong = losses.some(({ sumOff, wrongFate }) => sumOff !== 0 || wrongFate !== 0);
	process.exitCode = isWrong || delays.some(({ verdict }) => verdict !== 'within') ? 1 : 0;
	if (process.argv.includes('--json')) {
		console.log(JSON.stringify({ bench: 'link', context, seed: SEED, delays, floor, losses, gaps }));
		return;
	}
	console.log(`link: ${JSON.stringify({ ...context, seed: SEED, quick })}`);
	console.log(`\nAdded delay: shift of the median against the relay's log, tolerance ${TOLERANCE_MS} ms`);
	printTable(delays);
	console.log('\nFloor without a relay, 1280x720 at 30/s');
	printTable(floor);
	console.log(`\nLosses: ${100 * LOSS_SHARE} % seeded and a burst of ${BURST_LENGTH}, dropped by the sender`);
	printTable(losses);
	console.log('\nLongest gap made and seen');
	printTable(gaps);
}

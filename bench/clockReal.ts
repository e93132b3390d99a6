/**
 * The fitted clock against the machine's one true clock, on loopback: a reader in a process of its own, whose clock is ahead
 * by a known amount, and the tablet page in a browser, whose zero the browser tells. Each also with a picture path 40 ms
 * away, which must not touch the clock. Looked at every 250 ms of the segment, each look against the bound stated for that
 * instant. Goal: no error beyond its bound, and a median error under 0.2 ms; exit 1 when one is missed.
 *
 *     npx tsx bench/clockReal.ts [--quick] [--json]
 *
 * The browser tells its zero as CLOCK_MONOTONIC of the same machine (NavigationStart). Without a browser the page is left
 * out, and the output says so.
 */
import { findBrowser } from '../src/cli/installedBrowser.ts';
import {
	boundAtMs,
	type FittedClock,
	fitClock,
	type Ping,
	toReferenceMs,
} from '../src/observations/clock.ts';
import { placeRun } from '../src/observations/placeRun.ts';
import type { ObservationRecord } from '../src/observations/records.ts';
import { runLink } from '../src/rigs/link/harness.ts';
import type { LinkOptions } from '../src/rigs/link/link.ts';
import { stillAir } from '../src/simulation/airSpec.ts';
import { quantileSorted, sortSamples } from '../src/statistics/quantile.ts';
import { benchContext, printTable } from './benchReport.ts';
import { benchLink, runWithBrowser } from './browserLink.ts';

const quick = process.argv.includes('--quick');
const REPEATS = quick ? 1 : 3;
const OBSERVED_MS = 6000;
const LOOK_EVERY_MS = 250;
const GOAL_MEDIAN_MS = 0.2;
const far: LinkOptions['air'] = {
	spec: { ...stillAir, name: '40 ms away', delayMs: 40, carriage: 'stream' },
	seed: 1,
};

type Row = {
	readonly viewer: string;
	readonly air: string;
	readonly medianErrorMs: number;
	readonly maxErrorMs: number;
	/** Greatest over the segment, as a report states it. */
	readonly boundMs: number;
	/** Least room between an error and the bound at that instant; below 0: over it. */
	readonly leastRoomMs: number;
	readonly looks: number;
	readonly overBound: number;
	readonly pings: number;
	readonly driftPpm: number;
	readonly goalMissed: boolean;
};
/** Records of one run, and what takes its viewer's clock to the true one. */
type Observed = { readonly records: readonly ObservationRecord[]; readonly trueZeroMs: number };

async function headless(options: LinkOptions): Promise<Observed> {
	const records: ObservationRecord[] = [];
	let aheadMs = Number.NaN;
	await runLink(options, {
		record: (record) => records.push(record),
		evidence: () => {},
		progress: (step) => {
			if (step.stage === 'viewerStarted') aheadMs = step.clockAheadMs;
		},
	});
	return { records, trueZeroMs: -aheadMs };
}

async function browser(options: LinkOptions): Promise<Observed> {
	const { records, pageZeroMs } = await runWithBrowser(options);
	return { records, trueZeroMs: pageZeroMs };
}

/** The clock that `placeRun` placed the first segment by, with its bound at every instant. */
function firstClock(records: readonly ObservationRecord[]) {
	const segment = placeRun(records).segments[0];
	if (segment?.clock == null) throw new Error('the run has no clock');
	const pings: Ping[] = [];
	let quantumMs: number | null = null;
	for (const record of records) {
		if (record.kind !== 'pings' || record.segment !== segment.segment) continue;
		pings.push(...record.samples);
		quantumMs = record.quantumMs;
	}
	const fit = fitClock(pings, quantumMs, segment);
	if (fit.kind === 'notMeasured') throw new Error(fit.explanation);
	const { offsetMs, driftPpm, boundMs } = segment.clock;
	if (fit.offsetMs !== offsetMs || fit.driftPpm !== driftPpm || fit.boundMs !== boundMs)
		throw new Error("the bench's fit is not the run's");
	return { fit, startMs: segment.startMs, endMs: segment.endMs };
}

function lookAt(fit: FittedClock, atMs: number, trueZeroMs: number) {
	const viewerMs = atMs - trueZeroMs;
	const errorMs = Math.abs(toReferenceMs(fit, viewerMs) - atMs);
	return { errorMs, roomMs: boundAtMs(fit, viewerMs) - errorMs };
}

function rowOf(viewer: string, air: string, { records, trueZeroMs }: Observed): Row {
	const { fit, startMs, endMs } = firstClock(records);
	const looks: ReturnType<typeof lookAt>[] = [];
	for (let atMs = startMs; atMs <= endMs; atMs += LOOK_EVERY_MS) looks.push(lookAt(fit, atMs, trueZeroMs));
	const errors = sortSamples(looks.map((look) => look.errorMs));
	const medianErrorMs = quantileSorted(errors, 0.5);
	const overBound = looks.filter((look) => look.roomMs < 0).length;
	return {
		viewer,
		air,
		medianErrorMs,
		maxErrorMs: quantileSorted(errors, 1),
		boundMs: fit.boundMs,
		leastRoomMs: Math.min(...looks.map((look) => look.roomMs)),
		looks: looks.length,
		overBound,
		pings: fit.pingCount,
		driftPpm: fit.driftPpm,
		goalMissed: overBound > 0 || !(medianErrorMs < GOAL_MEDIAN_MS),
	};
}

const rows: Row[] = [];
const hasBrowser = findBrowser() !== null;
for (let i = 0; i < REPEATS; i++) {
	for (const [name, air] of [
		['none', null],
		['40 ms', far],
	] as const) {
		const options = benchLink({ observedMs: OBSERVED_MS, air, seed: i + 1 });
		rows.push(rowOf('reader', name, await headless(options)));
		if (hasBrowser) rows.push(rowOf('tablet page', name, await browser(options)));
	}
}

const goalMissed = rows.some((row) => row.goalMissed);
const context = benchContext();
if (process.argv.includes('--json'))
	console.log(JSON.stringify({ bench: 'clockReal', context, hasBrowser, rows, goalMissed }));
else {
	console.log(`clock on loopback against the machine's own, ${OBSERVED_MS / 1000} s a run`);
	console.log(
		`commit ${context.commit}, node ${context.node}, ${context.cpu}, load ${context.loadAverage}\n`,
	);
	printTable(
		rows.map((row) => ({
			viewer: row.viewer,
			air: row.air,
			'median error': row.medianErrorMs.toFixed(3),
			'max error': row.maxErrorMs.toFixed(3),
			bound: row.boundMs.toFixed(3),
			'least room': row.leastRoomMs.toFixed(3),
			looks: row.looks,
			'over bound': row.overBound,
			'drift ppm': row.driftPpm.toFixed(1),
			pings: row.pings,
			goal: row.goalMissed ? 'MISSED' : 'kept',
		})),
	);
	console.log('\nErrors, bounds and room in ms; "over bound" counts looks, one every 250 ms.');
	if (!hasBrowser) console.log('No browser found: the tablet page was not looked at.');
}
process.exitCode = goalMissed ? 1 : 0;

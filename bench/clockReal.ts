/**
 * The fitted clock against the machine's one true clock, on loopback: a reader in a process of its own, whose clock is ahead
 * by a known amount, and the tablet page in a browser, whose zero the browser tells. Each also with a picture path 40 ms
 * away, which must not touch the clock. Looked at wherever a picture was decoded. Goal: no error beyond the run's own stated
 * bound, and a median error under 0.2 ms.
 */
import { findBrowser } from '../src/cli/installedBrowser.ts';
import { toReferenceMs } from '../src/observations/clock.ts';
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
	readonly boundMs: number;
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

function rowOf(viewer: string, air: string, { records, trueZeroMs }: Observed): Row {
	const fit = placeRun(records).segments[0]?.clock;
	if (fit === undefined || fit === null) throw new Error('the run has no clock');
	const viewerInstants = records
		.flatMap((record) => (record.kind === 'presentations' ? record.rows : []))
		.flatMap(([, , , , decodedMs]) => (decodedMs === null ? [] : [decodedMs]));
	const errors = sortSamples(
		viewerInstants.map((viewerMs) => Math.abs(toReferenceMs(fit, viewerMs) - (viewerMs + trueZeroMs))),
	);
	const medianErrorMs = quantileSorted(errors, 0.5);
	const maxErrorMs = quantileSorted(errors, 1);
	return {
		viewer,
		air,
		medianErrorMs,
		maxErrorMs,
		boundMs: fit.boundMs,
		pings: fit.pingCount,
		driftPpm: fit.driftPpm,
		goalMissed: maxErrorMs > fit.boundMs || medianErrorMs > GOAL_MEDIAN_MS,
	};
}

const rows: Row[] = [];
for (let i = 0; i < REPEATS; i++) {
	for (const [name, air] of [
		['none', null],
		['40 ms', far],
	] as const) {
		const options = benchLink({ observedMs: OBSERVED_MS, air, seed: i + 1 });
		rows.push(rowOf('reader', name, await headless(options)));
		if (findBrowser() !== null) rows.push(rowOf('tablet page', name, await browser(options)));
	}
}

const goalMissed = rows.some((row) => row.goalMissed);
const context = benchContext();
if (process.argv.includes('--json'))
	console.log(JSON.stringify({ bench: 'clockReal', context, rows, goalMissed }));
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
			'drift ppm': row.driftPpm.toFixed(1),
			pings: row.pings,
			goal: row.goalMissed ? 'MISSED' : 'kept',
		})),
	);
	console.log('\nErrors and bounds in ms.');
}
process.exitCode = goalMissed ? 1 : 0;

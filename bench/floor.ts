/**
 * The floor of the WebSocket path on this machine, nothing in the way: from picture made to decoded and to presented in the
 * tablet page, beside the plainest loop that a browser can make of itself: the same card over WebRTC in H.264 to a video element of
 * the same page. Same size, rate and bitrate, alternating. And at 60 pictures a second: whether any decoded frame is missed.
 */
import type { Run } from '../src/observations/run.ts';
import { usualLink } from '../src/rigs/link/link.ts';
import { quantileSorted, sortSamples } from '../src/statistics/quantile.ts';
import { benchContext, printTable } from './benchReport.ts';
import { benchLink, runWithBrowser } from './browserLink.ts';
import { runPlainLoop } from './plainBrowser.ts';

const quick = process.argv.includes('--quick');
const REPEATS = quick ? 1 : 3;
const OBSERVED_MS = quick ? 6000 : 15_000;
const FAST_HZ = 60;
/** The loop's jitter buffer comes to rest. */
const SETTLE_MS = 6500;

type Row = {
	readonly path: string;
	readonly medianMs: number;
	readonly p95Ms: number;
	readonly count: number;
};

function row(path: string, delaysMs: readonly number[]): Row {
	const sorted = sortSamples(delaysMs);
	return {
		path,
		medianMs: quantileSorted(sorted, 0.5),
		p95Ms: quantileSorted(sorted, 0.95),
		count: sorted.length,
	};
}

function delays(run: Run, point: 'decodedMs' | 'seenMs'): number[] {
	const from = run.segments[0]?.warmUpUntilMs ?? 0;
	return [...run.frames].flatMap((frame) => {
		const atMs = frame[point];
		return atMs === null || frame.shownMs < from ? [] : [atMs - frame.shownMs];
	});
}

const collected = new Map<string, number[]>();
const collect = (path: string, values: readonly number[]): void => {
	collected.set(path, [...(collected.get(path) ?? []), ...values]);
};
for (let i = 0; i < REPEATS; i++) {
	const { run } = await runWithBrowser(benchLink({ observedMs: OBSERVED_MS }));
	collect('WebSocket, H.264: made to decoded', delays(run, 'decodedMs'));
	collect('WebSocket, H.264: made to presented', delays(run, 'seenMs'));
	const loop = await runPlainLoop({
		...{ spec: usualLink.card, rateHz: 30, kbps: usualLink.bitrateKbps, pinned: true },
		...{ codec: 'H264', durationMs: OBSERVED_MS, settleMs: SETTLE_MS },
	});
	collect('plain WebRTC loop, H.264: made to decoded', loop.decodedMs);
	collect('plain WebRTC loop, H.264: made to presented', loop.presentedMs);
}
const rows = [...collected].map(([path, values]) => row(path, values));

const fast = await runWithBrowser(benchLink({ observedMs: OBSERVED_MS, rateHz: FAST_HZ }));
const fates = { presented: 0, notDrawn: 0, unreadable: 0, overtaken: 0, late: 0, lost: 0 };
for (const { fate } of fast.run.frames) fates[fate]++;
const mismatches = fast.run.events.filter(({ code }) => code === 'codeMismatch').length;
const missed = fates.unreadable + fates.lost + mismatches;

const context = benchContext();
if (process.argv.includes('--json'))
	console.log(
		JSON.stringify({ bench: 'floor', context, rows, fast: { rateHz: FAST_HZ, fates, mismatches } }),
	);
else {
	console.log(
		`floor on loopback, 1280x720 at 30/s, ${REPEATS} alternating repeats of ${OBSERVED_MS / 1000} s`,
	);
	console.log(
		`commit ${context.commit}, node ${context.node}, ${context.cpu}, load ${context.loadAverage}\n`,
	);
	printTable(
		rows.map(({ path, medianMs, p95Ms, count }) => ({
			path,
			'median ms': medianMs.toFixed(1),
			'P95 ms': p95Ms.toFixed(1),
			pictures: count,
		})),
	);
	console.log(
		`\nAt ${FAST_HZ}/s: ${fast.run.frames.count} sent, ${fates.presented} presented, ${fates.notDrawn} decoded but not drawn,` +
			` ${fates.unreadable} unreadable, ${fates.lost} lost, ${mismatches} with a wrong number: ${missed === 0 ? 'none missed' : 'MISSED'}.`,
	);
}
process.exitCode = missed === 0 ? 0 : 1;

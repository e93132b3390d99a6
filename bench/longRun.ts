/**
 * Long runs: how memory, file size and time grow when eight hours go through the whole path in virtual time: simulated,
 * written as text, read back line by line, measured and judged. Each length is a process of its own whose heap is held to
 * HEAP_MB, so that a peak is need and not idle garbage. Goal: at most 40 MB more for each hour
 * judged (columns of frames and colour samples), and none for each hour written of run. `--probes`: with a hundred probe packets a
 * second each way beside the pictures, and the air and what repeats in it told too, as a yard check does.
 */
import { execFileSync } from 'node:child_process';
import { mkdtemp, rm, stat } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { judgeFolder } from '../src/cli/conclude.ts';
import { measureAir } from '../src/metrics/air.ts';
import { findRepeating } from '../src/metrics/repeating.ts';
import { packProbes } from '../src/observations/probes.ts';
import type { ObservationRecord } from '../src/observations/records.ts';
import { OBSERVATIONS_FILE, RunFolder } from '../src/register/runFolder.ts';
import { inventedKits, kitRunSpec } from '../src/simulation/inventedKits.ts';
import { simulateLinkRun } from '../src/simulation/virtualLink.ts';
import { createRandom } from '../src/statistics/random.ts';
import { standardCriteria } from '../src/verdict/criteria.ts';
import { benchContext, printTable } from './benchReport.ts';

const GOAL_MB_PER_HOUR = 40;
const HEAP_MB = 256;
const SEED = 8;
const PROBES = process.argv.includes('--probes');
const PROBES_PER_S = 100;

type Row = {
	readonly hours: number;
	readonly fileMb: number;
	readonly writeS: number;
	readonly judgeS: number;
	readonly writePeakMb: number;
	readonly judgePeakMb: number;
};

const alone = process.argv.indexOf('--alone');
if (alone > 0) console.log(JSON.stringify(await rowOf(Number(process.argv[alone + 1]))));
else report((process.argv.includes('--quick') ? [0.5, 2] : [1, 4, 8]).map(inOwnProcess));

function inOwnProcess(hours: number): Row {
	const heap = `--max-old-space-size=${HEAP_MB}`;
	const script = fileURLToPath(import.meta.url);
	const words = [heap, '--import', 'tsx', script, '--alone', `${hours}`, ...(PROBES ? ['--probes'] : [])];
	return JSON.parse(execFileSync(process.execPath, words, { encoding: 'utf8' }));
}

async function rowOf(hours: number): Promise<Row> {
	const spec = kitRunSpec(inventedKits[0]!, {
		profile: 'long',
		observedMs: hours * 3_600_000,
		seed: SEED,
		runId: `long-${hours}`,
		toolVersion: 'bench',
		startedAt: '2026-01-01T00:00:00Z',
	});
	const root = await mkdtemp(join(tmpdir(), 'long-run-'));
	const folder = await RunFolder.create(root, spec.runId);
	const written = await peakOf(async () => {
		const pictures = simulateLinkRun(spec);
		for (const record of PROBES ? withProbes(pictures) : pictures)
			if (!folder.append(record)) await folder.drained();
		await folder.close();
	});
	const { size } = await stat(join(folder.path, OBSERVATIONS_FILE));
	const judged = await peakOf(async () => {
		const { run } = await judgeFolder(folder.path, standardCriteria);
		if (PROBES && (measureAir(run).kind !== 'measured' || findRepeating(run).kind !== 'measured'))
			throw new Error('the probes say nothing');
	});
	await rm(root, { recursive: true });
	return {
		hours,
		fileMb: size / 1e6,
		writeS: written.seconds,
		judgeS: judged.seconds,
		writePeakMb: written.peakMb,
		judgePeakMb: judged.peakMb,
	};
}

/** After each second's pictures the packets of that second, each way. */
function* withProbes(records: Iterable<ObservationRecord>): Generator<ObservationRecord> {
	const random = createRandom(SEED);
	let seconds = 0;
	for (const record of records) {
		yield record;
		if (record.kind !== 'presentations') continue;
		for (const way of ['toViewer', 'toBench'] as const) {
			const packets = Array.from({ length: PROBES_PER_S }, (_, i) => {
				const sentMs = seconds * 1000 + ((i + random.next()) * 1000) / PROBES_PER_S;
				const receivedMs = random.next() < 0.002 ? null : sentMs + 3 + random.exponential(2);
				return { sequence: seconds * PROBES_PER_S + i, sentMs, receivedMs };
			});
			yield packProbes(packets, { segment: 0, way });
		}
		seconds++;
	}
}

/** Greatest resident size while something runs; a look every 50 ms where it lets others run, and one at the end. */
async function peakOf(work: () => Promise<unknown>): Promise<{ peakMb: number; seconds: number }> {
	let peak = process.memoryUsage.rss();
	const look = (): void => {
		peak = Math.max(peak, process.memoryUsage.rss());
	};
	const timer = setInterval(look, 50);
	const from = performance.now();
	await work();
	clearInterval(timer);
	look();
	return { peakMb: peak / 2 ** 20, seconds: (performance.now() - from) / 1000 };
}

function report(rows: readonly Row[]): void {
	const first = rows[0]!;
	const last = rows.at(-1)!;
	const perHourMb = (last.judgePeakMb - first.judgePeakMb) / (last.hours - first.hours);
	const writePerHourMb = (last.writePeakMb - first.writePeakMb) / (last.hours - first.hours);
	const goalMissed = Math.max(perHourMb, writePerHourMb) > GOAL_MB_PER_HOUR;
	const context = benchContext();
	process.exitCode = goalMissed ? 1 : 0;
	if (process.argv.includes('--json')) {
		console.log(
			JSON.stringify({ bench: 'longRun', context, seed: SEED, rows, perHourMb, writePerHourMb, goalMissed }),
		);
		return;
	}
	console.log(
		`long runs in virtual time, 30 pictures a second${PROBES ? `, ${PROBES_PER_S} probes a second each way` : ''}, seed ${SEED}, heap held to ${HEAP_MB} MB`,
	);
	console.log(
		`commit ${context.commit}, node ${context.node}, ${context.cpu}, load ${context.loadAverage}\n`,
	);
	printTable(
		rows.map((row) => ({
			hours: row.hours,
			'file MB': row.fileMb.toFixed(1),
			'write s': row.writeS.toFixed(1),
			'write peak MB': row.writePeakMb.toFixed(0),
			'judge s': row.judgeS.toFixed(1),
			'judge peak MB': row.judgePeakMb.toFixed(0),
		})),
	);
	console.log(
		`\nMemory per hour of run: ${writePerHourMb.toFixed(1)} MB writing, ${perHourMb.toFixed(1)} MB judging` +
			` (goal ${GOAL_MB_PER_HOUR}): ${goalMissed ? 'MISSED' : 'kept'}. Peaks are the whole process.`,
	);
}

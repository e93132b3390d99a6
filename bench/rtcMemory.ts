/**
 * A long run over WebRTC with the tablet page and the probe: whether memory of the bench, the sender, the probe, their
 * children and the browser stays flat. `npx tsx bench/rtcMemory.ts [--minutes N] [--json]`, 30 minutes unless said.
 *
 * Resident size of this process and all below it, once every 15 s; the slope over the second half of the run is what grows. Records go to a
 * run folder as they come, as in a real run, and are not kept here.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { RunFolder } from '../src/register/runFolder.ts';
import { benchContext, printTable } from './benchReport.ts';
import { benchLink, lookWithBrowser } from './browserLink.ts';

const EVERY_MS = 15_000;
const PAGE_BYTES = 4096;
/** Said beforehand: flat is below this, in each part. */
const GOAL_MB_PER_HOUR = 60;

const at = process.argv.indexOf('--minutes');
const minutes = at > 0 ? Number(process.argv[at + 1]) : process.argv.includes('--quick') ? 1 : 30;

type Sample = { readonly atMs: number; readonly parts: ReadonlyMap<string, number> };
const samples: Sample[] = [];
const timer = setInterval(() => samples.push({ atMs: performance.now(), parts: sizesMb() }), EVERY_MS);
const root = await mkdtemp(join(tmpdir(), 'rtc-memory-'));
const folder = await RunFolder.create(root, 'bench');
let frames = 0;
await lookWithBrowser(
	benchLink({
		observedMs: minutes * 60_000,
		bitrateKbps: 3000,
		webrtc: { codec: 'VP8', pinned: false },
		probePerSecond: 100,
	}),
	(record) => {
		if (record.kind === 'presentations') frames += record.rows.length;
		folder.append(record);
	},
);
await folder.close();
await rm(root, { recursive: true });
clearInterval(timer);
report();

/** Resident MB by what the process is. */
function sizesMb(): Map<string, number> {
	const parents = new Map<number, number>();
	for (const name of readdirSync('/proc')) {
		const pid = Number(name);
		const stat = Number.isInteger(pid) ? readText(`/proc/${name}/stat`) : '';
		if (stat !== '') parents.set(pid, Number(stat.slice(stat.lastIndexOf(')') + 2).split(' ')[1]));
	}
	const sizes = new Map<string, number>();
	for (const pid of parents.keys()) {
		if (!isBelow(pid, parents)) continue;
		const command = readText(`/proc/${pid}/cmdline`);
		const part = partOf(pid, command);
		const pages = Number(readText(`/proc/${pid}/statm`).split(' ')[1]);
		if (Number.isFinite(pages)) sizes.set(part, (sizes.get(part) ?? 0) + (pages * PAGE_BYTES) / 2 ** 20);
	}
	return sizes;
}

function partOf(pid: number, command: string): string {
	if (pid === process.pid) return 'bench';
	const child = /(senderProcess|probeProcess|udpRelayProcess)/.exec(command)?.[1];
	if (child !== undefined) return child;
	return command.includes('--type=renderer') ? 'page' : 'browser and others';
}

function isBelow(pid: number, parents: ReadonlyMap<number, number>): boolean {
	for (let up: number | undefined = pid; up !== undefined && up > 1; up = parents.get(up))
		if (up === process.pid) return true;
	return false;
}

function readText(path: string): string {
	try {
		return readFileSync(path, 'utf8');
	} catch {
		return '';
	}
}

/** Least-squares slope over the second half, MB an hour. */
function slopeOf(part: string): number {
	const points = samples
		.slice(Math.floor(samples.length / 2))
		.flatMap(({ atMs, parts }) =>
			parts.has(part) ? [[atMs / 3_600_000, parts.get(part) ?? 0] as const] : [],
		);
	const mean = (of: 0 | 1): number => points.reduce((sum, point) => sum + point[of], 0) / points.length;
	const [hours, size] = [mean(0), mean(1)];
	const over = points.reduce((sum, [x, y]) => sum + (x - hours) * (y - size), 0);
	return over / points.reduce((sum, [x]) => sum + (x - hours) ** 2, 0);
}

function report(): void {
	const names = [...new Set(samples.flatMap(({ parts }) => [...parts.keys()]))];
	const rows = names.map((part) => {
		const sizes = samples.flatMap(({ parts }) => parts.get(part) ?? []);
		const slope = slopeOf(part);
		return {
			part,
			firstMb: round(sizes[0] ?? 0),
			lastMb: round(sizes.at(-1) ?? 0),
			mostMb: round(Math.max(...sizes)),
			mbPerHour: round(slope),
			verdict: slope <= GOAL_MB_PER_HOUR ? 'flat' : 'GROWS',
		};
	});
	const context = benchContext();
	const figures = { minutes, frames, goalMbPerHour: GOAL_MB_PER_HOUR, rows };
	if (process.argv.includes('--json'))
		console.log(JSON.stringify({ bench: 'rtcMemory', context, ...figures }));
	else {
		console.log(
			`memory over ${minutes} min of WebRTC with probe, ${frames} frames: ${JSON.stringify(context)}`,
		);
		printTable(rows);
	}
	process.exitCode = rows.every(({ verdict }) => verdict === 'flat') ? 0 : 1;
}

function round(value: number): number {
	return Math.round(value * 10) / 10;
}

/**
 * What reading a filmed clip costs beside plainly decoding it, by the same library in the same run, in processor time: a clip of 1080p at 240 frames
 * a second, from a stand and from the hand. Goals: at most 1.25 times from a stand, 2 times from the hand; peak memory under 400 MB.
 *
 *     npx tsx bench/opticalSpeed.ts [--quick] [--json] [--seconds 20] [--held stand|hand]
 */
import { execFileSync } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import { openClip } from '../src/media/node/clip.ts';
import { readOpticalClip } from '../src/rigs/optical/opticalClip.ts';
import { drawClip } from '../tests/rigs/optical/drawnClip.ts';
import { benchContext, printTable } from './benchReport.ts';

const MOST = { stand: 1.25, hand: 2 };
const MOST_MB = 400;

const options = process.argv.slice(2);
const at = options.indexOf('--seconds');
const seconds = at >= 0 ? Number(options[at + 1]) : options.includes('--quick') ? 5.5 : 20;
if (options[0] === '--read') {
	await read(options[1]!);
	process.stdout.write(`${peakOfThisMb()}`);
	process.exit(0);
}
type Row = {
	readonly held: 'stand' | 'hand';
	readonly frames: number;
	readonly filmed: string;
	readonly decodeSeconds: number;
	readonly readSeconds: number;
	readonly ratio: number;
};
const rows: Row[] = [];
let peakMb = 0;
const heldAt = options.indexOf('--held');
const only = heldAt < 0 ? null : options[heldAt + 1];
for (const held of ['stand', 'hand'] as const) {
	if (only !== null && only !== held) continue;
	const path = await drawClip({
		...{ widthPx: 1920, heightPx: 1080, modulePx: 14, phoneHz: 240.2, rateHz: 240 },
		...{ durationMs: 1000 * seconds, shakePx: held === 'hand' ? 60 : 0, bitrateKbps: 20_000, noise: 9 },
	});
	// Decoding, reading, decoding: what the machine did meanwhile falls on both.
	const before = await cpuOf(() => decode(path));
	const reading = await cpuOf(() => read(path));
	const after = await cpuOf(() => decode(path));
	peakMb = Math.max(peakMb, peakOf(path));
	const decodeSeconds = (before.seconds + after.seconds) / 2;
	rows.push({
		...{ held, frames: before.value, filmed: reading.value, decodeSeconds, readSeconds: reading.seconds },
		ratio: reading.seconds / decodeSeconds,
	});
}
const missed = rows
	.filter(({ held, ratio }) => ratio > MOST[held])
	.map(({ held, ratio }) => `${held}: ${ratio.toFixed(2)} times plain decoding`);
if (peakMb > MOST_MB) missed.push(`peak memory ${peakMb.toFixed(0)} MB`);
process.exitCode = missed.length > 0 ? 1 : 0;
report();

async function cpuOf<T>(work: () => Promise<T>): Promise<{ value: T; seconds: number }> {
	const begun = process.cpuUsage();
	const value = await work();
	const { user, system } = process.cpuUsage(begun);
	return { value, seconds: (user + system) / 1e6 };
}

/** The system's own figure where it gives one: `maxRSS` starts with what the parent held when it forked. */
function peakOfThisMb(): number {
	const status = existsSync('/proc/self/status') ? readFileSync('/proc/self/status', 'utf8') : '';
	const kept = /VmHWM:\s+(\d+) kB/.exec(status);
	return (kept === null ? process.resourceUsage().maxRSS : Number(kept[1])) / 1024;
}

/** Of a process of its own, which only reads. */
function peakOf(path: string): number {
	const words = ['--import', 'tsx', import.meta.filename, '--read', path];
	return Number(execFileSync(process.execPath, words, { encoding: 'utf8' }));
}

async function decode(path: string): Promise<number> {
	const source = await openClip(path, { decoder: 'auto' });
	let frames = 0;
	for await (const { luma } of source.frames()) frames += luma.widthPx > 0 ? 1 : 0;
	source.close();
	return frames;
}

async function read(path: string): Promise<string> {
	const open = () => openClip(path, { decoder: 'auto' });
	const clip = await readOpticalClip({ name: path, open, progress: () => {} });
	if (clip.kind !== 'clip') throw new Error(clip.explanation);
	return `${clip.measured.filmedHz.toFixed(0)}/s`;
}

function report(): void {
	const context = benchContext();
	if (options.includes('--json')) {
		process.stdout.write(`${JSON.stringify({ ...context, seconds, rows, peakMb, missed }, null, '\t')}\n`);
		return;
	}
	console.log(`Reading a clip of ${seconds} s, 1080p at 240 frames a second, beside plainly decoding it`);
	console.log(
		`commit ${context.commit}, Node ${context.node}, ${context.cpu}, load ${context.loadAverage}\n`,
	);
	printTable(
		rows.map(({ held, frames, decodeSeconds, readSeconds, ratio }) => ({
			'held by': held,
			frames,
			'decoding, CPU s': decodeSeconds.toFixed(2),
			'reading, CPU s': readSeconds.toFixed(2),
			ratio: ratio.toFixed(2),
			most: MOST[held],
		})),
	);
	console.log(`\nPeak memory of a process that only reads: ${peakMb.toFixed(0)} MB (most ${MOST_MB}).`);
	console.log(
		missed.length === 0 ? 'Every goal met.' : `Missed:\n${missed.map((each) => `- ${each}`).join('\n')}`,
	);
}

/**
 * A real bottleneck: the kernel's token bucket between two network namespaces, small packets through it, and bursts of other traffic
 * that fill its queue. Where this machine allows no namespaces it is skipped, and says so.
 */
import { execFileSync, spawn } from 'node:child_process';
import { afterAll, expect, test } from 'vitest';
import { measureAir } from '../../src/metrics/air.ts';
import { packProbes } from '../../src/observations/probes.ts';
import { findRepeats } from '../../src/statistics/repeats.ts';
import { madeRun, madeSegment, steadyFrames } from '../metrics/madeRun.ts';

const [A, B] = [`sw-a-${process.pid}`, `sw-b-${process.pid}`];
const SECONDS = 24;
const BURST_EVERY_MS = 1370;
/** 48 kB at 4 Mbit/s are 96 ms of a queue that holds 60 ms: the last of each burst is thrown away. */
const LAYING = [
	`netns add ${A}`,
	`netns add ${B}`,
	`link add v0 netns ${A} type veth peer name v1 netns ${B}`,
	`-n ${A} addr add 10.77.0.1/24 dev v0`,
	`-n ${B} addr add 10.77.0.2/24 dev v1`,
	`-n ${A} link set v0 up`,
	`-n ${B} link set v1 up`,
];
const BUCKET = `-n ${A} qdisc add dev v0 root tbf rate 4mbit burst 4kb latency 60ms`;

/** Both ends stamp with the machine's one monotonic clock. */
const SENDER = `
	const socket = require('node:dgram').createSocket('udp4');
	const now = () => Number(process.hrtime.bigint()) / 1e6;
	const start = now(), sent = [];
	let next = 0, burst = 0;
	const other = Buffer.alloc(1200, 1);
	const send = (buffer, port) => socket.send(buffer, port, '10.77.0.2');
	let dueMs = start;
	(function step() {
		const ms = now();
		while (dueMs <= ms) {
			const buffer = Buffer.alloc(100);
			buffer.writeUInt32BE(next, 0);
			sent.push(now());
			send(buffer, 4000);
			next++;
			dueMs = start + (next + Math.random()) * 20;
		}
		if (ms - start >= burst * ${BURST_EVERY_MS}) { burst++; for (let i = 0; i < 40; i++) send(other, 4001); }
		if (ms - start < ${SECONDS * 1000}) setTimeout(step, 1);
		else setTimeout(() => { console.log(JSON.stringify(sent)); socket.close(); }, 500);
	})();`;
const RECEIVER = `
	const dgram = require('node:dgram');
	const got = [];
	dgram.createSocket('udp4').on('message', () => {}).bind(4001);
	const socket = dgram.createSocket('udp4');
	socket.on('message', (buffer) => got.push([buffer.readUInt32BE(0), Number(process.hrtime.bigint()) / 1e6]));
	socket.bind(4000, () => console.error('bound'));
	process.stdin.on('data', () => { console.log(JSON.stringify(got)); process.exit(0); });`;

function layWire(): string | null {
	try {
		for (const words of LAYING) execFileSync('ip', words.split(' '), { stdio: 'pipe' });
		execFileSync('tc', BUCKET.split(' '), { stdio: 'pipe' });
		return null;
	} catch (error) {
		return String(error instanceof Error ? error.message : error).split('\n')[0] ?? 'no reason';
	}
}

function takeAway(): void {
	for (const name of [A, B])
		try {
			execFileSync('ip', ['netns', 'del', name], { stdio: 'pipe' });
		} catch {
			// It was never there.
		}
}

const refused = process.platform === 'linux' ? layWire() : 'only Linux has network namespaces';
if (refused !== null) {
	takeAway();
	console.log(`SKIPPED: the test through a real bottleneck (${refused})`);
}
afterAll(takeAway);

function run(name: string, script: string) {
	const child = spawn('ip', ['netns', 'exec', name, process.execPath, '-e', script]);
	let text = '';
	child.stdout.on('data', (part) => {
		text += part;
	});
	const ended = new Promise<string>((done) => child.on('close', () => done(text)));
	return { child, ended };
}

test.skipIf(refused !== null)(
	'what fills a real queue every 1.37 s is seen in the small packets beside it, with its period',
	async () => {
		const receiver = run(B, RECEIVER);
		await new Promise((ready) => receiver.child.stderr.once('data', ready));
		const sent = JSON.parse(await run(A, SENDER).ended) as number[];
		receiver.child.stdin.write('end\n');
		const got = new Map(JSON.parse(await receiver.ended) as [number, number][]);
		const originMs = sent[0]!;
		const packets = sent.map((sentMs, sequence) => {
			const receivedMs = got.get(sequence);
			return {
				sequence,
				sentMs: sentMs - originMs,
				receivedMs: receivedMs === undefined ? null : receivedMs - originMs,
			};
		});
		const endMs = SECONDS * 1000;
		const air = measureAir(
			madeRun({
				frames: steadyFrames(SECONDS * 25, () => 50),
				segments: [madeSegment({ endMs })],
				probes: [packProbes(packets, { segment: 0, way: 'toViewer' })],
			}),
		);
		if (air.kind !== 'measured') throw new Error(air.explanation);
		const [way] = air.ways;
		expect(way?.sent).toBeGreaterThan(1000);
		// The queue holds 60 ms; how much later a busy machine looks is not asked.
		expect(way?.pdvMaxMs).toBeGreaterThan(30);
		const found = findRepeats(
			Float64Array.from(packets, ({ sentMs }) => sentMs / 1000),
			packets.map(({ sentMs, receivedMs }) =>
				receivedMs === null ? Number.POSITIVE_INFINITY : receivedMs - sentMs,
			),
			{ ownHz: [], falseAlarmRatio: 0.01, seed: 1, highestHz: 40 },
		);
		const [repeat] = found?.repeats ?? [];
		expect(repeat?.periodS).toBeGreaterThan(0.98 * (BURST_EVERY_MS / 1000));
		expect(repeat?.periodS).toBeLessThan(1.02 * (BURST_EVERY_MS / 1000));
	},
);

import { connect, createServer, type Socket } from 'node:net';
import { setTimeout as pause } from 'node:timers/promises';
import { expect, test } from 'vitest';
import { createAir } from '../../src/simulation/air.ts';
import { type AirSpec, stillAir } from '../../src/simulation/airSpec.ts';
import { createRandom } from '../../src/statistics/random.ts';
import { listen } from '../../src/transports/listen.ts';
import { startRelay } from '../../src/transports/relay.ts';
import { pictureDelays, type RelayLog, relayDelays } from '../../src/transports/relayLog.ts';

const HOST = '127.0.0.1';
const air: AirSpec = {
	...stillAir,
	name: 'uneven, with an outage',
	delayMs: 15,
	spread: { kind: 'uniform', fromMs: 0, toMs: 20 },
	outages: { scheduled: [{ atMs: 200, lengthMs: 150 }], random: null, packets: 'held' },
	loss: { p: 0.1, r: 0.5, k: 1, h: 0.5 },
};

type Passed = {
	readonly sent: Buffer;
	readonly arrived: Buffer;
	readonly heardBack: string;
	readonly log: RelayLog;
};

/** Sends chunks of uneven size through the relay for about 0.8 s. */
async function passThrough(): Promise<Passed> {
	const chunks = Array.from({ length: 40 }, (_, i) => Buffer.alloc(1 + ((i * 7919) % 30_000), i));
	let heardBack = '';
	const upstream = createServer((socket) => {
		socket.on('data', (data) => {
			heardBack += data;
		});
		sendAll(socket, chunks).catch(() => socket.destroy());
	});
	const upstreamPort = await listen(upstream, 0, HOST);
	const relay = await startRelay({ air: { spec: air, seed: 9 }, host: HOST, port: 0, upstreamPort });
	const arrived = await receiveAll(connect(relay.port, HOST));
	const log = await relay.stop();
	upstream.close();
	return { sent: Buffer.concat(chunks), arrived, heardBack, log };
}

async function sendAll(socket: Socket, chunks: readonly Buffer[]): Promise<void> {
	for (const chunk of chunks) {
		socket.write(chunk);
		await pause(20);
	}
	// The relay ends both ways at once, so the last chunks must be through before.
	await pause(400);
	socket.end();
}

function receiveAll(socket: Socket): Promise<Buffer> {
	const parts: Buffer[] = [];
	socket.write('hello');
	socket.on('data', (part) => parts.push(part));
	return new Promise((resolve) => socket.on('close', () => resolve(Buffer.concat(parts))));
}

test('the relay changes no byte, releases nothing before its time, and meets the same air as virtual time', async () => {
	const { sent, arrived, heardBack, log } = await passThrough();
	expect(arrived.equals(sent)).toBe(true);
	expect(heardBack).toBe('hello');

	const virtual = createAir({ ...air, carriage: 'stream' }, createRandom(9));
	let lastOutMs = 0;
	for (const [, inMs, plannedMs, outMs, bytes] of log.rows) {
		const passage = virtual.send(inMs - log.zeroMs, bytes);
		expect('deliverAtMs' in passage && log.zeroMs + passage.deliverAtMs).toBe(plannedMs);
		expect(outMs).toBeGreaterThanOrEqual(plannedMs);
		expect(outMs).toBeGreaterThanOrEqual(lastOutMs);
		lastOutMs = outMs;
	}
	expect(log.rows.reduce((sum, [, , , , bytes]) => sum + bytes, 0)).toBe(sent.length);
	// Half of all releases may be late on a busy machine, but not by a picture's time.
	expect(relayDelays(log)?.latenessMedianMs).toBeLessThan(10);
});

test("a picture's delay in the relay is that of its last byte", () => {
	const log: RelayLog = {
		zeroMs: 0,
		rows: [
			[0, 0, 5, 5, 100],
			[0, 10, 15, 16, 60],
			[1, 11, 11, 11, 999],
			[0, 20, 25, 27, 40],
		],
	};
	const pictures = [
		{ frameNumber: 7, endByte: 100 },
		{ frameNumber: 8, endByte: null },
		{ frameNumber: 9, endByte: 101 },
		{ frameNumber: 10, endByte: 200 },
		{ frameNumber: 11, endByte: 201 },
	];
	expect(pictureDelays(log, pictures)).toEqual([
		{ frameNumber: 7, inMs: 0, outMs: 5, addedMs: 5 },
		{ frameNumber: 9, inMs: 10, outMs: 16, addedMs: 6 },
		{ frameNumber: 10, inMs: 20, outMs: 27, addedMs: 7 },
	]);
	expect(relayDelays({ zeroMs: 0, rows: [] })).toBeNull();
});

test('a port that another program holds is named', async () => {
	const holder = createServer();
	const port = await listen(holder, 0, HOST);
	const relay = startRelay({ air: { spec: stillAir, seed: 1 }, host: HOST, port, upstreamPort: 1 });
	await expect(relay).rejects.toMatchObject({ code: 'portInUse' });
	holder.close();
});

/** Real datagrams through the relay process, with a connectivity check first as WebRTC does. */
import { createSocket, type Socket } from 'node:dgram';
import { setTimeout as pause } from 'node:timers/promises';
import { expect, test } from 'vitest';
import { type AirSpec, stillAir } from '../../src/simulation/airSpec.ts';
import type { Address } from '../../src/transports/sdpText.ts';
import { startUdpRelay, type UdpRelayLog } from '../../src/transports/udpRelay.ts';

const HOST = '127.0.0.1';
const COUNT = 60;

function bindingRequest(): Uint8Array {
	const bytes = new Uint8Array(20);
	bytes.set([0, 1, 0, 0, 0x21, 0x12, 0xa4, 0x42]);
	return bytes;
}

function rtpPacket(number: number, rtpTimestamp: number): Uint8Array {
	const bytes = new Uint8Array(200);
	const view = new DataView(bytes.buffer);
	view.setUint8(0, 0x80);
	// The highest bit marks a picture's last packet and is no part of the type.
	view.setUint8(1, (number & 1) * 128 + 96);
	view.setUint32(4, rtpTimestamp);
	view.setUint32(12, number);
	return bytes;
}

type Heard = { readonly number: number; readonly atMs: number };

function socketOn(heard: Heard[]): Promise<Socket> {
	const socket = createSocket('udp4');
	socket.on('message', (bytes) => {
		if (bytes.length > 20) heard.push({ number: bytes.readUInt32BE(12), atMs: performance.now() });
	});
	return new Promise((resolve) => socket.bind(0, HOST, () => resolve(socket)));
}

async function passThrough(
	air: Partial<AirSpec>,
): Promise<{ heard: Heard[]; stranger: Heard[]; log: UdpRelayLog }> {
	const spec = { ...stillAir, name: 'test', ...air };
	const relay = await startUdpRelay({ air: { spec, seed: 4 }, host: HOST, port: 0, beginsAt: 'picture' });
	const heard: Heard[] = [];
	const stranger: Heard[] = [];
	const [sender, viewer, other] = [await socketOn([]), await socketOn(heard), await socketOn(stranger)];
	const to = (socket: Socket, { host, port }: Address, bytes: Uint8Array) => socket.send(bytes, port, host);
	to(viewer, relay.viewerSide, bindingRequest());
	to(sender, relay.senderSide, bindingRequest());
	await pause(30);
	// A stranger's check comes too late: the side has its end.
	to(other, relay.viewerSide, bindingRequest());
	for (let number = 0; number < COUNT; number++) {
		to(sender, relay.senderSide, rtpPacket(number, 1000 + (number >> 1)));
		await pause(4);
	}
	await pause(250);
	const log = await relay.stop();
	for (const socket of [sender, viewer, other]) socket.close();
	return { heard, stranger, log };
}

test('every packet is logged with what became of it, and exactly those that the air lost do not arrive', async () => {
	const { heard, stranger, log } = await passThrough({ delayMs: 30, loss: { p: 0.2, r: 0.5, k: 1, h: 0.2 } });
	const pictures = log.rows.filter(([way, , , , , rtpTimestamp]) => way === 0 && rtpTimestamp !== null);
	expect(pictures).toHaveLength(COUNT);
	const passed = pictures.filter(([, , , outMs]) => outMs !== null);
	expect(passed.length).toBeLessThan(COUNT);
	expect(heard).toHaveLength(passed.length);
	expect(stranger).toEqual([]);
	for (const [, inMs, plannedMs, outMs, bytes] of passed) {
		expect((plannedMs ?? 0) - inMs).toBeCloseTo(30, 3);
		expect(outMs ?? 0).toBeGreaterThanOrEqual(plannedMs ?? 0);
		expect(bytes).toBe(200);
	}
	expect(new Set(pictures.map(([, , , , , rtpTimestamp]) => rtpTimestamp)).size).toBe(COUNT / 2);
	expect(new Set(pictures.map((row) => row[6]))).toEqual(new Set([96]));
	expect(log.forgottenCount).toBe(0);
});

test('an air that does not keep order lets packets overtake one another', async () => {
	const { heard } = await passThrough({ keepOrder: false, spread: { kind: 'uniform', fromMs: 0, toMs: 60 } });
	const numbers = heard.map(({ number }) => number);
	expect(numbers).toHaveLength(COUNT);
	expect(numbers).not.toEqual(numbers.toSorted((a, b) => a - b));
});

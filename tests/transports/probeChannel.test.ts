import { EventEmitter } from 'node:events';
import type { Instance } from 'simple-peer';
import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import { packProbe, unpackProbe } from '../../src/protocol/probePacket.ts';
import { monotonicMs } from '../../src/transports/monotonic.ts';
import { openProbeTraffic, PROBE_CHANNEL } from '../../src/transports/probeChannel.ts';

/** As much of a connection as the traffic looks at. */
class Peer extends EventEmitter {
	destroyed = false;
	connected = true;
	bufferSize = 0;
	isFull = false;
	readonly numbers: (number | null)[] = [];

	send(bytes: Uint8Array): void {
		if (this.isFull) throw new Error('closed');
		this.numbers.push(unpackProbe(bytes));
	}
}

const AHEAD_MS = 5_000_000;

function open(perSecond: number) {
	const traffic = openProbeTraffic({ perSecond, draw: () => 0.5, aheadMs: AHEAD_MS });
	const peer = new Peer();
	traffic.use(peer as unknown as Instance);
	return { traffic, peer };
}

beforeEach(() => {
	vi.useFakeTimers();
});
afterEach(() => {
	vi.useRealTimers();
});

test('numbered packets leave at the asked rate, and their instants are on the clock of this end', async () => {
	const { traffic, peer } = open(100);
	const beforeMs = monotonicMs() + AHEAD_MS;
	await vi.advanceTimersByTimeAsync(2000);
	expect(peer.numbers).toEqual(peer.numbers.map((_, i) => i));
	expect(Math.abs(peer.numbers.length - 200)).toBeLessThan(4);
	const { sent, got } = traffic.take();
	expect(sent.map(([number]) => number)).toEqual(peer.numbers);
	expect(got).toEqual([]);
	expect(sent[1]?.[1] ?? 0).toBeGreaterThan(beforeMs);
	expect(traffic.take()).toEqual({ sent: [], got: [] });
});

test('a packet that would have to wait, or that the channel refuses, was not sent: it has no number', async () => {
	const { traffic, peer } = open(100);
	await vi.advanceTimersByTimeAsync(300);
	const count = peer.numbers.length;
	peer.bufferSize = 4096;
	await vi.advanceTimersByTimeAsync(300);
	expect(peer.numbers).toHaveLength(count);
	peer.bufferSize = 0;
	peer.isFull = true;
	await vi.advanceTimersByTimeAsync(300);
	peer.isFull = false;
	peer.connected = false;
	await vi.advanceTimersByTimeAsync(300);
	peer.connected = true;
	await vi.advanceTimersByTimeAsync(300);
	expect(peer.numbers.length).toBeGreaterThan(count + 20);
	expect(peer.numbers).toEqual(peer.numbers.map((_, i) => i));
	expect(traffic.take().sent.map(([number]) => number)).toEqual(peer.numbers);
});

test('what comes is noted by its number; what is no probe, or comes by an older connection, is not', async () => {
	const { traffic, peer } = open(100);
	peer.emit('data', packProbe(8));
	peer.emit('data', new Uint8Array(8));
	const next = new Peer();
	traffic.use(next as unknown as Instance);
	peer.emit('data', packProbe(9));
	next.emit('data', packProbe(10));
	const { got } = traffic.take();
	expect(got.map(([number]) => number)).toEqual([8, 10]);
	for (const [, atMs] of got) expect(Math.abs(atMs - AHEAD_MS - monotonicMs())).toBeLessThan(60_000);
	await vi.advanceTimersByTimeAsync(500);
	// The older connection is left alone, and numbers go on.
	const count = peer.numbers.length;
	await vi.advanceTimersByTimeAsync(500);
	expect(peer.numbers).toHaveLength(count);
	expect(next.numbers[0]).toBe(count);
});

test('the channel keeps no order and sends nothing again', () => {
	expect(PROBE_CHANNEL).toEqual({ ordered: false, maxRetransmits: 0 });
});

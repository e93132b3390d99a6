/** The page's end of the probe, with the browser's parts played by hand. */
import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import { openProbeEnd } from '../../src/pages/tablet/probeEnd.ts';
import type { FromViewer } from '../../src/protocol/control.ts';
import { packProbe, unpackProbe } from '../../src/protocol/probePacket.ts';

class Channel {
	readyState = 'connecting';
	bufferedAmount = 0;
	onopen: (() => void) | null = null;
	onmessage: ((event: { data: unknown }) => void) | null = null;
	readonly numbers: (number | null)[] = [];

	send(bytes: Uint8Array): void {
		this.numbers.push(unpackProbe(bytes));
	}

	open(): void {
		this.readyState = 'open';
		this.onopen?.();
	}
}

class Connection {
	static readonly all: Connection[] = [];
	ondatachannel: ((event: { channel: Channel }) => void) | null = null;
	iceGatheringState = 'complete';
	localDescription = { sdp: 'an answer' };
	isClosed = false;

	constructor() {
		Connection.all.push(this);
	}

	async setRemoteDescription(): Promise<void> {}
	async setLocalDescription(): Promise<void> {}
	addEventListener(): void {}

	async createAnswer(): Promise<object> {
		return {};
	}

	close(): void {
		this.isClosed = true;
	}
}

let said: FromViewer[] = [];
let told: Extract<FromViewer, { type: 'probed' }>[] = [];

beforeEach(() => {
	[said, told] = [[], []];
	Connection.all.length = 0;
	vi.useFakeTimers();
	vi.stubGlobal('window', globalThis);
	vi.stubGlobal('RTCPeerConnection', Connection);
});
afterEach(() => {
	vi.useRealTimers();
	vi.unstubAllGlobals();
});

async function open(perSecond: number) {
	const probe = openProbeEnd(perSecond, {
		say: (message) => said.push(message),
		tell: (message) => {
			if (message.type === 'probed') told.push(message);
		},
	});
	probe.offered({ type: 'offer', way: 'probe', link: 3, sdp: 'an offer' });
	await vi.advanceTimersByTimeAsync(1);
	const channel = new Channel();
	Connection.all.at(-1)?.ondatachannel?.({ channel });
	return { probe, channel };
}

test('packets are numbered without a gap at the asked rate, and what was sent is told once with its instants', async () => {
	const { probe, channel } = await open(100);
	expect(said).toEqual([{ type: 'answer', way: 'probe', link: 3, sdp: 'an answer' }]);
	expect(channel.numbers).toEqual([]);
	channel.open();
	await vi.advanceTimersByTimeAsync(10_000);
	expect(channel.numbers).toEqual(channel.numbers.map((_, i) => i));
	expect(Math.abs(channel.numbers.length - 1000)).toBeLessThan(30);
	await vi.advanceTimersByTimeAsync(1000);
	const sent = told.flatMap((message) => message.sent);
	expect(sent.slice(0, 1000).map(([number]) => number)).toEqual(Array.from({ length: 1000 }, (_, i) => i));
	for (const [i, [, atMs]] of sent.slice(1).entries()) expect(atMs).toBeGreaterThanOrEqual(sent[i]![1]);
	probe.close();
	const count = channel.numbers.length;
	channel.readyState = 'closed';
	await vi.advanceTimersByTimeAsync(2000);
	expect(channel.numbers.length).toBe(count);
	expect(Connection.all[0]?.isClosed).toBe(true);
});

test('what came is told by its number, what is no probe packet is not, and both are kept for a socket that is away', async () => {
	const { probe, channel } = await open(100);
	channel.open();
	const atMs = performance.now();
	for (const data of [packProbe(7).slice().buffer, packProbe(9).slice().buffer, 'text', new ArrayBuffer(8)])
		channel.onmessage?.({ data });
	await vi.advanceTimersByTimeAsync(1000);
	const got = told.flatMap((message) => message.got);
	expect(got).toEqual([
		[7, atMs],
		[9, atMs],
	]);
	expect(said.every(({ type }) => type === 'answer')).toBe(true);
	probe.close();
});

test('a channel that cannot take more is not queued upon: such a packet has no number', async () => {
	const { probe, channel } = await open(250);
	channel.open();
	await vi.advanceTimersByTimeAsync(500);
	const before = channel.numbers.length;
	channel.bufferedAmount = 5000;
	await vi.advanceTimersByTimeAsync(500);
	expect(channel.numbers).toHaveLength(before);
	channel.bufferedAmount = 0;
	await vi.advanceTimersByTimeAsync(500);
	expect(channel.numbers[before]).toBe(before);
	probe.close();
});

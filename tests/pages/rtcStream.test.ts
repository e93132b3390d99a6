/** The page's end of a WebRTC picture, with the browser's parts played by hand: what is written down of which picture. */
import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import { countReceived } from '../../src/media/web/rtcCounts.ts';
import { openRtcStream } from '../../src/pages/tablet/rtcStream.ts';
import { SeenLog } from '../../src/pages/tablet/seenLog.ts';
import type { CardSpec } from '../../src/pattern/card.ts';
import { createCardPainter } from '../../src/pattern/painter.ts';
import type { FromViewer } from '../../src/protocol/control.ts';

const spec: CardSpec = { layout: 'link', size: '1280x720', seed: 1, difficulty: 'easy' };
const painter = createCardPainter(spec);
const OFFER = { type: 'offer', way: 'picture', link: 7, sdp: 'an offer' } as const;

/** A decoded frame of the card; `scaled`: the sender made it smaller. */
function frameOf(number: number, scaled = false) {
	const { y, yStride, widthPx, heightPx } = painter.paintPlanes(number);
	const luma = y.slice();
	held++;
	return {
		format: 'I420',
		codedWidth: scaled ? widthPx / 2 : widthPx,
		codedHeight: scaled ? heightPx / 2 : heightPx,
		allocationSize: ({ rect }: { rect: { width: number; height: number } }) => rect.width * rect.height,
		async copyTo(into: Uint8Array, { rect }: { rect: DOMRect }) {
			for (let row = 0; row < rect.height; row++)
				for (let x = 0; x < rect.width; x++)
					into[row * rect.width + x] = luma[(rect.y + row) * yStride + rect.x + x] ?? 0;
			return [{ offset: 0, stride: rect.width }];
		},
		clone() {
			held++;
			return { ...this };
		},
		close() {
			held--;
		},
	};
}
type Frame = ReturnType<typeof frameOf>;

/** Hands frames to whoever reads this track, in order. */
class Track {
	readonly waiting: Frame[] = [];
	#wake: (() => void) | null = null;

	give(...frames: Frame[]): void {
		this.waiting.push(...frames);
		this.#wake?.();
	}

	async next(): Promise<Frame> {
		while (this.waiting.length === 0)
			await new Promise<void>((wake) => {
				this.#wake = wake;
			});
		return this.waiting.shift()!;
	}
}

class Processor {
	readonly readable: object;

	constructor({ track }: { track: Track }) {
		this.readable = {
			getReader: () => ({
				read: async () => ({ value: await track.next(), done: false }),
				cancel: async () => {},
			}),
		};
	}
}

type TrackEvent = { track: Track; receiver: { jitterBufferTarget: number | null } };

class Connection {
	static readonly all: Connection[] = [];
	ontrack: ((event: TrackEvent) => void) | null = null;
	readonly track = new Track();
	readonly receiver = { jitterBufferTarget: null as number | null };
	iceGatheringState = 'complete';
	connectionState = 'connected';
	localDescription = { sdp: 'an answer' };
	isClosed = false;
	reports: object[] = [];

	constructor() {
		Connection.all.push(this);
	}

	async setRemoteDescription({ sdp }: { sdp: string }): Promise<void> {
		if (sdp !== OFFER.sdp) throw new Error('not a description');
		this.ontrack?.({ track: this.track, receiver: this.receiver });
	}

	async createAnswer(): Promise<object> {
		return {};
	}

	async setLocalDescription(): Promise<void> {}
	addEventListener(): void {}

	async getStats(): Promise<Map<string, object>> {
		return new Map(this.reports.map((report, i) => [String(i), report]));
	}

	close(): void {
		this.isClosed = true;
	}
}

/** Frames and clones that nobody has closed. */
let held = 0;
let said: FromViewer[] = [];
let troubles: string[] = [];
let passedBy: number[] = [];

beforeEach(() => {
	[held, said, troubles, passedBy] = [0, [], [], []];
	Connection.all.length = 0;
	vi.stubGlobal('window', globalThis);
	vi.stubGlobal('RTCPeerConnection', Connection);
	vi.stubGlobal('MediaStreamTrackProcessor', Processor);
});
afterEach(() => vi.unstubAllGlobals());

function open(): { log: SeenLog; stream: ReturnType<typeof openRtcStream> } {
	const log = new SeenLog();
	const screen = {
		offer(frame: Frame, row: { presentedMs: number | null | undefined }) {
			frame.close();
			row.presentedMs = null;
		},
	};
	const parts = {
		spec,
		log,
		screen: screen as never,
		onArrival: () => {},
		onFrame: (_frame: unknown, number: number) => passedBy.push(number),
		onTrouble: (code: string) => troubles.push(code),
		say: (message: FromViewer) => said.push(message),
	};
	return { log, stream: openRtcStream(parts) };
}

async function settled(): Promise<void> {
	for (let i = 0; i < 5; i++) await new Promise((turn) => setTimeout(turn, 0));
}

test('each picture is one row by the code in it, decoded when it came, and every frame is given back', async () => {
	const { log, stream } = open();
	stream.offered(OFFER);
	await settled();
	const [connection] = Connection.all;
	expect(said.filter(({ type }) => type === 'answer')).toEqual([
		{ type: 'answer', way: 'picture', link: 7, sdp: 'an answer' },
	]);
	expect(connection?.receiver.jitterBufferTarget).toBe(0);
	const fromMs = performance.now();
	connection?.track.give(frameOf(41), frameOf(42), frameOf(43, true), frameOf(44));
	await settled();
	const rows = log.takeFinished(10);
	// A picture that the sender made smaller has no code to be read, and is told as that.
	expect(rows.map(([packet, code]) => [packet, code])).toEqual(
		[41, 42, null, 44].map((code) => [null, code]),
	);
	for (const [, , receivedMs, decodedMs, presentedMs] of rows) {
		expect(receivedMs).toBe(decodedMs);
		expect(decodedMs).toBeGreaterThanOrEqual(fromMs);
		expect(decodedMs).toBeLessThanOrEqual(performance.now());
		expect(presentedMs).toBeNull();
	}
	expect(passedBy).toEqual([41, 42, 44]);
	expect(held).toBe(0);
	stream.close();
	expect(connection?.isClosed).toBe(true);
});

test('a connection that is offered anew closes the one before, whose late pictures are given back and not written down', async () => {
	const { log, stream } = open();
	stream.offered(OFFER);
	await settled();
	stream.offered({ ...OFFER, link: 8 });
	await settled();
	const [first, second] = Connection.all;
	expect([first?.isClosed, second?.isClosed]).toEqual([true, false]);
	first?.track.give(frameOf(1));
	second?.track.give(frameOf(2));
	await settled();
	expect(log.takeFinished(10).map(([, code]) => code)).toEqual([2]);
	expect(said.flatMap((message) => (message.type === 'answer' ? [message.link] : []))).toEqual([7, 8]);
	stream.close();
});

test('an offer that is none is told of and answered by nothing', async () => {
	const { stream } = open();
	stream.offered({ ...OFFER, sdp: 'nonsense' });
	await settled();
	expect(troubles).toEqual(['offerRefused']);
	expect(said).toEqual([]);
	stream.close();
});

test("the browser's counts are told in the record's order, what it does not say is null, and sound is not a picture", async () => {
	const video = {
		...{ type: 'inbound-rtp', kind: 'video', framesReceived: 9, framesDecoded: 8, framesDropped: 1 },
		...{ jitterBufferDelay: 0.25, jitterBufferEmittedCount: 7 },
	};
	const connection = new Connection();
	connection.reports = [{ type: 'inbound-rtp', kind: 'audio', framesDecoded: 99 }, { type: 'codec' }, video];
	expect(await countReceived(connection as never)).toEqual({
		...{ received: 9, decoded: 8, dropped: 1, packetsLost: null, bufferMs: 250, buffered: 7 },
	});
	connection.reports = [{ type: 'outbound-rtp', kind: 'video', framesDecoded: 5 }];
	expect(await countReceived(connection as never)).toBeNull();
	vi.useFakeTimers();
	const { stream } = open();
	stream.offered(OFFER);
	await vi.advanceTimersByTimeAsync(10);
	const opened = Connection.all.at(-1);
	if (opened !== undefined) opened.reports = [video];
	await vi.advanceTimersByTimeAsync(400);
	const counts = said.filter(({ type }) => type === 'streamCounts');
	expect(counts[0]).toMatchObject({ rows: [[expect.any(Number), 9, 8, 1, null, 250, 7]] });
	stream.close();
	await vi.advanceTimersByTimeAsync(2000);
	expect(said.filter(({ type }) => type === 'streamCounts')).toHaveLength(counts.length);
	vi.useRealTimers();
});

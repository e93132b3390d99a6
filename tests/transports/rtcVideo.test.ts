/** The sending end of the picture, with the binary and the connection played by hand: what is asked of them. */
import { EventEmitter } from 'node:events';
import { beforeEach, expect, test, vi } from 'vitest';
import { openRtcVideo, type RtcVideo } from '../../src/transports/rtcVideo.ts';
import { numberIn, openWebrtc, statsOf } from '../../src/transports/webrtc.ts';

const OFFER = [
	'v=0',
	'm=video 9 UDP/TLS/RTP/SAVPF 96 98',
	'a=mid:0',
	'a=candidate:1 1 udp 2130706431 10.0.0.7 5000 typ host',
	'a=candidate:2 1 udp 2130706431 192.168.4.2 5001 typ host',
	'a=rtpmap:96 VP8/90000',
	'a=rtpmap:98 VP9/90000',
	'',
].join('\r\n');

const { Peer, Source, peers, shown } = vi.hoisted(() => {
	const all: FakePeer[] = [];
	const pictures: object[] = [];
	class FakePeer {
		readonly options: { sdpTransform?: (sdp: string) => string };
		readonly tracks: { track: object; how: object }[] = [];
		readonly signals: object[] = [];
		readonly listeners = new Map<string, (value?: unknown) => void>();
		destroyed = false;
		reports: object[] = [];

		constructor(options: object) {
			this.options = options;
			all.push(this);
		}

		on(event: string, listener: (value?: unknown) => void): void {
			this.listeners.set(event, listener);
		}

		tell(event: string, value?: unknown): void {
			this.listeners.get(event)?.(value);
		}

		addTransceiver(track: object, how: object): void {
			this.tracks.push({ track, how });
		}

		signal(signal: object): void {
			this.signals.push(signal);
		}

		destroy(error?: Error): void {
			this.destroyed = true;
			if (error !== undefined) this.tell('error', error);
			this.tell('close');
		}

		getStats(answer: (error: unknown, reports: object[]) => void): void {
			answer(null, this.reports);
		}
	}
	class FakeSource {
		createTrack(): object {
			return { kind: 'video' };
		}

		onFrame(picture: object): void {
			pictures.push(picture);
		}
	}
	return { Peer: FakePeer, Source: FakeSource, peers: all, shown: pictures };
});

vi.mock('simple-peer', () => ({ default: Peer }));
vi.mock('@roamhq/wrtc', () => ({
	default: { MediaStream: class {}, nonstandard: { RTCVideoSource: Source, RTCVideoSink: class {} } },
}));

let told: string[] = [];
let offers: string[] = [];

async function open(host: string | null = null): Promise<RtcVideo> {
	return openRtcVideo(
		{ codec: 'VP9', bitrate: { kbps: 3000, pinned: true }, host },
		{
			offer: (link, sdp) => {
				told.push(`offer ${link}`);
				offers.push(sdp);
			},
			connected: (link) => told.push(`connected ${link}`),
			lost: (link, why) => told.push(`lost ${link}: ${why}`),
		},
	);
}

beforeEach(() => {
	[told, offers] = [[], []];
	peers.length = 0;
	shown.length = 0;
});

test('the encoder is capped at the bitrate, no server is asked for a way, and one codec alone is offered', async () => {
	const video = await open();
	video.join(1);
	const [peer] = peers;
	expect(peer?.options).toMatchObject({ initiator: true, trickle: false, config: { iceServers: [] } });
	expect(peer?.tracks).toMatchObject([
		{ track: { kind: 'video' }, how: { direction: 'sendonly', sendEncodings: [{ maxBitrate: 3_000_000 }] } },
	]);
	expect(peer?.tracks[0]?.how).toHaveProperty('streams.length', 1);
	const narrowed = peer?.options.sdpTransform?.(OFFER);
	expect(narrowed).toContain('VP9');
	expect(narrowed).not.toContain('VP8');
	expect(() => peer?.options.sdpTransform?.(OFFER.replace('VP9', 'H264'))).toThrow(/VP9/);
	peer?.tell('signal', { type: 'offer', sdp: OFFER });
	expect(offers).toEqual([OFFER]);
});

test('on a chosen network only its own address is offered', async () => {
	const video = await open('192.168.4.2');
	video.join(1);
	peers[0]?.tell('signal', { type: 'offer', sdp: OFFER });
	expect(offers[0]).toContain('192.168.4.2');
	expect(offers[0]).not.toContain('10.0.0.7');
});

test("only the present connection's answer is taken, with the bitrate in it; one that refuses the picture ends it", async () => {
	const video = await open();
	video.join(4);
	const [peer] = peers;
	video.answer(3, OFFER);
	expect(peer?.signals).toEqual([]);
	video.answer(4, OFFER);
	expect(peer?.signals).toEqual([
		{ type: 'answer', sdp: expect.stringContaining('a=fmtp:98 x-google-min-bitrate=3000') },
	]);
	video.answer(4, OFFER.replace('m=video 9', 'm=video 0'));
	expect(told).toEqual(['lost 4: the viewer does not take VP9']);
});

test('there is a viewer from connection to loss, and what an older connection does is no news', async () => {
	const video = await open();
	expect(await video.counts()).toBeNull();
	video.join(1);
	expect(video.viewerCount).toBe(0);
	video.join(2);
	const [first, second] = peers;
	expect(first?.destroyed).toBe(true);
	first?.tell('connect');
	first?.tell('signal', { type: 'offer', sdp: OFFER });
	expect([told, video.viewerCount]).toEqual([[], 0]);
	second?.tell('connect');
	expect([told, video.viewerCount]).toEqual([['connected 2'], 1]);
	if (second !== undefined)
		second.reports = [
			{ type: 'outbound-rtp', kind: 'audio', framesEncoded: 900 },
			{ type: 'outbound-rtp', kind: 'video', framesEncoded: 30, totalEncodeTime: 0.15, packetsSent: 120 },
		];
	expect(await video.counts()).toEqual({
		...{ encoded: 30, sent: null, packets: 120, packetsAgain: null, encodeMs: 150 },
	});
	video.show({ width: 2, height: 2, data: new Uint8Array(6) });
	expect(shown).toHaveLength(1);
	second?.destroy();
	expect([told.at(-1), video.viewerCount]).toEqual(['lost 2: closed', 0]);
	video.join(3);
	video.leave();
	expect([peers[2]?.destroyed, told.length]).toEqual([true, 2]);
});

test('statistics that are no numbers are not known, and a connection that has gone has none', async () => {
	const report = { type: 'x', text: '5', not: Number.NaN, none: null, zero: 0 };
	for (const field of ['text', 'not', 'none', 'missing']) expect(numberIn(report, field)).toBeNull();
	expect(numberIn(report, 'zero')).toBe(0);
	expect(numberIn(undefined, 'zero')).toBeNull();
	const { openPeer } = await openWebrtc();
	const peer = openPeer({ initiator: false });
	expect(await statsOf(peer)).toEqual([]);
	const gone = Object.assign(new EventEmitter(), { destroyed: true, getStats: () => expect.fail('asked') });
	expect(await statsOf(gone as never)).toEqual([]);
});

/**
 * The sending end of the picture over WebRTC: one encoder and one connection a viewer, offered here, answered there.
 * Frames are handed over as they are; whether the encoder takes or leaves one, and when, is its own affair, and shows in
 * `counts` and in what arrives. Nothing here knows a picture's number: the code in the picture is all that tells it.
 */
import type { Instance } from 'simple-peer';
import { OutsideFailure } from '../failure.ts';
import {
	type RtcBitrate,
	type RtcCodec,
	takesVideo,
	withBitrate,
	withOnlyAddress,
	withOnlyCodec,
} from './sdpText.ts';
import { numberIn, openWebrtc, type RtcPicture, statsOf } from './webrtc.ts';

export type RtcVideoOptions = {
	readonly codec: RtcCodec;
	readonly bitrate: RtcBitrate;
	/** Candidates of this address alone; null: of every one that this machine has. */
	readonly host: string | null;
};

export type RtcVideoEvents = {
	offer(link: number, sdp: string): void;
	connected(link: number): void;
	/** The connection was made, or was being made, and is no more. */
	lost(link: number, why: string): void;
};

/** Since the connection began; null where the statistics do not say. */
type RtcSentCounts = {
	readonly encoded: number | null;
	readonly sent: number | null;
	readonly packets: number | null;
	readonly packetsAgain: number | null;
	readonly encodeMs: number | null;
};

export type RtcVideo = {
	readonly viewerCount: number;
	show(picture: RtcPicture): void;
	/** A viewer is there: makes a connection under this number. One at a time; the one before is closed. */
	join(link: number): void;
	answer(link: number, sdp: string): void;
	leave(): void;
	/** Another viewer looks on: a connection and an encoder of its own, until it goes. */
	watch(link: number): void;
	unwatch(link: number): void;
	/** Of the viewer that joined. Null without a connection. */
	counts(): Promise<RtcSentCounts | null>;
};

type Connection = { readonly link: number; readonly peer: Instance; connected: boolean };

/** Throws `OutsideFailure` `webrtcMissing`. */
export async function openRtcVideo(
	{ codec, bitrate, host }: RtcVideoOptions,
	events: RtcVideoEvents,
): Promise<RtcVideo> {
	const webrtc = await openWebrtc();
	const source = new webrtc.RTCVideoSource({ needsDenoising: false });
	let current: Connection | null = null;
	const watching = new Map<number, Connection>();
	const isHeld = (one: Connection): boolean => current === one || watching.get(one.link) === one;

	const leave = (): void => {
		const before = current;
		current = null;
		before?.peer.destroy();
	};
	const onlyOurs = (sdp: string): string => {
		const narrowed = withOnlyCodec(sdp, codec);
		if (narrowed === null) throw codecMissing(codec);
		return narrowed;
	};
	const connect = (link: number): Connection => {
		const peer = webrtc.openPeer({ initiator: true, sdpTransform: onlyOurs });
		webrtc.addTrack(peer, source.createTrack(), bitrate.kbps);
		const mine: Connection = { link, peer, connected: false };
		peer.on('signal', (signal) => {
			if (signal.type !== 'offer' || signal.sdp === undefined || !isHeld(mine)) return;
			events.offer(link, host === null ? signal.sdp : withOnlyAddress(signal.sdp, host));
		});
		peer.on('connect', () => {
			if (!isHeld(mine)) return;
			mine.connected = true;
			events.connected(link);
		});
		let why = 'closed';
		peer.on('error', (error) => {
			why = error.message;
		});
		peer.on('close', () => {
			if (!isHeld(mine)) return;
			if (current === mine) current = null;
			else watching.delete(link);
			events.lost(link, why);
		});
		return mine;
	};
	return {
		get viewerCount() {
			return current?.connected === true ? 1 : 0;
		},
		show: (picture) => source.onFrame(picture),
		join(link) {
			leave();
			current = connect(link);
		},
		watch(link) {
			watching.set(link, connect(link));
		},
		unwatch(link) {
			const before = watching.get(link);
			watching.delete(link);
			before?.peer.destroy();
		},
		answer(link, sdp) {
			const peer = current?.link === link ? current.peer : watching.get(link)?.peer;
			if (takesVideo(sdp)) peer?.signal({ type: 'answer', sdp: withBitrate(sdp, codec, bitrate) });
			else peer?.destroy(new Error(`the viewer does not take ${codec}`));
		},
		leave,
		async counts() {
			if (current?.connected !== true) return null;
			const reports = await statsOf(current.peer);
			const video = reports.find(({ type, kind }) => type === 'outbound-rtp' && kind === 'video');
			const encodeSeconds = numberIn(video, 'totalEncodeTime');
			return {
				encoded: numberIn(video, 'framesEncoded'),
				sent: numberIn(video, 'framesSent'),
				packets: numberIn(video, 'packetsSent'),
				packetsAgain: numberIn(video, 'retransmittedPacketsSent'),
				encodeMs: encodeSeconds === null ? null : encodeSeconds * 1000,
			};
		},
	};
}

function codecMissing(codec: RtcCodec): OutsideFailure {
	return new OutsideFailure(
		'codecMissing',
		`WebRTC on this computer does not offer ${codec}.`,
		'Choose another codec, or the WebSocket transport.',
	);
}

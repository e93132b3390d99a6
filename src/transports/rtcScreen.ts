/**
 * The receiving end of the picture over WebRTC in Node, for a viewer without a screen: decoded pictures as they come out
 * of the decoder, after its jitter buffer. It has no way to ask for a smaller buffer, as a browser has.
 */
import type { Instance } from 'simple-peer';
import { numberIn, openWebrtc, type RtcPicture, statsOf, type Webrtc } from './webrtc.ts';

/** Since the connection began; null where the statistics do not say. */
type RtcReceivedCounts = {
	readonly received: number | null;
	readonly decoded: number | null;
	readonly dropped: number | null;
	readonly packetsLost: number | null;
	readonly bufferMs: number | null;
	readonly buffered: number | null;
};

export type RtcScreenEvents = {
	answer(link: number, sdp: string): void;
	/** Valid only until it returns. */
	picture(picture: RtcPicture): void;
};

export type RtcScreen = {
	/** Answers an offer; the connection before is closed. An offer that cannot be understood gets no answer. */
	offered(link: number, sdp: string): void;
	counts(): Promise<RtcReceivedCounts | null>;
	close(): void;
};

/** Throws `OutsideFailure` `webrtcMissing`. */
export async function openRtcScreen(events: RtcScreenEvents): Promise<RtcScreen> {
	const webrtc = await openWebrtc();
	let peer: Instance | null = null;
	const close = (): void => {
		const before = peer;
		peer = null;
		before?.destroy();
	};
	return {
		offered(link, sdp) {
			close();
			peer = answering(webrtc, { link, sdp }, events);
		},
		async counts() {
			if (peer === null) return null;
			const reports = await statsOf(peer);
			const video = reports.find(({ type, kind }) => type === 'inbound-rtp' && kind === 'video');
			const bufferSeconds = numberIn(video, 'jitterBufferDelay');
			return {
				received: numberIn(video, 'framesReceived'),
				decoded: numberIn(video, 'framesDecoded'),
				dropped: numberIn(video, 'framesDropped'),
				packetsLost: numberIn(video, 'packetsLost'),
				bufferMs: bufferSeconds === null ? null : bufferSeconds * 1000,
				buffered: numberIn(video, 'jitterBufferEmittedCount'),
			};
		},
		close,
	};
}

function answering(
	webrtc: Webrtc,
	{ link, sdp }: { readonly link: number; readonly sdp: string },
	events: RtcScreenEvents,
): Instance {
	const peer = webrtc.openPeer({ initiator: false });
	peer.on('signal', (signal) => {
		if (signal.type === 'answer' && signal.sdp !== undefined) events.answer(link, signal.sdp);
	});
	peer.on('track', (track) => {
		const sink = new webrtc.RTCVideoSink(track);
		sink.onframe = ({ frame }) => events.picture(frame);
		peer.once('close', () => sink.stop());
	});
	// What was wrong shows as silence, which the bench sees; a process must not end by a broken offer.
	peer.on('error', () => peer.destroy());
	peer.signal({ type: 'offer', sdp });
	return peer;
}

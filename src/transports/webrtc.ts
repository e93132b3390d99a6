/**
 * The door to WebRTC in Node. Only a child process may open it: handing over a picture blocks the event loop for about as
 * long as an encode, and a second thread of one process that loads the binary ends the process.
 */
import type { Instance, Options } from 'simple-peer';
import { OutsideFailure } from '../failure.ts';

/** I420 without padding. */
export type RtcPicture = { readonly width: number; readonly height: number; readonly data: Uint8Array };

/** A track, as the binary hands it out: nothing here looks into one. */
type Track = { readonly kind: string };
type VideoSource = { createTrack(): Track; onFrame(picture: RtcPicture): void };
type VideoSink = { onframe: ((event: { frame: RtcPicture }) => void) | null; stop(): void };

/** What is used of the binary; its own types leave the pictures out. */
type Binary = {
	readonly MediaStream: new (tracks: readonly Track[]) => object;
	readonly nonstandard: {
		readonly RTCVideoSource: new (how: { readonly needsDenoising: boolean }) => VideoSource;
		readonly RTCVideoSink: new (track: Track) => VideoSink;
	};
};

export type Webrtc = Binary['nonstandard'] & {
	/** Sends a track, its encoder held below this. To be called before the peer offers anything, in the turn in which it was opened. */
	addTrack(peer: Instance, track: Track, mostKbps: number): void;
	/** One end of a connection on this machine's own addresses: no server of anyone's is asked for a way. */
	openPeer(options: Options): Instance;
};

type Transceiving = { addTransceiver(track: Track, how: object): void };

/** Throws `OutsideFailure` `webrtcMissing`. */
export async function openWebrtc(): Promise<Webrtc> {
	try {
		const { default: binary } = await import('@roamhq/wrtc');
		const { default: Peer } = await import('simple-peer');
		const { MediaStream, nonstandard } = binary as unknown as Binary;
		return {
			...nonstandard,
			addTrack(peer, track, mostKbps) {
				// Typed for a kind alone; the binary takes a track as well, and the encoder's limit can be given nowhere else.
				const { addTransceiver } = peer as unknown as Transceiving;
				const sendEncodings = [{ maxBitrate: mostKbps * 1000 }];
				const streams = [new MediaStream([track])];
				addTransceiver.call(peer, track, { direction: 'sendonly', streams, sendEncodings });
			},
			openPeer: (options) =>
				new Peer({ wrtc: binary, trickle: false, config: { iceServers: [] }, ...options }),
		};
	} catch (cause) {
		throw new OutsideFailure(
			'webrtcMissing',
			'WebRTC is not there for this computer: its optional package could not be loaded.',
			'Install the optional packages again (there is none for Windows on ARM), or use the WebSocket transport.',
			{ cause },
		);
	}
}

/** One report of a peer's own statistics. */
export type StatsReport = { readonly type: string; readonly [key: string]: unknown };

/** The reports; empty when the peer has gone. */
export function statsOf(peer: Instance): Promise<readonly StatsReport[]> {
	return new Promise((resolve) => {
		if (peer.destroyed) return resolve([]);
		// Typed as the event's, which it is not: it is asked, and answers once.
		const ask = peer as unknown as {
			getStats(answer: (error: unknown, reports?: StatsReport[]) => void): void;
		};
		return ask.getStats((_error, reports) => resolve(reports ?? []));
	});
}

/** A field of a report where it is a number; null where the report does not say. */
export function numberIn(report: StatsReport | undefined, field: string): number | null {
	const value = report?.[field];
	return typeof value === 'number' && Number.isFinite(value) ? value : null;
}

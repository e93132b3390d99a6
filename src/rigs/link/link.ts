/** What a link run is asked for, what it hands over while it runs, and what it says at its end. */
import type { WebSocket } from 'ws';
import type { LiveFormat } from '../../media/node/liveEncoder.ts';
import type { Header, ObservationRecord, ProfileName } from '../../observations/records.ts';
import type { CardSpec } from '../../pattern/card.ts';
import type { RelayAir } from '../../transports/relay.ts';
import type { RelayLog } from '../../transports/relayLog.ts';
import type { RtcCodec } from '../../transports/sdpText.ts';
import type { UdpRelayLog } from '../../transports/udpRelay.ts';
import type { DropPictures, SentFrame } from './senderMessages.ts';

/** A server that lets viewers in by its own rules and hands their sockets over while a run is on. */
export type ViewerDoor = {
	readonly url: string;
	/** Takes those that wait and those that come; gives back how to stop taking. */
	attend(take: (socket: WebSocket) => void): () => void;
};

/** PEM texts. */
export type TlsPair = { readonly key: string; readonly cert: string };

export type LinkOptions = {
	readonly runId: string;
	readonly toolVersion: string;
	/** Wall-clock label for people. */
	readonly startedAt: string;
	readonly profile: ProfileName;
	readonly subject: Header['subject'];
	readonly place: string | null;
	readonly joined: string | null;
	readonly card: CardSpec;
	readonly rateHz: number;
	readonly bitrateKbps: number;
	/** Over WebRTC instead of the picture socket: held at `bitrateKbps`, or adapting below it; null: not. */
	readonly webrtc: { readonly codec: RtcCodec; readonly pinned: boolean } | null;
	/** Mean number of probe packets a second, each way, 100 to 250, beside the picture in a process and connection of their own; null: none. */
	readonly probePerSecond: number | null;
	/** 1: every picture a key picture. WebRTC makes key pictures as it wants. */
	readonly keyEveryFrames: number;
	/** Of the pictures on the picture socket: `jpeg` where the viewer is given no video decoder. */
	readonly format: LiveFormat;
	/** Observed time to reach: after each segment's warm-up, segments added. */
	readonly observedMs: number;
	readonly warmUpMs: number;
	readonly lostAfterMs: number;
	/** Simulated air on the picture's way, by the relay; null for the way as it is. */
	readonly air: RelayAir | null;
	/** Pictures the sender throws away: benches of loss only. */
	readonly drop: DropPictures;
	/** `headless`: a viewer process of our own. `external`: wait for a page. */
	readonly viewer: 'headless' | 'external';
	/** Built page files to serve beside the control socket. */
	readonly pagesFolder: string | null;
	/** Where the sockets listen: `127.0.0.1`, or an address of this machine that the tablet reaches. */
	readonly host: string;
	/** 0: any free port. */
	readonly controlPort: number;
	readonly picturePort: number;
	/** Path of the picture socket. Where strangers are about: long and random, since it is the key to the picture. */
	readonly picturePath: string;
	/** Where viewers come from, if not from a control port of the run's own. */
	readonly door: ViewerDoor | null;
	/** The picture socket speaks TLS by these; a page that came over https may open no other. */
	readonly tls: TlsPair | null;
	/** Jitters pings and samples. */
	readonly seed: number;
	readonly sampleEveryMs: number;
	/** How long to wait for a viewer, at the beginning and after one has left. */
	readonly viewerWithinMs: number;
};

/** Everything that a run needs beyond who, what and how long; a caller spreads it and changes what it wants. */
export const usualLink = {
	place: null,
	joined: null,
	card: { layout: 'link', size: '1280x720', seed: 1, difficulty: 'easy' },
	rateHz: 30,
	bitrateKbps: 8000,
	webrtc: null,
	probePerSecond: null,
	keyEveryFrames: 30,
	format: 'h264',
	warmUpMs: 3000,
	lostAfterMs: 5000,
	air: null,
	drop: { kind: 'none' },
	viewer: 'headless',
	pagesFolder: null,
	host: '127.0.0.1',
	controlPort: 0,
	picturePort: 0,
	picturePath: '/picture',
	door: null,
	tls: null,
	seed: 1,
	sampleEveryMs: 2000,
	viewerWithinMs: 30_000,
} as const satisfies Partial<LinkOptions>;

export type LinkProgress =
	| { readonly stage: 'starting' }
	/** `url`: what a tablet opens; its page is served there if there are page files. */
	| { readonly stage: 'waitingForViewer'; readonly url: string }
	| { readonly stage: 'senderStarted'; readonly pid: number | undefined }
	/** The headless viewer's clock is this much ahead of the bench's: truth, for rehearsals and benches, that a run never uses. */
	| { readonly stage: 'viewerStarted'; readonly pid: number | undefined; readonly clockAheadMs: number }
	| {
			readonly stage: 'warmUp' | 'measuring';
			readonly observedMs: number;
			readonly targetMs: number;
			/** What a jitter buffer holds pictures for while its rest is waited for; null: nothing is waited for, or it is not known. */
			readonly bufferMs: number | null;
	  }
	/** The WebRTC connection of the picture stands, or stands no longer. */
	| { readonly stage: 'stream'; readonly isUp: boolean }
	| { readonly stage: 'draining' | 'finishing' };

export type LinkSinks = {
	/** In file order, the header first. Never called after `runLink` has settled. */
	readonly record: (record: ObservationRecord) => void;
	/** A picture for the run folder: its file name and the bytes of a PNG. */
	readonly evidence: (name: string, png: Uint8Array) => void;
	readonly progress: (progress: LinkProgress) => void;
	/** The sender's own log, for benches that compare with it. */
	readonly sent?: (frame: SentFrame) => void;
	/** Ends the run early, with everything closed properly. */
	readonly signal?: AbortSignal;
};

export type LinkOutcome = {
	/** `runEnd`, `tookTooLong`, `stopped`, `viewerGone`. */
	readonly reason: string;
	readonly observedMs: number;
	readonly segmentCount: number;
	readonly relayLog: RelayLog | null;
	/** Of a WebRTC run with an air. */
	readonly udpRelayLog: UdpRelayLog | null;
	/** Of a probe with an air: it has a relay of its own, with the same air. */
	readonly probeRelayLog: UdpRelayLog | null;
};

/**
 * Where the source's pictures go: through an encoder of our own to the picture socket, or whole into WebRTC, which encodes
 * by itself. Either is handed the finished raster, and the clock of a picture's delay starts at that instant.
 */
import type { Planes } from '../../imaging/planes.ts';
import { type LiveEncoder, namedCodec, openLiveEncoder } from '../../media/node/liveEncoder.ts';
import { packedByteCount, packPlanes } from '../../media/node/packedPlanes.ts';
import type { CardPainter } from '../../pattern/cardPainter.ts';
import { cardGeometry } from '../../pattern/geometry.ts';
import { monotonicMs, roundMs } from '../../transports/monotonic.ts';
import { openPictureServer } from '../../transports/pictureServer.ts';
import { openRtcVideo } from '../../transports/rtcVideo.ts';
import { repeatUnevenly } from '../../transports/unevenly.ts';
import type { FromSender, SenderSettings, SentFrame } from './senderMessages.ts';

/** Pictures painted and encoded before the first that counts, so that compiling is not measured. */
const REHEARSAL_PICTURES = 20;
const COUNT_EVERY_MS = 1000;

type Shown = Pick<SentFrame, 'encodeMs' | 'key' | 'byteCount' | 'viewerCount' | 'endByte'> & {
	/** Bytes that wait in this process for the slowest viewer. */
	readonly waitingBytes: number;
};

export type PictureOutlet = {
	readonly port: number;
	readonly codec: string;
	/** `dropped`: encoded where that is done here, and thrown away. */
	show(planes: Planes, frameNumber: number, dropped: boolean): Shown;
	/** Without effect where nothing is offered. */
	join(link: number): void;
	answer(link: number, sdp: string): void;
	leave(): void;
	watch(link: number): void;
	unwatch(link: number): void;
};

type Tell = (message: FromSender) => void;

/** Throws `OutsideFailure` when the encoder, the port or WebRTC cannot be had. */
export function openOutlet(
	settings: SenderSettings,
	painter: CardPainter,
	tell: Tell,
): Promise<PictureOutlet> {
	return settings.webrtc === null
		? openSocketOutlet(settings, painter, tell)
		: openRtcOutlet(settings, settings.webrtc, tell);
}

async function openSocketOutlet(
	settings: SenderSettings,
	painter: CardPainter,
	tell: Tell,
): Promise<PictureOutlet> {
	const { card, rateHz, bitrateKbps, keyEveryFrames, format } = settings;
	const { widthPx, heightPx } = cardGeometry(card);
	const encoder = await openLiveEncoder(format, { widthPx, heightPx, rateHz, bitrateKbps, keyEveryFrames });
	const codec = rehearse(painter, encoder);
	// A viewer that comes cannot begin in the middle of predicted pictures.
	let keyWanted = true;
	const server = await openPictureServer(settings, (viewerCount, came) => {
		keyWanted ||= came;
		tell({ type: 'viewers', viewerCount, came, atMs: roundMs(monotonicMs()) });
	});
	return {
		...nothingOffered,
		port: server.port,
		codec,
		show(planes, frameNumber, dropped) {
			const fromMs = monotonicMs();
			const { key, bytes } = encoder.encode(planes, keyWanted);
			const encodeMs = roundMs(monotonicMs() - fromMs);
			keyWanted = false;
			const sent = dropped ? null : server.send({ frameNumber, key, bytes });
			const { endByte = null, waitingBytes = 0 } = sent ?? {};
			const { viewerCount } = server;
			return { encodeMs, key, byteCount: bytes.length, viewerCount, endByte, waitingBytes };
		},
	};
}

const nothingOffered = { join() {}, answer() {}, leave() {}, watch() {}, unwatch() {} };

function rehearse(painter: CardPainter, encoder: LiveEncoder): string {
	let codec: string | null = null;
	for (let i = 0; i < REHEARSAL_PICTURES; i++) {
		const { bytes } = encoder.encode(painter.paintPlanes(i), i === 0);
		codec ??= encoder.codecOf(bytes);
	}
	return namedCodec(codec);
}

async function openRtcOutlet(
	{ card, bitrateKbps }: SenderSettings,
	{ codec, pinned, onlyHost }: NonNullable<SenderSettings['webrtc']>,
	tell: Tell,
): Promise<PictureOutlet> {
	const { widthPx, heightPx } = cardGeometry(card);
	const data = new Uint8Array(packedByteCount(widthPx, heightPx));
	const video = await openRtcVideo(
		{ codec, bitrate: { kbps: bitrateKbps, pinned }, host: onlyHost },
		{
			offer: (link, sdp) => tell({ type: 'offer', link, sdp }),
			connected: (link) => tell({ type: 'connected', link }),
			lost: (link, why) => tell({ type: 'streamLost', link, why: why.slice(0, 200) }),
		},
	);
	let handedOver = 0;
	const tellCounts = async (): Promise<void> => {
		const counts = await video.counts();
		if (counts === null) return;
		const { encoded, sent, packets, packetsAgain, encodeMs } = counts;
		const row = [roundMs(monotonicMs()), handedOver, encoded, sent, packets, packetsAgain, encodeMs] as const;
		tell({ type: 'counts', row: [...row] });
	};
	repeatUnevenly(COUNT_EVERY_MS, () => void tellCounts());
	return {
		port: 0,
		codec,
		show(planes, _frameNumber, dropped) {
			const { viewerCount } = video;
			if (!dropped) {
				packPlanes(planes, data);
				video.show({ width: widthPx, height: heightPx, data });
				handedOver++;
			}
			const unsaid = { encodeMs: null, byteCount: null, endByte: null };
			return { ...unsaid, key: false, viewerCount, waitingBytes: 0 };
		},
		join(link) {
			handedOver = 0;
			video.join(link);
		},
		answer: video.answer,
		leave: video.leave,
		watch: video.watch,
		unwatch: video.unwatch,
	};
}

/**
 * From a WebRTC connection to rows of what was seen: frame decoded, code read from its luma, frame offered to the screen.
 * No packet says which picture it is: the code in the picture alone does. A connection that is offered anew replaces the
 * one before. The browser is asked for the least jitter buffer it will give; what it takes all the same is told.
 */
import { copyLuma } from '../../media/web/framePlanes.ts';
import { countReceived } from '../../media/web/rtcCounts.ts';
import { readTrack } from '../../media/web/trackReader.ts';
import type { CardSpec } from '../../pattern/card.ts';
import { cardGeometry } from '../../pattern/geometry.ts';
import type { FromViewer, ToViewer } from '../../protocol/control.ts';
import { readFrameCode } from '../../reading/frameCode.ts';
import { answerOffer } from './answerOffer.ts';
import type { CardScreen } from './cardScreen.ts';
import type { SeenLog } from './seenLog.ts';

/** Mean spacing of looks at the statistics; jittered, so that the looking has no period. */
const COUNT_EVERY_MS = 250;

type Offer = Extract<ToViewer, { type: 'offer' }>;

export type RtcStream = { offered(offer: Offer): void; close(): void };
type Parts = {
	readonly spec: CardSpec;
	readonly log: SeenLog;
	readonly screen: CardScreen;
	/** A frame whose number was read passes by; clone it to keep it. */
	readonly onFrame: (frame: VideoFrame, frameNumber: number, decodedMs: number) => void;
	readonly onTrouble: (code: string, detail: string) => void;
	readonly say: (message: FromViewer) => void;
};

export function openRtcStream({ spec, log, screen, onFrame, onTrouble, say }: Parts): RtcStream {
	const geometry = cardGeometry(spec);
	const strip = geometry.code.rect;
	let connection: RTCPeerConnection | null = null;

	const seen = async (frame: VideoFrame): Promise<void> => {
		const decodedMs = performance.now();
		const row = log.add(null, decodedMs, decodedMs);
		const isWhole = frame.codedWidth >= geometry.widthPx && frame.codedHeight >= geometry.heightPx;
		screen.offer(frame.clone(), row);
		const luma = isWhole ? await copyLuma(frame, strip) : null;
		const reading = luma === null ? null : readFrameCode(luma, geometry, strip);
		row.code = reading?.kind === 'read' ? reading.frameNumber : null;
		if (row.code !== null) onFrame(frame, row.code, decodedMs);
		frame.close();
	};

	const answer = async (offer: Offer): Promise<void> => {
		connection?.close();
		const mine = new RTCPeerConnection({ iceServers: [] });
		connection = mine;
		mine.ontrack = ({ track, receiver }) => {
			if ('jitterBufferTarget' in receiver) receiver.jitterBufferTarget = 0;
			readTrack(track, (frame) => {
				if (connection === mine) void seen(frame);
				else frame.close();
			}).catch((error: unknown) => onTrouble('trackUnreadable', String(error)));
		};
		mine.onconnectionstatechange = () => {
			if (mine.connectionState === 'failed') onTrouble('connectionFailed', 'the picture connection failed');
		};
		await answerOffer(mine, offer, (message) => {
			if (connection === mine) say(message);
		});
	};

	let timer = 0;
	const count = async (): Promise<void> => {
		const atMs = performance.now();
		const counts = connection === null ? null : await countReceived(connection);
		if (counts !== null) {
			const { received, decoded, dropped, packetsLost, bufferMs, buffered } = counts;
			say({
				type: 'streamCounts',
				rows: [[atMs, received, decoded, dropped, packetsLost, bufferMs, buffered]],
			});
		}
		timer = window.setTimeout(() => void count(), COUNT_EVERY_MS * (0.5 + Math.random()));
	};
	void count();

	return {
		offered(offer) {
			answer(offer).catch((error: unknown) => onTrouble('offerRefused', String(error)));
		},
		close() {
			window.clearTimeout(timer);
			connection?.close();
			connection = null;
		},
	};
}

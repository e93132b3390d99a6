/**
 * From a WebRTC connection to rows of what was seen: picture taken, code read from its luma, picture offered to the screen.
 * No packet says which picture it is: the code in the picture alone does. A connection that is offered anew replaces the
 * one before. The browser is asked for the least jitter buffer it will give; what it takes all the same is told.
 */
import { copyLuma, holdAgain, type Picture, sizeOfPicture } from '../../media/web/framePlanes.ts';
import { countReceived } from '../../media/web/rtcCounts.ts';
import type { Sight, TrackReader } from '../../media/web/sight.ts';
import { openTrackReader } from '../../media/web/trackReader.ts';
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
	/** A picture is here, and nothing of it is written down yet. */
	readonly onArrival: () => void;
	/** A frame whose number was read passes by; clone it to keep it. */
	readonly onFrame: (frame: Picture, frameNumber: number, atMs: number) => void;
	readonly onTrouble: (code: string, detail: string) => void;
	readonly say: (message: FromViewer) => void;
};

export function openRtcStream({ spec, log, screen, onArrival, onFrame, onTrouble, say }: Parts): RtcStream {
	const geometry = cardGeometry(spec);
	const strip = geometry.code.rect;
	let connection: RTCPeerConnection | null = null;
	let reader: TrackReader | null = null;
	const told = new Set<string>();
	const tellOnce = (code: string, detail: string): void => {
		if (!told.has(detail)) onTrouble(code, detail);
		told.add(detail);
	};

	const codeOf = async (picture: Picture): Promise<number | null> => {
		const { widthPx, heightPx } = sizeOfPicture(picture);
		const isWhole = widthPx >= geometry.widthPx && heightPx >= geometry.heightPx;
		const luma = isWhole ? await copyLuma(picture, strip) : null;
		const reading = luma === null ? null : readFrameCode(luma, geometry, strip);
		return reading?.kind === 'read' ? reading.frameNumber : null;
	};
	let lastCode: number | null | undefined;
	const seen = async ({ picture, decodedMs, missedCount, mayRepeat }: Sight): Promise<void> => {
		onArrival();
		const inHandMs = decodedMs ?? performance.now();
		if (missedCount === null)
			tellOnce('arrivalsUncounted', 'this browser does not count the pictures that came');
		else log.addMissed(missedCount, inHandMs);
		const known = mayRepeat ? await codeOf(picture) : undefined;
		if (known === undefined || known !== lastCode) {
			const row = log.add(null, inHandMs, decodedMs);
			screen.offer(holdAgain(picture), row);
			row.code = known === undefined ? await codeOf(picture) : known;
			lastCode = row.code;
			if (row.code !== null) onFrame(picture, row.code, inHandMs);
		}
		picture.close();
	};
	const read = async (track: MediaStreamTrack, mine: RTCPeerConnection): Promise<void> => {
		const opened = await openTrackReader(track, (sight) => {
			if (connection === mine) void seen(sight);
			else sight.picture.close();
		});
		if (connection !== mine) return opened.close();
		reader = opened;
		tellOnce('reader', opened.way);
	};
	const hangUp = (): void => {
		reader?.close();
		reader = null;
		connection?.close();
		connection = null;
	};

	const answer = async (offer: Offer): Promise<void> => {
		hangUp();
		const mine = new RTCPeerConnection({ iceServers: [] });
		connection = mine;
		mine.ontrack = ({ track, receiver }) => {
			if ('jitterBufferTarget' in receiver) receiver.jitterBufferTarget = 0;
			read(track, mine).catch((error: unknown) => onTrouble('trackUnreadable', String(error)));
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
			hangUp();
		},
	};
}

/**
 * From the picture socket to rows of what was seen: packet in, frame decoded, code read from its luma, frame offered to
 * the screen. A lost picture socket is opened again; the numbers in the packets show what went missing meanwhile.
 */
import { copyLuma } from '../../media/web/framePlanes.ts';
import { openJpegDecoder } from '../../media/web/jpegDecoder.ts';
import { type DecodedFrame, JPEG_CODEC, openPictureDecoder } from '../../media/web/pictureDecoder.ts';
import type { CardSpec } from '../../pattern/card.ts';
import { cardGeometry } from '../../pattern/geometry.ts';
import { unpackPicture } from '../../protocol/pictureSocket.ts';
import { readFrameCode } from '../../reading/frameCode.ts';
import type { CardScreen } from './cardScreen.ts';
import type { SeenLog } from './seenLog.ts';

const RETRY_MS = 500;
/** Pictures inside the decoder at once; more means that it stopped answering. */
const MOST_IN_DECODER = 600;

export type PictureStream = { close(): void };
type Parts = {
	readonly url: string;
	readonly codec: string;
	readonly spec: CardSpec;
	readonly log: SeenLog;
	readonly screen: CardScreen;
	/** A picture is here, and nothing of it is written down yet. */
	readonly onArrival: () => void;
	/** A decoded frame passes by, with its number; clone it to keep it. */
	readonly onFrame: (frame: VideoFrame, frameNumber: number, decodedMs: number) => void;
	readonly onTrouble: (code: string, detail: string) => void;
};

export function openPictureStream({
	url,
	codec,
	spec,
	log,
	screen,
	onArrival,
	onFrame,
	onTrouble,
}: Parts): PictureStream {
	const received = new Map<number, number>();
	const geometry = cardGeometry(spec);
	const strip = geometry.code.rect;
	let socket: WebSocket | null = null;
	let closed = false;

	const onDecoded = async ({ packetNumber, frame }: DecodedFrame): Promise<void> => {
		onArrival();
		const decodedMs = performance.now();
		const row = log.add(packetNumber, received.get(packetNumber) ?? decodedMs, decodedMs);
		received.delete(packetNumber);
		screen.offer(frame.clone(), row);
		onFrame(frame, packetNumber, decodedMs);
		const luma = await copyLuma(frame, strip);
		frame.close();
		const reading = luma === null ? null : readFrameCode(luma, geometry, strip);
		row.code = reading?.kind === 'read' ? reading.frameNumber : null;
	};
	const onError = (detail: string): void => onTrouble('decoderError', detail);
	const decoder =
		codec === JPEG_CODEC
			? openJpegDecoder(onDecoded, onError)
			: openPictureDecoder(codec, onDecoded, onError);

	const connect = (): void => {
		socket = new WebSocket(url);
		socket.binaryType = 'arraybuffer';
		socket.onmessage = (event) => {
			const receivedMs = performance.now();
			const picture = event.data instanceof ArrayBuffer ? unpackPicture(new Uint8Array(event.data)) : null;
			if (picture === null)
				return onTrouble('notAPicture', 'a message on the picture socket was not a picture');
			if (received.size >= MOST_IN_DECODER) received.clear();
			received.set(picture.frameNumber, receivedMs);
			decoder.decode(picture);
		};
		socket.onclose = () => {
			if (closed) return;
			onTrouble('pictureSocketLost', 'the picture socket closed');
			setTimeout(connect, RETRY_MS);
		};
	};
	connect();

	return {
		close() {
			closed = true;
			socket?.close();
			decoder.close();
		},
	};
}

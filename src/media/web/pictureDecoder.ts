/**
 * The browser's own H.264 decoder, fed one picture at a time with least delay. The number that the packet carries rides
 * through the decoder as its time stamp and comes back with the frame.
 */
import { OutsideFailure } from '../../failure.ts';

export type DecodedFrame = { readonly packetNumber: number; readonly frame: VideoFrame };
type EncodedChunk = {
	readonly frameNumber: number;
	readonly key: boolean;
	readonly bytes: Uint8Array;
};
export type PictureDecoder = { decode(picture: EncodedChunk): void; close(): void };

/** Microseconds between the time stamps of neighbouring numbers; any step that survives the decoder would do. */
const STAMP_STEP_US = 1000;

/** Each picture a still of its own, which every browser decodes, over http too. */
export const JPEG_CODEC = 'jpeg';

/** Whether this page may decode at all: `VideoDecoder` is there only in a secure context and a new enough browser. */
export async function canDecode(codec: string): Promise<boolean> {
	if (codec === JPEG_CODEC) return typeof VideoFrame !== 'undefined';
	if (typeof VideoDecoder === 'undefined') return false;
	const { supported } = await VideoDecoder.isConfigSupported({ codec, optimizeForLatency: true });
	return supported === true;
}

/**
 * `onFrame` takes over the frame and must close it. Pictures before the first key picture are passed over; after a
 * decoder's error the next key picture starts it anew. Throws `OutsideFailure` `decoderMissing`.
 */
export function openPictureDecoder(
	codec: string,
	onFrame: (decoded: DecodedFrame) => void,
	onTrouble: (detail: string) => void,
): PictureDecoder {
	if (typeof VideoDecoder === 'undefined')
		throw new OutsideFailure(
			'decoderMissing',
			'This browser gives the page no video decoder.',
			'Open the page over https or on the bench itself, in a current browser.',
		);
	let decoder: VideoDecoder | null = null;

	const start = (): VideoDecoder => {
		const started = new VideoDecoder({
			output: (frame) => onFrame({ packetNumber: Math.round(frame.timestamp / STAMP_STEP_US), frame }),
			error: (error) => {
				decoder = null;
				onTrouble(error.message);
			},
		});
		started.configure({ codec, optimizeForLatency: true });
		return started;
	};

	return {
		decode({ frameNumber, key, bytes }) {
			if (decoder === null) {
				if (!key) return;
				decoder = start();
			}
			const type = key ? 'key' : 'delta';
			decoder.decode(new EncodedVideoChunk({ type, timestamp: frameNumber * STAMP_STEP_US, data: bytes }));
		},
		close() {
			if (decoder?.state === 'configured') decoder.close();
			decoder = null;
		},
	};
}

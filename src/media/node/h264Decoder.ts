/**
 * H.264 (Annex B) to I420 planes, live: a packet goes in and its picture comes out of the same call. Slices may be decoded
 * side by side, frames never (each would add a picture of delay). The picture carries the number of its own packet.
 *
 * A packet that needs pictures which were never received may still decode, to a broken picture: whether the picture is
 * worth anything is for the frame code in it to say, not for the decoder.
 */
import { OutsideFailure } from '../../failure.ts';
import type { Planes } from '../../imaging/planes.ts';
import {
	CODEC_ID_H264,
	type CodecContext,
	type CodecFrame,
	type CodecLibrary,
	type LoadCodecLibrary,
	loadCodecLibrary,
	PIXEL_FORMAT_I420,
} from './codecLibrary.ts';

const FLAG_LOW_DELAY = 0x8_0000;
const THREADS_BY_SLICE = 2;
const THREAD_COUNT = 2;

type DecodedPicture = {
	/** Of the packet that this picture came from. */
	readonly frameNumber: number;
	/** The decoder's own memory: valid until the next `decode` or `close`, so copy what is to be kept. */
	readonly planes: Planes;
};

export type H264Decoder = {
	/** The packet's picture; null when the decoder made none of it (broken, or before the first key picture). */
	decode(annexB: Uint8Array, frameNumber: number): DecodedPicture | null;
	close(): void;
};

/** Throws `OutsideFailure`: `decoderMissing` without the package, `decoderFailed` when it does not open. */
export async function openH264Decoder(load?: LoadCodecLibrary): Promise<H264Decoder> {
	const library = await loadCodecLibrary('decoder', load);
	const context = openContext(library);
	const packet = new library.Packet();
	packet.alloc();
	const frame = new library.Frame();
	frame.alloc();
	return {
		decode(annexB, frameNumber) {
			frame.unref();
			packet.data = Buffer.from(annexB.buffer, annexB.byteOffset, annexB.byteLength);
			packet.pts = BigInt(frameNumber);
			const sent = context.sendPacketSync(packet);
			packet.unref();
			if (sent < 0 || context.receiveFrameSync(frame) < 0) return null;
			const planes = planesOf(frame);
			return planes === null ? null : { frameNumber: Number(frame.pts), planes };
		},
		close() {
			frame.free();
			packet.free();
			context.freeContext();
		},
	};
}

function openContext(library: CodecLibrary): CodecContext {
	const context = new library.CodecContext();
	context.allocContext3(library.Codec.findDecoder(CODEC_ID_H264));
	context.threadType = THREADS_BY_SLICE;
	context.threadCount = THREAD_COUNT;
	context.setFlags(FLAG_LOW_DELAY);
	const opened = context.open2Sync(null, null);
	if (opened < 0)
		throw new OutsideFailure(
			'decoderFailed',
			`The H.264 decoder did not open (FFmpeg error ${opened}).`,
			'Install the optional packages again.',
		);
	return context;
}

function planesOf(frame: CodecFrame): Planes | null {
	const [y, u, v] = frame.data ?? [];
	const [yStride, uvStride] = frame.linesize;
	if (frame.format !== PIXEL_FORMAT_I420 || !y || !u || !v || !yStride || !uvStride) return null;
	return { widthPx: frame.width, heightPx: frame.height, y, u, v, yStride, uvStride };
}

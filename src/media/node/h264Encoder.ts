/**
 * H.264 encoding of I420 pictures, live: each picture goes in and its one packet comes out of the same call.
 *
 * x264 with zero latency: no look-ahead, no B-frames, sliced threads, no intra refresh, no scene cut, so that a key
 * picture stands exactly where the interval or the caller asks. Annex B, with SPS and PPS before each key picture. BT.709
 * limited range is declared in the stream. A rate buffer of four pictures keeps a key picture from clogging the link.
 *
 * Measured live (2 shared cores, no GPU, 1280x720 at 30/s, 8 Mbit/s, ultrafast, a key picture in 30), from planes to
 * packet: median 2.3 ms and P95 4.2 ms a picture on the easy card, 3.3 and 5.5 on the hard one; with every picture a key
 * picture 2.7 and 4.4, 2.8 and 3.2. `bench/link.ts` prints the figure of the day.
 */
import { OutsideFailure } from '../../failure.ts';
import type { Planes } from '../../imaging/planes.ts';
import {
	BT709,
	type CodecContext,
	type CodecLibrary,
	LIMITED_RANGE,
	type LoadCodecLibrary,
	loadCodecLibrary,
	OPTION_TYPE_STRING,
	PIXEL_FORMAT_I420,
	SEARCH_CHILDREN,
} from './codecLibrary.ts';
import { packedByteCount, packPlanes } from './packedPlanes.ts';

/** The rate buffer in pictures: larger lets key pictures be finer, and later. */
const RATE_BUFFER_PICTURES = 4;
const PICTURE_TYPE_NONE = 0;
const PICTURE_TYPE_I = 1;
const NAL_SPS = 7;

export type H264EncoderOptions = {
	readonly widthPx: number;
	readonly heightPx: number;
	readonly rateHz: number;
	readonly bitrateKbps: number;
	/** 1: every picture is a key picture. */
	readonly keyEveryFrames: number;
	readonly preset?: 'ultrafast' | 'superfast';
	readonly load?: LoadCodecLibrary;
};

type EncodedH264 = { readonly key: boolean; readonly bytes: Uint8Array };

export type H264Encoder = {
	/** One picture in, its packet out. `asKey` makes it a key picture whatever the interval says. */
	encode(planes: Planes, asKey?: boolean): EncodedH264;
	close(): void;
};

/** Throws `OutsideFailure`: `encoderMissing` without the package, `encoderFailed` when it refuses these settings. */
export async function openH264Encoder(options: H264EncoderOptions): Promise<H264Encoder> {
	const library = await loadCodecLibrary('encoder', options.load);
	const context = openContext(library, options);
	const { widthPx, heightPx } = options;
	const packed = Buffer.alloc(packedByteCount(widthPx, heightPx));
	const timeBase = new library.Rational(1, 90_000);
	const ticksPerPicture = 90_000 / options.rateHz;
	let count = 0;
	return {
		encode(planes, asKey = false) {
			packPlanes(planes, packed);
			const frame = library.Frame.fromVideoBuffer(packed, {
				width: widthPx,
				height: heightPx,
				format: PIXEL_FORMAT_I420,
				pts: BigInt(Math.round(count++ * ticksPerPicture)),
				timeBase,
			});
			frame.pictType = asKey ? PICTURE_TYPE_I : PICTURE_TYPE_NONE;
			const sent = context.sendFrameSync(frame);
			frame.free();
			if (sent < 0) throw encoderFailed(`it took no picture (FFmpeg error ${sent})`);
			return receivePacket(library, context);
		},
		close: () => context.freeContext(),
	};
}

function openContext(library: CodecLibrary, options: H264EncoderOptions): CodecContext {
	const { widthPx, heightPx, rateHz, bitrateKbps, keyEveryFrames, preset = 'ultrafast' } = options;
	if (!(Number.isInteger(keyEveryFrames) && keyEveryFrames >= 1))
		throw new RangeError(`key interval must be a whole number of pictures from 1, got ${keyEveryFrames}`);
	const context = new library.CodecContext();
	context.allocContext3(library.Codec.findEncoderByName('libx264'));
	context.width = widthPx;
	context.height = heightPx;
	context.pixelFormat = PIXEL_FORMAT_I420;
	context.timeBase = new library.Rational(1, 90_000);
	// Without a frame rate the level in the stream comes out absurd.
	context.framerate = new library.Rational(Math.round(rateHz * 1000), 1000);
	context.maxBFrames = 0;
	context.gopSize = keyEveryFrames;
	context.bitRate = BigInt(Math.round(bitrateKbps * 1000));
	context.rcMaxRate = context.bitRate;
	context.rcBufferSize = Math.round((bitrateKbps * 1000 * RATE_BUFFER_PICTURES) / rateHz);
	context.colorRange = LIMITED_RANGE;
	context.colorPrimaries = BT709;
	context.colorTrc = BT709;
	context.colorSpace = BT709;
	// Options one by one: handing them over as the library's dictionary crashes the process at its end (version 6.1.1).
	for (const [name, value] of [
		['preset', preset],
		['tune', 'zerolatency'],
		['forced-idr', '1'],
		['x264-params', `scenecut=0:intra-refresh=0:repeat-headers=1:annexb=1:keyint-min=${keyEveryFrames}`],
	] as const)
		if (context.setOption(name, value, OPTION_TYPE_STRING, SEARCH_CHILDREN) < 0)
			throw encoderFailed(`it does not know the option ${name}`);
	const opened = context.open2Sync(null, null);
	if (opened < 0) throw encoderFailed(`it did not open at ${widthPx}x${heightPx} (FFmpeg error ${opened})`);
	return context;
}

function receivePacket(library: CodecLibrary, context: CodecContext): EncodedH264 {
	const packet = new library.Packet();
	packet.alloc();
	const received = context.receivePacketSync(packet);
	if (received < 0 || packet.data === null) {
		packet.free();
		throw encoderFailed(`a picture gave no packet (FFmpeg error ${received})`);
	}
	const encoded = { key: packet.isKeyframe, bytes: Uint8Array.from(packet.data) };
	packet.free();
	return encoded;
}

/** The codec name a browser's decoder asks for (`avc1.PPCCLL`), from the SPS of a key picture; null where there is none. */
export function h264CodecString(annexB: Uint8Array): string | null {
	for (let i = 0; i + 6 < annexB.length; i++) {
		const startsUnit = annexB[i] === 0 && annexB[i + 1] === 0 && annexB[i + 2] === 1;
		if (!startsUnit || (annexB[i + 3]! & 31) !== NAL_SPS) continue;
		return `avc1.${Buffer.from(annexB.subarray(i + 4, i + 7))
			.toString('hex')
			.toUpperCase()}`;
	}
	return null;
}

function encoderFailed(happened: string): OutsideFailure {
	return new OutsideFailure(
		'encoderFailed',
		`The H.264 encoder failed: ${happened}.`,
		'Try another card size, rate or bitrate; if none works, install the optional packages again.',
	);
}

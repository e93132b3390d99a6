/**
 * JPEG encoding of I420 pictures, live: for pages that are given no video decoder (plain http). Each picture is whole, so that
 * a lost one harms no other; for the same look more is sent than with H.264.
 *
 * JPEG files are BT.601 in full range by their own standard (JFIF), and browsers read them so: the planes are converted
 * first, by one matrix, unclipped between, with the chroma of each square of four pixels.
 */
import { OutsideFailure } from '../../failure.ts';
import type { Planes } from '../../imaging/planes.ts';
import {
	type CodecContext,
	type CodecLibrary,
	type LoadCodecLibrary,
	loadCodecLibrary,
	PIXEL_FORMAT_JPEG_I420,
} from './codecLibrary.ts';
import { packedByteCount } from './packedPlanes.ts';

export type JpegEncoderOptions = {
	/** Both even. */
	readonly widthPx: number;
	readonly heightPx: number;
	readonly rateHz: number;
	/** Aimed at over several pictures, by coarser or finer steps. */
	readonly bitrateKbps: number;
	readonly load?: LoadCodecLibrary;
};

export type JpegEncoder = {
	encode(planes: Planes): { readonly key: true; readonly bytes: Uint8Array };
	close(): void;
};

/** Throws `OutsideFailure`: `encoderMissing` without the package, `encoderFailed` when it refuses these settings. */
export async function openJpegEncoder(options: JpegEncoderOptions): Promise<JpegEncoder> {
	const library = await loadCodecLibrary('encoder', options.load);
	const context = openContext(library, options);
	const { widthPx: width, heightPx: height } = options;
	const packed = Buffer.alloc(packedByteCount(width, height));
	const timeBase = new library.Rational(1, 90_000);
	const ticksPerPicture = 90_000 / options.rateHz;
	let count = 0;
	return {
		encode(planes) {
			packForJpeg(planes, packed);
			const pts = BigInt(Math.round(count++ * ticksPerPicture));
			const props = { width, height, format: PIXEL_FORMAT_JPEG_I420, pts, timeBase };
			const frame = library.Frame.fromVideoBuffer(packed, props);
			const sent = context.sendFrameSync(frame);
			frame.free();
			if (sent < 0) throw encoderFailed(`it took no picture (FFmpeg error ${sent})`);
			return { key: true, bytes: receiveBytes(library, context) };
		},
		close: () => context.freeContext(),
	};
}

function openContext(library: CodecLibrary, options: JpegEncoderOptions): CodecContext {
	const { widthPx, heightPx, rateHz, bitrateKbps } = options;
	const context = new library.CodecContext();
	context.allocContext3(library.Codec.findEncoderByName('mjpeg'));
	context.width = widthPx;
	context.height = heightPx;
	context.pixelFormat = PIXEL_FORMAT_JPEG_I420;
	context.timeBase = new library.Rational(1, 90_000);
	context.framerate = new library.Rational(Math.round(rateHz * 1000), 1000);
	context.bitRate = BigInt(Math.round(bitrateKbps * 1000));
	// One thread: more of them hold pictures back.
	context.threadCount = 1;
	const opened = context.open2Sync(null, null);
	if (opened < 0) throw encoderFailed(`it did not open at ${widthPx}x${heightPx} (FFmpeg error ${opened})`);
	return context;
}

function receiveBytes(library: CodecLibrary, context: CodecContext): Uint8Array {
	const packet = new library.Packet();
	packet.alloc();
	const received = context.receivePacketSync(packet);
	const bytes = received < 0 || packet.data === null ? null : Uint8Array.from(packet.data);
	packet.free();
	if (bytes === null) throw encoderFailed(`a picture gave no packet (FFmpeg error ${received})`);
	return bytes;
}

/** BT.709 limited to BT.601 full: rows of [from y, from cb, from cr], codes less their black and middle. */
const MATRIX = toJfif();

function toJfif(): { y: readonly number[]; cb: readonly number[]; cr: readonly number[] } {
	const [red709, blue709] = [0.2126, 0.0722];
	const green709 = 1 - red709 - blue709;
	const [luma, chroma] = [255 / 219, 255 / 224];
	const red = [luma, 0, 2 * (1 - red709) * chroma];
	const blue = [luma, 2 * (1 - blue709) * chroma, 0];
	const green = red.map((_, i) => {
		const onlyLuma = i === 0 ? luma : 0;
		return (onlyLuma - red709 * (red[i] ?? 0) - blue709 * (blue[i] ?? 0)) / green709;
	});
	const y = green.map((g, i) => 0.299 * (red[i] ?? 0) + 0.587 * g + 0.114 * (blue[i] ?? 0));
	return {
		y,
		cb: y.map((part, i) => ((blue[i] ?? 0) - part) / (2 * (1 - 0.114))),
		cr: y.map((part, i) => ((red[i] ?? 0) - part) / (2 * (1 - 0.299))),
	};
}

/** I420 without padding, in JPEG's own colours. */
function packForJpeg({ widthPx, heightPx, y, u, v, yStride, uvStride }: Planes, into: Uint8Array): void {
	const [yFromY = 0, yFromCb = 0, yFromCr = 0] = MATRIX.y;
	// Grey stays grey: chroma takes nothing from luma.
	const [, cbFromCb = 0, cbFromCr = 0] = MATRIX.cb;
	const [, crFromCb = 0, crFromCr = 0] = MATRIX.cr;
	const halfWidth = widthPx >> 1;
	const cbAt = widthPx * heightPx;
	const crAt = cbAt + halfWidth * (heightPx >> 1);
	for (let row = 0; row < heightPx; row += 2)
		for (let column = 0; column < widthPx; column += 2) {
			const chromaAt = (row >> 1) * uvStride + (column >> 1);
			const cb = u[chromaAt]! - 128;
			const cr = v[chromaAt]! - 128;
			const out = (row >> 1) * halfWidth + (column >> 1);
			into[cbAt + out] = code(128 + cbFromCb * cb + cbFromCr * cr);
			into[crAt + out] = code(128 + crFromCb * cb + crFromCr * cr);
			const shift = yFromCb * cb + yFromCr * cr - 16 * yFromY;
			for (let i = 0; i < 4; i++) {
				const x = column + (i & 1);
				const yRow = row + (i >> 1);
				into[yRow * widthPx + x] = code(yFromY * y[yRow * yStride + x]! + shift);
			}
		}
}

function code(value: number): number {
	return value <= 0 ? 0 : value >= 255 ? 255 : (value + 0.5) | 0;
}

function encoderFailed(happened: string): OutsideFailure {
	return new OutsideFailure(
		'encoderFailed',
		`The JPEG encoder failed: ${happened}.`,
		'Try another card size, rate or bitrate; if none works, install the optional packages again.',
	);
}

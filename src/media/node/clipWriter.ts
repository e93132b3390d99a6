/**
 * Clips made from drawn pictures: what `card --seconds` writes, and what tests read back. Times are whole ticks as given, so that
 * uneven ones stay so.
 */
import { OutsideFailure } from '../../failure.ts';
import type { Planes } from '../../imaging/planes.ts';
import {
	BT709,
	type CodecContext,
	type CodecLibrary,
	type CodecPacket,
	type FormatContext,
	LIMITED_RANGE,
	type LoadCodecLibrary,
	loadCodecLibrary,
	type MediaStream,
	OPTION_TYPE_STRING,
	PIXEL_FORMAT_I420,
	SEARCH_CHILDREN,
} from './codecLibrary.ts';
import { packedByteCount, packPlanes } from './packedPlanes.ts';

export const CLIP_CODECS = ['h264', 'hevc', 'vp9', 'av1', 'mjpeg'] as const;
export type ClipCodec = (typeof CLIP_CODECS)[number];

export type ClipPlan = {
	readonly widthPx: number;
	readonly heightPx: number;
	readonly rateHz: number;
	readonly codec?: ClipCodec;
	readonly bitDepth?: 8 | 10;
	/** `hlg`: BT.2020 primaries and hybrid log-gamma (ITU-R BT.2100), as phones film HDR; the pictures given are in it already. */
	readonly transfer?: 'usual' | 'hlg';
	/** B-pictures in a row, as many as asked and not as the encoder finds useful; 0: none. */
	readonly bFrames?: number;
	/** Asked of the encoder; left out: fine enough to be read to the pixel (about quantiser 12). */
	readonly bitrateKbps?: number;
	/** Nine numbers that tell a player how to turn the picture. */
	readonly displayMatrix?: Int32Array;
	readonly load?: LoadCodecLibrary;
};

export type ClipWriter = {
	/** One picture at a whole tick of 1/90,000 s; ticks must rise. */
	write(planes: Planes, ticks: number): void;
	/** Writes what the encoder still holds, and the file's table. */
	close(): void;
};

/** Ticks a second of a clip made here. */
export const WRITTEN_TICKS_HZ = 90_000;
const PIXEL_FORMAT_I420_10 = 62;
const PIXEL_FORMAT_JPEG = 12;
const FULL_RANGE = 2;
/** In the lists of ITU-T H.273: BT.2020 (primaries and non-constant matrix have one number), and BT.2100's hybrid log-gamma. */
const BT2020 = 9;
const HLG = 18;
const DISPLAY_MATRIX = 5;
const GLOBAL_HEADER = 0x40_0000;
/** Apple's players want this mark on HEVC. */
const TAG_HVC1 = 0x31_63_76_68;

const encoders: Readonly<Record<ClipCodec, string>> = {
	h264: 'libx264',
	hevc: 'libx265',
	vp9: 'libvpx-vp9',
	av1: 'libsvtav1',
	mjpeg: 'mjpeg',
};
/** Quick settings of each encoder, at a fixed fine quality where no bitrate is asked. */
const options: Readonly<Record<ClipCodec, readonly (readonly [string, string])[]>> = {
	h264: [
		['preset', 'veryfast'],
		['x264-params', 'b-adapt=0:scenecut=0'],
	],
	hevc: [
		['preset', 'ultrafast'],
		['x265-params', 'log-level=none:b-adapt=0:scenecut=0'],
	],
	vp9: [
		['deadline', 'realtime'],
		['cpu-used', '8'],
	],
	av1: [['preset', '12']],
	mjpeg: [],
};
const fineQuality: Readonly<Record<ClipCodec, readonly (readonly [string, string])[]>> = {
	h264: [['crf', '12']],
	hevc: [['crf', '12']],
	vp9: [['crf', '10']],
	av1: [['crf', '20']],
	mjpeg: [],
};
const MJPEG_KBPS = 40_000;

/** Throws `OutsideFailure`: `encoderMissing` without the package or this codec in it, `cannotWrite`, `encoderFailed`. */
export async function openClipWriter(path: string, plan: ClipPlan): Promise<ClipWriter> {
	const library = await loadCodecLibrary('encoder', plan.load);
	const { codec = 'h264' } = plan;
	const format = new library.FormatContext();
	if (!allocated(format, path))
		throw new OutsideFailure(
			'cannotWrite',
			`The ending of ${path} is of no video file.`,
			'Use .mp4 or .mkv as the ending.',
		);
	const encoder = openEncoder(library, { ...plan, codec });
	const stream = format.newStream(null);
	stream.codecpar.fromContext(encoder);
	if (codec === 'hevc') stream.codecpar.codecTag = TAG_HVC1;
	stream.timeBase = encoder.timeBase;
	if (plan.displayMatrix !== undefined) {
		const { buffer, byteOffset, byteLength } = plan.displayMatrix;
		stream.codecpar.addCodedSideData(DISPLAY_MATRIX, Buffer.from(buffer, byteOffset, byteLength));
	}
	if (format.openOutputSync() < 0 || format.writeHeaderSync(null) < 0)
		throw new OutsideFailure(
			'cannotWrite',
			`${path} could not be written.`,
			'Check the folder and the disk, or choose another place with --out.',
		);
	const pictureTicks = BigInt(Math.round(WRITTEN_TICKS_HZ / plan.rateHz));
	return writerOf({ library, format, encoder, stream, pictureTicks }, plan);
}

/** The library throws for an ending that it does not know. */
function allocated(format: FormatContext, path: string): boolean {
	try {
		return format.allocOutputContext2(null, null, path) >= 0;
	} catch {
		return false;
	}
}

type Parts = {
	readonly library: CodecLibrary;
	readonly format: FormatContext;
	readonly encoder: CodecContext;
	readonly stream: MediaStream;
	/** Ticks that a picture lasts at the nominal rate. */
	readonly pictureTicks: bigint;
};

function writerOf(parts: Parts, plan: ClipPlan): ClipWriter {
	const { library, format, encoder } = parts;
	const { widthPx, heightPx, bitDepth = 8 } = plan;
	const packed = Buffer.alloc(packedByteCount(widthPx, heightPx));
	const deep = bitDepth === 10 ? Buffer.alloc(2 * packed.length) : null;
	const packet = new library.Packet();
	packet.alloc();
	return {
		write(planes, ticks) {
			if (!Number.isSafeInteger(ticks)) throw new RangeError(`a time must be whole ticks, got ${ticks}`);
			packPlanes(planes, packed);
			if (deep !== null) for (const [i, code] of packed.entries()) deep.writeUInt16LE(code << 2, 2 * i);
			const frame = library.Frame.fromVideoBuffer(deep ?? packed, {
				width: widthPx,
				height: heightPx,
				format: encoder.pixelFormat,
				pts: BigInt(ticks),
				timeBase: encoder.timeBase,
			});
			const sent = encoder.sendFrameSync(frame);
			frame.free();
			if (sent < 0) throw encoderFailed(`it took no picture (FFmpeg error ${sent})`);
			drain(parts, packet);
		},
		close() {
			encoder.sendFrameSync(null);
			drain(parts, packet);
			packet.free();
			format.writeTrailerSync();
			format.closeOutputSync();
			format.freeContext();
			encoder.freeContext();
		},
	};
}

function drain({ format, encoder, stream, pictureTicks }: Parts, packet: CodecPacket): void {
	while (encoder.receivePacketSync(packet) >= 0) {
		packet.streamIndex = stream.index;
		// Only the last one's counts: a picture that lasts no time is left out by readers.
		packet.duration = pictureTicks;
		packet.rescaleTs(encoder.timeBase, stream.timeBase);
		const written = format.interleavedWriteFrameSync(packet);
		packet.unref();
		if (written < 0) throw encoderFailed(`the file took no picture (FFmpeg error ${written})`);
	}
}

function openEncoder(library: CodecLibrary, plan: ClipPlan & { readonly codec: ClipCodec }): CodecContext {
	const { widthPx, heightPx, rateHz, codec, bitDepth = 8, bFrames = 0, bitrateKbps } = plan;
	const isHlg = plan.transfer === 'hlg';
	const found = library.Codec.findEncoderByName(encoders[codec]);
	if (found === null)
		throw new OutsideFailure(
			'encoderMissing',
			`The encoder for ${codec} is not in this codec package.`,
			'Choose another codec.',
		);
	const context = new library.CodecContext();
	context.allocContext3(found);
	context.width = widthPx;
	context.height = heightPx;
	context.pixelFormat =
		codec === 'mjpeg' ? PIXEL_FORMAT_JPEG : bitDepth === 10 ? PIXEL_FORMAT_I420_10 : PIXEL_FORMAT_I420;
	context.timeBase = new library.Rational(1, WRITTEN_TICKS_HZ);
	context.framerate = new library.Rational(Math.round(rateHz * 1000), 1000);
	context.maxBFrames = bFrames;
	context.gopSize = Math.max(1, Math.round(rateHz));
	context.setFlags(GLOBAL_HEADER);
	context.colorRange = codec === 'mjpeg' ? FULL_RANGE : LIMITED_RANGE;
	context.colorPrimaries = isHlg ? BT2020 : BT709;
	context.colorTrc = isHlg ? HLG : BT709;
	context.colorSpace = isHlg ? BT2020 : BT709;
	const kbps = bitrateKbps ?? (codec === 'mjpeg' ? MJPEG_KBPS : 0);
	context.bitRate = BigInt(Math.round(kbps * 1000));
	for (const [name, value] of [...options[codec], ...(bitrateKbps === undefined ? fineQuality[codec] : [])])
		if (context.setOption(name, value, OPTION_TYPE_STRING, SEARCH_CHILDREN) < 0)
			throw encoderFailed(`it does not know the option ${name}`);
	const opened = context.open2Sync(null, null);
	if (opened < 0) throw encoderFailed(`it did not open at ${widthPx}x${heightPx} (FFmpeg error ${opened})`);
	return context;
}

function encoderFailed(happened: string): OutsideFailure {
	return new OutsideFailure(
		'encoderFailed',
		`The encoder failed: ${happened}.`,
		'Try another size, codec or bitrate; if none works, install the optional packages again.',
	);
}

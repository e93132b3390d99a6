/**
 * Clips read by the codec library: demuxed and decoded in this process, one picture in memory at a time.
 *
 * A picture's time is the one that the decoder gives back with it (FFmpeg's `best_effort_timestamp`, exact file ticks), so that
 * B-frames and uneven times come out right. Decoding blocks for a picture; between pictures other work gets its turn.
 */
import { setImmediate as othersTurn } from 'node:timers/promises';
import type { ClipFrame, ClipInfo, ClipSource } from '../../imaging/clipFrame.ts';
import { clipIsStill, clipNoPicture, clipNotVideo, codecNotHere, nothingDecoded } from './clipFailures.ts';
import { encodingOf, matrixNumbers, transferOf, turningOf } from './clipInfo.ts';
import { createNoteKeeper } from './clipNotes.ts';
import {
	type CodecContext,
	type CodecFrame,
	type CodecLibrary,
	type CodecPacket,
	type FormatContext,
	type LoadCodecLibrary,
	loadCodecLibrary,
	type MediaStream,
} from './codecLibrary.ts';
import { createPlaneMaker, type PixelLayout, pixelLayout } from './pixelFormats.ts';

const VIDEO = 0;
const DISPLAY_MATRIX = 5;
const ATTACHED_PICTURE = 0x400;
const END_OF_FILE = -541_478_725;
const TRY_AGAIN = -11;
const NO_TIME = -(2n ** 63n);
const FRAME_CORRUPT = 1;
const MICROSECONDS = 1000;
/** Pictures between which the event loop gets its turn: progress and Ctrl-C need it. */
const TURN_EVERY = 8;
/** Demuxers that take a text or a single picture for a video. */
const NO_VIDEO_FILES = new Set(['tty', 'bin', 'xbin', 'adf', 'idf']);
const STILL_FILES = /^image2|_pipe$|^gif$/;

/** Throws `OutsideFailure` by the names of `clipFailures.ts`, or `decoderMissing` without the package. */
export async function openLibraryClip(path: string, load?: LoadCodecLibrary): Promise<ClipSource> {
	const library = await loadCodecLibrary('decoder', load);
	const format = new library.FormatContext();
	const opened = format.openInputSync(path, null, null);
	if (opened < 0) throw clipNotVideo(path);
	try {
		const stream = pictureStream(path, format);
		const codec = library.avGetCodecName(stream.codecpar.codecId) ?? 'an unknown codec';
		const context = openDecoder(library, stream);
		if (context === null) throw codecNotHere(path, codec, READ_BY);
		return sourceOf({ path, library, format, stream, context, codec });
	} catch (failure) {
		format.closeInputSync();
		throw failure;
	}
}

const READ_BY = 'the codec package';

function pictureStream(path: string, format: FormatContext): MediaStream {
	const container = format.iformat?.name ?? '';
	if (NO_VIDEO_FILES.has(container)) throw clipNotVideo(path);
	if (STILL_FILES.test(container)) throw clipIsStill(path);
	if (format.findStreamInfoSync(null) < 0) throw clipNotVideo(path);
	const index = format.findBestStream(VIDEO);
	const stream = format.streams[index];
	if (index < 0 || stream === undefined || stream.hasDisposition(ATTACHED_PICTURE)) throw clipNoPicture(path);
	return stream;
}

function openDecoder(library: CodecLibrary, stream: MediaStream): CodecContext | null {
	const codec = library.Codec.findDecoder(stream.codecpar.codecId);
	if (codec === null) return null;
	const context = new library.CodecContext();
	context.allocContext3(codec);
	context.parametersToContext(stream.codecpar);
	context.pktTimebase = stream.timeBase;
	// As many threads as there are processors: what a file needs, unlike a live picture, is throughput.
	context.threadCount = 0;
	if (context.open2Sync(null, null) >= 0) return context;
	context.freeContext();
	return null;
}

type Opened = {
	readonly path: string;
	readonly library: CodecLibrary;
	readonly format: FormatContext;
	readonly stream: MediaStream;
	readonly context: CodecContext;
	readonly codec: string;
};

function sourceOf(opened: Opened): ClipSource {
	const { path, library, format, stream, context, codec } = opened;
	// The library found the pixels' kind by decoding; where it could not, nothing will.
	if (stream.codecpar.format < 0) throw nothingDecoded(path);
	const layout = pixelLayout(stream.codecpar.format);
	if (layout === null) throw codecNotHere(path, `${codec} with pixels of an unusual kind`, READ_BY);
	const info = infoOf(opened, layout);
	const notes = createNoteKeeper(info);
	const packet = new library.Packet();
	const frame = new library.Frame();
	packet.alloc();
	frame.alloc();
	return {
		info,
		readBy: READ_BY,
		notes: notes.list,
		frames: () => walk({ ...opened, packet, frame, layout }, notes),
		close() {
			frame.free();
			packet.free();
			context.freeContext();
			format.closeInputSync();
		},
	};
}

function infoOf({ format, stream, codec }: Opened, layout: PixelLayout): ClipInfo {
	const { codecpar, timeBase, nbFrames, duration } = stream;
	const { width, height } = codecpar;
	const matrix = matrixNumbers(codecpar.getCodedSideData(DISPLAY_MATRIX));
	const perMs = timeBase.den / timeBase.num / 1000;
	const declaredMs = duration > 0n ? Number(duration) / perMs : Number(format.duration) / MICROSECONDS;
	return {
		codec,
		widthPx: width,
		heightPx: height,
		bitDepth: layout.bitDepth,
		encoding: encodingOf({
			space: codecpar.colorSpace,
			range: codecpar.colorRange,
			fullByFormat: layout.full,
			heightPx: height,
		}),
		transfer: transferOf(codecpar.colorTrc),
		timeBase: { num: timeBase.num, den: timeBase.den },
		...turningOf(matrix),
		declaredCount: nbFrames > 0n ? Number(nbFrames) : null,
		declaredMs: declaredMs > 0 ? declaredMs : null,
		container: format.iformat?.name ?? 'unknown',
	};
}

type Walk = Opened & {
	readonly packet: CodecPacket;
	readonly frame: CodecFrame;
	readonly layout: PixelLayout;
};

async function* walk(parts: Walk, notes: ReturnType<typeof createNoteKeeper>): AsyncGenerator<ClipFrame> {
	const { context, frame, path } = parts;
	const maker = createPlaneMaker();
	let handedOver = 0;
	for (;;) {
		const got = context.receiveFrameSync(frame);
		if (got === TRY_AGAIN) {
			feed(parts, notes);
			continue;
		}
		if (got === END_OF_FILE) break;
		if (got < 0) {
			notes.broken();
			continue;
		}
		const picture = pictureOf(parts, maker);
		if (picture !== null && notes.take(frame.bestEffortTimestamp === NO_TIME ? null : picture.ticks)) {
			yield picture;
			if (++handedOver % TURN_EVERY === 0) await othersTurn();
		}
		frame.unref();
	}
	notes.end();
	if (handedOver === 0) throw nothingDecoded(path);
}

/** The next packet of the pictures into the decoder; at the end of the file, the order to give back what it still holds. */
function feed({ format, stream, context, packet }: Walk, notes: ReturnType<typeof createNoteKeeper>): void {
	for (;;) {
		const read = format.readFrameSync(packet);
		if (read < 0) {
			if (read !== END_OF_FILE) notes.broken();
			context.sendPacketSync(null);
			return;
		}
		const ours = packet.streamIndex === stream.index;
		if (ours) {
			notes.packet();
			if (context.sendPacketSync(packet) < 0) notes.broken();
		}
		packet.unref();
		if (ours) return;
	}
}

function pictureOf({ frame, layout }: Walk, maker: ReturnType<typeof createPlaneMaker>): ClipFrame | null {
	const now = pixelLayout(frame.format) ?? layout;
	const { data } = frame;
	if (data === null) return null;
	const picture = {
		widthPx: frame.width,
		heightPx: frame.height,
		layout: now,
		data,
		strides: frame.linesize,
	};
	return {
		ticks: Number(frame.bestEffortTimestamp),
		luma: maker.luma(picture),
		planes: () => maker.planes(picture),
		damaged: frame.decodeErrorFlags !== 0 || frame.hasFlags(FRAME_CORRUPT),
	};
}

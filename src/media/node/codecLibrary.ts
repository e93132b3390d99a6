/**
 * The door to the codec library (`node-av`, FFmpeg inside): an optional dependency, loaded only when a picture has to be
 * encoded or decoded. Only its plain synchronous calls are used: one call in, one picture out, nothing queued between.
 *
 * The types are our own and name only what is called, so that the project compiles where the package could not be put.
 */
import { OutsideFailure } from '../../failure.ts';

type Rational = { readonly num: number; readonly den: number };

export type CodecContext = {
	width: number;
	height: number;
	pixelFormat: number;
	timeBase: Rational;
	framerate: Rational;
	maxBFrames: number;
	gopSize: number;
	bitRate: bigint;
	rcMaxRate: bigint;
	rcBufferSize: number;
	colorRange: number;
	colorPrimaries: number;
	colorTrc: number;
	colorSpace: number;
	threadCount: number;
	threadType: number;
	pktTimebase: Rational;
	parametersToContext(parameters: CodecParameters): number;
	allocContext3(codec: unknown): void;
	setFlags(...flags: number[]): void;
	setOption(name: string, value: string, type: number, searchFlags: number): number;
	open2Sync(codec: null, options: null): number;
	sendFrameSync(frame: CodecFrame | null): number;
	receivePacketSync(packet: CodecPacket): number;
	sendPacketSync(packet: CodecPacket | null): number;
	receiveFrameSync(frame: CodecFrame): number;
	freeContext(): void;
};

export type CodecFrame = {
	pts: bigint;
	pictType: number;
	readonly width: number;
	readonly height: number;
	readonly format: number;
	readonly linesize: readonly number[];
	readonly data: readonly Uint8Array[] | null;
	readonly decodeErrorFlags: number;
	readonly bestEffortTimestamp: bigint;
	hasFlags(...flags: number[]): boolean;
	alloc(): void;
	unref(): void;
	free(): void;
};

export type CodecPacket = {
	pts: bigint;
	duration: bigint;
	data: Uint8Array | null;
	streamIndex: number;
	readonly isKeyframe: boolean;
	rescaleTs(from: Rational, to: Rational): void;
	alloc(): void;
	unref(): void;
	free(): void;
};

type CodecParameters = {
	readonly codecId: number;
	codecTag: number;
	readonly format: number;
	readonly width: number;
	readonly height: number;
	readonly colorRange: number;
	readonly colorTrc: number;
	readonly colorSpace: number;
	fromContext(context: CodecContext): number;
	getCodedSideData(kind: number): Uint8Array | null;
	addCodedSideData(kind: number, data: Uint8Array): number;
};

export type MediaStream = {
	readonly index: number;
	readonly codecpar: CodecParameters;
	timeBase: Rational;
	readonly nbFrames: bigint;
	readonly duration: bigint;
	hasDisposition(...flags: number[]): boolean;
};

export type FormatContext = {
	readonly duration: bigint;
	readonly iformat: { readonly name: string | null } | null;
	readonly streams: readonly MediaStream[];
	openInputSync(url: string, format: null, options: null): number;
	closeInputSync(): void;
	findStreamInfoSync(options: null): number;
	findBestStream(kind: number): number;
	readFrameSync(packet: CodecPacket): number;
	allocOutputContext2(format: null, name: string | null, file: string): number;
	newStream(codec: unknown): MediaStream;
	openOutputSync(): number;
	closeOutputSync(): void;
	writeHeaderSync(options: null): number;
	interleavedWriteFrameSync(packet: CodecPacket | null): number;
	writeTrailerSync(): number;
	freeContext(): void;
};

export type CodecLibrary = {
	readonly CodecContext: new () => CodecContext;
	readonly Rational: new (num: number, den: number) => Rational;
	readonly Packet: new () => CodecPacket;
	readonly FormatContext: new () => FormatContext;
	readonly avGetCodecName: (id: number) => string | null;
	readonly Frame: {
		new (): CodecFrame;
		fromVideoBuffer(
			buffer: Uint8Array,
			props: { width: number; height: number; format: number; pts: bigint; timeBase: Rational },
		): CodecFrame;
	};
	readonly Codec: {
		findEncoderByName(name: string): unknown;
		findDecoder(id: number): unknown;
	};
	readonly Log: { setLevel(level: number): void };
};

export type LoadCodecLibrary = () => Promise<CodecLibrary>;

/** Numbers of FFmpeg's own interface (8.x), as they stand in the library's constants. */
export const CODEC_ID_H264 = 27;
export const PIXEL_FORMAT_I420 = 0;
/** The same planes in full range, as JPEG has them. */
export const PIXEL_FORMAT_JPEG_I420 = 12;
export const OPTION_TYPE_STRING = 6;
export const SEARCH_CHILDREN = 1;
/** BT.709 is 1 in each of FFmpeg's lists of primaries, transfer and matrix; limited range is 1 in the list of ranges. */
export const BT709 = 1;
export const LIMITED_RANGE = 1;
/** Only fatal messages: the library would otherwise write its own chatter on stderr. */
const LOG_FATAL = 8;

const PACKAGE = 'node-av/lib';

const importCodecLibrary: LoadCodecLibrary = () => import(PACKAGE);

/** What is missing, and for which functions, when the package is not there or its binary does not fit this machine. */
const MISSING = {
	encoder: {
		code: 'encoderMissing',
		functions: 'streaming the test card (link, the real legs of rehearse) and making clips need it',
	},
	decoder: {
		code: 'decoderMissing',
		functions: 'the receiver without a tablet (link --tablet none) and reading recordings need it',
	},
} as const;

/** The loaded library; throws `OutsideFailure` (`encoderMissing`, `decoderMissing`) when it cannot be had. */
export async function loadCodecLibrary(
	role: keyof typeof MISSING,
	load: LoadCodecLibrary = importCodecLibrary,
): Promise<CodecLibrary> {
	try {
		const library = await load();
		library.Log.setLevel(LOG_FATAL);
		return library;
	} catch (cause) {
		const { code, functions } = MISSING[role];
		throw new OutsideFailure(
			code,
			`The ${role} is not there: ${functions}.`,
			'Run `npm install` with optional packages (without --omit=optional), on a system that the optional codec package supports.',
			{ cause },
		);
	}
}

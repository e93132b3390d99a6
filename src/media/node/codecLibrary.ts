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
	alloc(): void;
	unref(): void;
	free(): void;
};

type CodecPacket = {
	pts: bigint;
	data: Uint8Array | null;
	readonly isKeyframe: boolean;
	alloc(): void;
	unref(): void;
	free(): void;
};

export type CodecLibrary = {
	readonly CodecContext: new () => CodecContext;
	readonly Rational: new (num: number, den: number) => Rational;
	readonly Packet: new () => CodecPacket;
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
			`The H.264 ${role} is not there: ${functions}.`,
			'Run `npm install` with optional packages (without --omit=optional), on a system that the optional codec package supports.',
			{ cause },
		);
	}
}

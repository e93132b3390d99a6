/**
 * Runs inside a page: the same card as the rig's, handed to a WebRTC connection of one browser with itself, with nothing of ours in between
 * but the painter before and the code reader after. Same raster, same codec and bitrate, same reader of the same code; pictures are
 * painted in the pause before their instant, as the rig's are. `plainBrowser.ts` opens the page.
 */
import { copyLuma } from '../src/media/web/framePlanes.ts';
import { countReceived } from '../src/media/web/rtcCounts.ts';
import type { CardSpec } from '../src/pattern/card.ts';
import { cardGeometry } from '../src/pattern/geometry.ts';
import { createCardPainter } from '../src/pattern/painter.ts';
import { readFrameCode } from '../src/reading/frameCode.ts';
import { withBitrate } from '../src/transports/sdpText.ts';

export type PlainLoopOptions = {
	readonly spec: CardSpec;
	readonly rateHz: number;
	readonly durationMs: number;
	/** As WebRTC names it: VP8, VP9, AV1, H264. */
	readonly codec: string;
	readonly kbps: number;
	/** Held from the first picture on, or adapting below it, asked for as the rig asks. */
	readonly pinned: boolean;
	/** Left out at the beginning: the jitter buffer comes to rest. */
	readonly settleMs: number;
};

export type PlainLoopResult = {
	/** From the handing over of a raster to its decoding, and to its presentation. */
	readonly decodedMs: readonly number[];
	readonly presentedMs: readonly number[];
	/** Mean time in the jitter buffer, by the browser's own counts. */
	readonly bufferMs: number;
	readonly encoder: string;
};

type TrackWriter = MediaStreamTrack & { readonly writable: WritableStream<VideoFrame> };
type Generator = new (init: { readonly kind: 'video' }) => TrackWriter;
type Processor = new (init: {
	readonly track: MediaStreamTrack;
	readonly maxBufferSize: number;
}) => {
	readonly readable: ReadableStream<VideoFrame>;
};
const { MediaStreamTrackGenerator, MediaStreamTrackProcessor } = globalThis as unknown as {
	MediaStreamTrackGenerator: Generator;
	MediaStreamTrackProcessor: Processor;
};

async function plainLoop(options: PlainLoopOptions): Promise<PlainLoopResult> {
	const shownMs = new Map<number, number>();
	const source = new MediaStreamTrackGenerator({ kind: 'video' });
	const { from, to, track } = await connect(source, options);
	const begunMs = performance.now();
	const settledMs = begunMs + options.settleMs;
	const untilMs = settledMs + options.durationMs;
	const showing = showAll(source, shownMs, { ...options, untilMs });
	const decodedMs: number[] = [];
	const presentedMs: number[] = [];
	const note = (into: number[], number: number | null, atMs: number): void => {
		const since = number === null ? undefined : shownMs.get(number);
		if (since !== undefined && since > settledMs && since < untilMs) into.push(atMs - since);
	};
	const stopWatching = await watchScreen(track, options.spec, (number, atMs) =>
		note(presentedMs, number, atMs),
	);
	const before = new Promise<RtcSums>((resolve) =>
		setTimeout(() => resolve(sums(to)), settledMs - performance.now()),
	);
	const reader = new MediaStreamTrackProcessor({ track, maxBufferSize: 30 }).readable.getReader();
	while (performance.now() < untilMs) {
		const { value: frame } = await reader.read();
		if (frame === undefined) break;
		const atMs = performance.now();
		void numberOf(frame, options.spec).then((number) => note(decodedMs, number, atMs));
	}
	const [first, last] = [await before, await sums(to)];
	await showing;
	stopWatching();
	const encoder = await encoderOf(from);
	from.close();
	to.close();
	return { decodedMs, presentedMs, bufferMs: (last.ms - first.ms) / (last.count - first.count), encoder };
}

/** Each picture at its instant; painted before. */
async function showAll(
	source: TrackWriter,
	shownMs: Map<number, number>,
	{ spec, rateHz, untilMs }: PlainLoopOptions & { readonly untilMs: number },
): Promise<void> {
	const painter = createCardPainter(spec);
	const writer = source.writable.getWriter();
	const beginMs = performance.now() + 50;
	for (let number = 0; performance.now() < untilMs; number++) {
		const frame = frameOf(painter.paintPlanes(number), (1e6 * number) / rateHz);
		const dueMs = beginMs + (1000 * number) / rateHz;
		await new Promise((due) => setTimeout(due, Math.max(0, dueMs - performance.now())));
		shownMs.set(number, performance.now());
		await writer.write(frame);
	}
	await writer.close();
}

function frameOf(
	planes: ReturnType<ReturnType<typeof createCardPainter>['paintPlanes']>,
	timestamp: number,
): VideoFrame {
	const { widthPx, heightPx, y, u, v, yStride, uvStride } = planes;
	const bytes = new Uint8Array(y.length + u.length + v.length);
	bytes.set(y, 0);
	bytes.set(u, y.length);
	bytes.set(v, y.length + u.length);
	return new VideoFrame(bytes, {
		format: 'I420',
		codedWidth: widthPx,
		codedHeight: heightPx,
		timestamp: Math.round(timestamp),
		layout: [
			{ offset: 0, stride: yStride },
			{ offset: y.length, stride: uvStride },
			{ offset: y.length + u.length, stride: uvStride },
		],
		colorSpace: { matrix: 'bt709', primaries: 'bt709', transfer: 'bt709', fullRange: false },
	});
}

/** Closes the frame. Null: unreadable. */
async function numberOf(frame: VideoFrame, spec: CardSpec): Promise<number | null> {
	const geometry = cardGeometry(spec);
	const strip = geometry.code.rect;
	const isWhole = frame.codedWidth >= geometry.widthPx && frame.codedHeight >= geometry.heightPx;
	const luma = isWhole ? await copyLuma(frame, strip) : null;
	frame.close();
	const reading = luma === null ? null : readFrameCode(luma, geometry, strip);
	return reading?.kind === 'read' ? reading.frameNumber : null;
}

async function connect(
	source: MediaStreamTrack,
	{ codec, kbps, pinned }: PlainLoopOptions,
): Promise<{ from: RTCPeerConnection; to: RTCPeerConnection; track: MediaStreamTrack }> {
	const [from, to] = [new RTCPeerConnection(), new RTCPeerConnection()];
	from.onicecandidate = ({ candidate }) => candidate && void to.addIceCandidate(candidate);
	to.onicecandidate = ({ candidate }) => candidate && void from.addIceCandidate(candidate);
	const arrived = new Promise<MediaStreamTrack>((resolve) => {
		to.ontrack = ({ track, receiver }) => {
			// As the tablet page asks it.
			receiver.jitterBufferTarget = 0;
			resolve(track);
		};
	});
	const sendEncodings = [{ maxBitrate: kbps * 1000 }];
	from.addTransceiver(source, { direction: 'sendonly', sendEncodings });
	const { codecs } = RTCRtpSender.getCapabilities('video') ?? { codecs: [] };
	const mime = `video/${codec}`.toLowerCase();
	// The codec and its resending, as the rig offers them.
	from
		.getTransceivers()[0]
		?.setCodecPreferences(
			codecs.filter(({ mimeType }) => [mime, 'video/rtx'].includes(mimeType.toLowerCase())),
		);
	await from.setLocalDescription(await from.createOffer());
	await to.setRemoteDescription(from.localDescription as RTCSessionDescription);
	await to.setLocalDescription(await to.createAnswer());
	const sdp = withBitrate(to.localDescription?.sdp ?? '', codec, { kbps, pinned });
	await from.setRemoteDescription({ type: 'answer', sdp });
	return { from, to, track: await arrived };
}

/** The track on a video element; tells of each picture that it presents. Gives back how to stop. */
async function watchScreen(
	track: MediaStreamTrack,
	spec: CardSpec,
	onPresented: (number: number | null, atMs: number) => void,
): Promise<() => void> {
	const video = document.createElement('video');
	video.muted = true;
	video.srcObject = new MediaStream([track]);
	document.body.append(video);
	let stopped = false;
	const look = (atMs: number): void => {
		if (stopped) return;
		void numberOf(new VideoFrame(video), spec).then((number) => onPresented(number, atMs));
		video.requestVideoFrameCallback(look);
	};
	video.requestVideoFrameCallback(look);
	await video.play();
	return () => {
		stopped = true;
	};
}

type RtcSums = { readonly ms: number; readonly count: number };

async function sums(connection: RTCPeerConnection): Promise<RtcSums> {
	const counts = await countReceived(connection);
	return { ms: counts?.bufferMs ?? 0, count: counts?.buffered ?? 0 };
}

async function encoderOf(connection: RTCPeerConnection): Promise<string> {
	for (const report of (await connection.getStats()).values())
		if (report.type === 'outbound-rtp') return String(report.encoderImplementation ?? 'not said');
	return 'not said';
}

Object.assign(globalThis, { plainLoop });

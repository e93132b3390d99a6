/**
 * Runs inside a page: a canvas that shows numbered frames, sent over WebRTC to a video of the same page with nothing of
 * ours in between. Self-contained, since it is handed to the browser as text.
 */
export type PlainLoopOptions = {
	readonly rateHz: number;
	readonly durationMs: number;
	readonly widthPx: number;
	readonly heightPx: number;
	/** One codec and a cap; left out: as the browser does by itself. */
	readonly rtc?: { readonly codec: string; readonly kbps: number };
};

/** Delays in ms from the drawing of a frame to its decoding and to its presentation; the first two seconds are left out. */
export async function plainLoop({
	rateHz,
	durationMs,
	widthPx,
	heightPx,
	rtc,
}: PlainLoopOptions): Promise<{ decodedMs: number[]; presentedMs: number[] }> {
	const CELLS = 16;
	const CELL_PX = 32;
	const canvas = document.createElement('canvas');
	canvas.width = widthPx;
	canvas.height = heightPx;
	const context = canvas.getContext('2d', { alpha: false });
	if (context === null) throw new Error('no canvas');
	const drawnMs = new Map<number, number>();
	const draw = (n: number): void => {
		context.fillStyle = '#808080';
		context.fillRect(0, 0, widthPx, heightPx);
		context.fillStyle = '#c08070';
		context.fillRect((n * 7) % (widthPx - 200), 300, 200, 200);
		for (let bit = 0; bit < CELLS; bit++) {
			context.fillStyle = (n >> bit) & 1 ? '#fff' : '#000';
			context.fillRect(bit * CELL_PX, 0, CELL_PX, CELL_PX);
		}
		drawnMs.set(n, performance.now());
	};

	const stream = canvas.captureStream(rateHz);
	const [from, to] = [new RTCPeerConnection(), new RTCPeerConnection()];
	from.onicecandidate = ({ candidate }) => candidate && void to.addIceCandidate(candidate);
	to.onicecandidate = ({ candidate }) => candidate && void from.addIceCandidate(candidate);
	const arrived = new Promise<MediaStreamTrack>((resolve) => {
		to.ontrack = ({ track, receiver }) => {
			// As the tablet page asks it.
			if (rtc !== undefined) receiver.jitterBufferTarget = 0;
			resolve(track);
		};
	});
	for (const track of stream.getTracks()) from.addTrack(track, stream);
	if (rtc !== undefined) {
		const [transceiver] = from.getTransceivers();
		const { codecs } = RTCRtpSender.getCapabilities('video') ?? { codecs: [] };
		const mime = `video/${rtc.codec}`.toLowerCase();
		transceiver?.setCodecPreferences(codecs.filter(({ mimeType }) => mimeType.toLowerCase() === mime));
	}
	await from.setLocalDescription(await from.createOffer());
	await to.setRemoteDescription(from.localDescription as RTCSessionDescription);
	await to.setLocalDescription(await to.createAnswer());
	await from.setRemoteDescription(to.localDescription as RTCSessionDescription);
	if (rtc !== undefined) {
		const [sender] = from.getSenders();
		const parameters = sender?.getParameters();
		for (const encoding of parameters?.encodings ?? []) encoding.maxBitrate = rtc.kbps * 1000;
		if (parameters !== undefined) await sender?.setParameters(parameters);
	}

	let n = 0;
	const timer = setInterval(() => draw(++n & 0xffff), 1000 / rateHz);
	const track = await arrived;
	const video = document.createElement('video');
	video.muted = true;
	video.srcObject = new MediaStream([track]);
	document.body.append(video);
	await video.play();

	// WebRTC starts small and grows: the strip is read at whatever size the frame came.
	const numberIn = async (frame: VideoFrame): Promise<number> => {
		const cell = (CELL_PX * frame.codedWidth) / widthPx;
		const even = (value: number): number => 2 * Math.floor(value / 2);
		const rect = { x: 0, y: 0, width: even(CELLS * cell), height: even(cell) };
		const bytes = new Uint8Array(frame.allocationSize({ rect }));
		const [luma] = await frame.copyTo(bytes, { rect });
		const row = (luma?.offset ?? 0) + (luma?.stride ?? 0) * Math.floor(cell / 2);
		let number = 0;
		for (let bit = 0; bit < CELLS; bit++)
			if ((bytes[row + Math.floor((bit + 0.5) * cell)] ?? 0) > 128) number |= 1 << bit;
		return number;
	};
	const settledMs = performance.now() + 2000;
	const note = (into: number[], number: number, atMs: number): void => {
		const from = drawnMs.get(number);
		if (from !== undefined && atMs > settledMs && from > settledMs) into.push(atMs - from);
	};
	const decodedMs: number[] = [];
	const presentedMs: number[] = [];
	const onFrame = async (): Promise<void> => {
		const atMs = performance.now();
		const frame = new VideoFrame(video);
		note(presentedMs, await numberIn(frame), atMs);
		frame.close();
	};
	const again = (): void => {
		void onFrame();
		video.requestVideoFrameCallback(again);
	};
	video.requestVideoFrameCallback(again);
	type Processor = new (init: { track: MediaStreamTrack }) => { readable: ReadableStream<VideoFrame> };
	const { MediaStreamTrackProcessor } = window as unknown as { MediaStreamTrackProcessor: Processor };
	const reader = new MediaStreamTrackProcessor({ track }).readable.getReader();
	const untilMs = settledMs + durationMs;
	while (performance.now() < untilMs) {
		const { value: frame } = await reader.read();
		if (frame === undefined) break;
		const atMs = performance.now();
		note(decodedMs, await numberIn(frame), atMs);
		frame.close();
	}
	clearInterval(timer);
	from.close();
	to.close();
	return { decodedMs, presentedMs };
}

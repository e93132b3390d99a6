/**
 * A viewer without a screen, in a process of its own: receives and decodes every picture, reads its code, and reports over
 * the control socket exactly as a page does. Its end point is "decoded": the instant at which the picture's planes are in
 * memory. Reading and likeness samples come after that stamp; a sample can only delay the picture after it.
 *
 * Its clock is this machine's with an arbitrary amount added, so that the way over pings is truly used.
 */
import { WebSocket } from 'ws';
import { type H264Decoder, openH264Decoder } from '../../media/node/h264Decoder.ts';
import { unpackPlanes } from '../../media/node/packedPlanes.ts';
import {
	CONTROL_PATH,
	type FromViewer,
	PROTOCOL_VERSION,
	readToViewer,
	type ToViewer,
} from '../../protocol/control.ts';
import { unpackPicture } from '../../protocol/pictureSocket.ts';
import { onParentMessage } from '../../transports/childChannel.ts';
import { monotonicMs, roundMs } from '../../transports/monotonic.ts';
import { openProbeAnswer, type ProbeAnswer } from '../../transports/probeAnswer.ts';
import { openRtcScreen, type RtcScreen } from '../../transports/rtcScreen.ts';
import { repeatUnevenly } from '../../transports/unevenly.ts';
import type { RtcPicture } from '../../transports/webrtc.ts';
import { type CardEye, openCardEye } from './cardEye.ts';
import { type HeadlessOrder, toHeadlessSchema } from './headlessMessages.ts';

const REPORT_EVERY_MS = 250;
const COUNT_EVERY_MS = 250;
const RETRY_AFTER_MS = 300;
/** The step of the clock: hrtime counts nanoseconds, records keep microseconds. */
const CLOCK_STEP_MS = 0.001;

type Plan = Extract<ToViewer, { type: 'plan' }>;
type SeenRows = Extract<FromViewer, { type: 'seen' }>['rows'];

onParentMessage(toHeadlessSchema, async (order) => {
	const viewer = new HeadlessViewer(order, await openH264Decoder());
	viewer.connect();
});

class HeadlessViewer {
	readonly #order: HeadlessOrder;
	readonly #decoder: H264Decoder;
	#control: WebSocket | null = null;
	#pictures: WebSocket | null = null;
	#screen: RtcScreen | null = null;
	#probe: ProbeAnswer | null = null;
	#eye: CardEye | null = null;
	#rows: SeenRows = [];
	#finished = false;

	constructor(order: HeadlessOrder, decoder: H264Decoder) {
		this.#order = order;
		this.#decoder = decoder;
		repeatUnevenly(REPORT_EVERY_MS, () => this.#report());
		repeatUnevenly(COUNT_EVERY_MS, () => void this.#reportCounts());
	}

	connect(): void {
		const { host, controlPort } = this.#order;
		const socket = new WebSocket(`ws://${host}:${controlPort}${CONTROL_PATH}`, { perMessageDeflate: false });
		this.#control = socket;
		socket.on('message', (data) => this.#hear(String(data)));
		socket.on('error', () => socket.terminate());
		socket.on('close', () => {
			this.#pictures?.terminate();
			if (this.#finished) process.exit(0);
			setTimeout(() => this.connect(), RETRY_AFTER_MS);
		});
	}

	#hear(text: string): void {
		const heardMs = this.#nowMs();
		const reading = readToViewer(text);
		if (reading.kind === 'refused') return;
		const { message } = reading;
		if (message.type === 'ping') this.#say({ type: 'pong', id: message.id, t2: heardMs, t3: this.#nowMs() });
		else if (message.type === 'plan') void this.#follow(message).catch(() => this.#control?.terminate());
		else if (message.type === 'offer' && message.way === 'probe')
			this.#probe?.offered(message.link, message.sdp);
		else if (message.type === 'offer') this.#screen?.offered(message.link, message.sdp);
		else if (message.type === 'finish') this.#finish();
		else this.#finished = true;
	}

	async #follow(plan: Plan): Promise<void> {
		const isRtc = plan.transport === 'webrtc';
		if (isRtc) this.#screen ??= await this.#openScreen();
		if (plan.probePerSecond !== null) this.#probe ??= await this.#openProbe(plan.probePerSecond);
		this.#eye ??= openCardEye(plan, this.#order.seed);
		this.#say({
			type: 'hello',
			protocol: PROTOCOL_VERSION,
			displayPeriodMs: null,
			clockQuantumMs: CLOCK_STEP_MS,
			userAgent: `Node ${process.version}`,
			viewerPoint: 'decoded',
			decoder: isRtc ? `${plan.codec} by WebRTC in Node` : 'H.264 in Node',
		});
		if (isRtc) this.#say({ type: 'ready' });
		else this.#watch(plan, () => this.#say({ type: 'ready' }));
	}

	#watch(plan: Plan, onOpen: () => void): void {
		const { host } = this.#order;
		const socket = new WebSocket(`ws://${host}:${plan.picturePort}${plan.picturePath}`, {
			perMessageDeflate: false,
		});
		this.#pictures = socket;
		socket.on('open', onOpen);
		socket.on('message', (data) => {
			if (Buffer.isBuffer(data)) this.#see(data);
		});
		socket.on('error', () => socket.terminate());
		socket.on('close', () => {
			const wanted = this.#control?.readyState === WebSocket.OPEN && this.#pictures === socket;
			if (wanted && !this.#finished) setTimeout(() => this.#watch(plan, () => {}), RETRY_AFTER_MS);
		});
	}

	#see(message: Buffer): void {
		const receivedMs = this.#nowMs();
		const picture = unpackPicture(message);
		const eye = this.#eye;
		if (picture === null || eye === null) return;
		const decoded = this.#decoder.decode(picture.bytes, picture.frameNumber);
		const decodedMs = this.#nowMs();
		const number = decoded === null ? null : eye.readNumber(decoded.planes);
		this.#rows.push([picture.frameNumber, number, receivedMs, decodedMs, null]);
		if (decoded === null || number === null) return;
		for (const sample of eye.sample(decoded.planes, number, decodedMs)) this.#say(sample);
	}

	#openScreen(): Promise<RtcScreen> {
		return openRtcScreen({
			answer: (link, sdp) => this.#say({ type: 'answer', way: 'picture', link, sdp }),
			picture: (picture) => this.#seeBare(picture),
		});
	}

	#openProbe(perSecond: number): Promise<ProbeAnswer> {
		const { seed, clockAheadMs } = this.#order;
		return openProbeAnswer(
			{ perSecond, seed, aheadMs: clockAheadMs },
			{
				answer: (link, sdp) => this.#say({ type: 'answer', way: 'probe', link, sdp }),
				probed: ({ sent, got }) => this.#say({ type: 'probed', sent, got }),
			},
		);
	}

	/** A picture that only its own code tells: when its packets came, nobody says. */
	#seeBare({ width, height, data }: RtcPicture): void {
		const decodedMs = this.#nowMs();
		const eye = this.#eye;
		if (eye === null) return;
		const planes = unpackPlanes(data, width, height);
		const number = planes === null ? null : eye.readNumber(planes);
		this.#rows.push([null, number, decodedMs, decodedMs, null]);
		if (planes === null || number === null) return;
		for (const sample of eye.sample(planes, number, decodedMs)) this.#say(sample);
	}

	async #reportCounts(): Promise<void> {
		const atMs = this.#nowMs();
		const counts = (await this.#screen?.counts()) ?? null;
		if (counts === null) return;
		const { received, decoded, dropped, packetsLost, bufferMs, buffered } = counts;
		this.#say({
			type: 'streamCounts',
			rows: [[atMs, received, decoded, dropped, packetsLost, bufferMs, buffered]],
		});
	}

	#report(): void {
		if (this.#rows.length === 0 || this.#control?.readyState !== WebSocket.OPEN) return;
		this.#say({ type: 'seen', rows: this.#rows.splice(0, 2000) });
	}

	#finish(): void {
		this.#finished = true;
		this.#report();
		const kept = this.#eye?.leastLike() ?? null;
		if (kept !== null) {
			this.#say({ type: 'keptFrame', frameNumber: kept.frameNumber, byteLength: kept.bytes.length });
			this.#control?.send(kept.bytes);
		}
		this.#say({ type: 'done' });
	}

	#say(message: FromViewer): void {
		if (this.#control?.readyState === WebSocket.OPEN) this.#control.send(JSON.stringify(message));
	}

	#nowMs(): number {
		return roundMs(monotonicMs() + this.#order.clockAheadMs);
	}
}

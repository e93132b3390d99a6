/**
 * A UDP relay that puts simulated air in the way of a WebRTC connection, in a process of its own. Each end is told of one
 * candidate, and that is a socket here; who speaks first with a connectivity check is from then on the end of that side.
 * Encrypted packets go on unchanged, when the air says, or not at all. Both ways meet the same air: its outages and
 * bad spells fall on both at once, its draws for each packet are each way's own.
 *
 * The air's zero is the first picture packet (RTP) to the viewer, or the first of a data channel where there is no picture:
 * before it nothing is delayed or lost, so that a scheduled outage finds something to stop, and connecting does not depend
 * on the air.
 */
import { createSocket, type Socket } from 'node:dgram';
import { OutsideFailure } from '../failure.ts';
import { type Air, createAir } from '../simulation/air.ts';
import { createRandom } from '../statistics/random.ts';
import { onParentMessage, tellParent } from './childChannel.ts';
import { monotonicMs, TIMER_SLACK_MS } from './monotonic.ts';
import { ReleaseQueue } from './releaseQueue.ts';
import {
	type FromUdpRelay,
	type ToUdpRelay,
	toUdpRelaySchema,
	type UdpRelayRow,
} from './udpRelayMessages.ts';
import { repeatUnevenly } from './unevenly.ts';

const FLUSH_EVERY_MS = 250;
/** As much as the system gives of it: a large picture comes at once, and what this process was too slow for would be lost and in no log. */
const RECEIVE_BYTES = 4_000_000;
/** A side whose end was silent for so long takes whoever speaks next: an end may change its port on the way. */
const FORGET_AFTER_MS = 2000;

type RtpMarks = { readonly timestamp: number; readonly payloadType: number };

type Waiting = {
	readonly inMs: number;
	readonly plannedMs: number;
	readonly rtp: RtpMarks | null;
	readonly bytes: Uint8Array;
};

/** One socket and the end that speaks to it. */
class Side {
	readonly socket: Socket;
	#end: { readonly host: string; readonly port: number } | null = null;
	#heardMs = 0;

	constructor(socket: Socket) {
		this.socket = socket;
	}

	forget(): void {
		this.#end = null;
	}

	/** Whether this packet is the end's own. A stranger becomes the end by a connectivity check, where none is in the way. */
	hears(bytes: Uint8Array, { address, port }: { address: string; port: number }, nowMs: number): boolean {
		const isEnd = this.#end?.host === address && this.#end.port === port;
		if (!isEnd) {
			const isFree = this.#end === null || nowMs - this.#heardMs > FORGET_AFTER_MS;
			if (!isFree || !isBindingRequest(bytes)) return false;
			this.#end = { host: address, port };
		}
		this.#heardMs = nowMs;
		return true;
	}

	send(bytes: Uint8Array): void {
		if (this.#end !== null) this.socket.send(bytes, this.#end.port, this.#end.host, () => {});
	}
}

/**
 * One way through the air. It sleeps until the next packet is due, and is woken where one comes that is due before it; looking
 * again and again instead would take a core from the encoder beside it.
 */
class Way {
	readonly #number: number;
	readonly #air: Air;
	readonly #to: () => Side;
	readonly #queue = new ReleaseQueue<Waiting>();
	#timer: NodeJS.Timeout | undefined;
	#turn: NodeJS.Immediate | undefined;

	constructor(number: number, air: Air, to: () => Side) {
		this.#number = number;
		this.#air = air;
		this.#to = to;
	}

	take(bytes: Uint8Array, inMs: number, zero: number | null): void {
		const rtp = rtpMarksOf(bytes);
		const passage = zero === null ? { deliverAtMs: 0 } : this.#air.send(inMs - zero, bytes.length);
		if ('lostAtMs' in passage) {
			log.push([this.#number, inMs, null, null, bytes.length, ...loggedMarks(rtp)]);
			return;
		}
		const plannedMs = zero === null ? inMs : zero + passage.deliverAtMs;
		this.#queue.insert({ inMs, plannedMs, rtp, bytes });
		this.#release();
	}

	#release = (): void => {
		clearTimeout(this.#timer);
		clearImmediate(this.#turn);
		for (;;) {
			const outMs = monotonicMs();
			const due = this.#queue.takeDue(outMs);
			if (due === null) break;
			this.#to().send(due.bytes);
			const { inMs, plannedMs, rtp, bytes } = due;
			log.push([this.#number, inMs, plannedMs, outMs, bytes.length, ...loggedMarks(rtp)]);
		}
		const { nextMs } = this.#queue;
		if (nextMs === null) return;
		const coarseMs = nextMs - monotonicMs() - TIMER_SLACK_MS;
		if (coarseMs > 0) this.#timer = setTimeout(this.#release, coarseMs);
		else this.#turn = setImmediate(this.#release);
	};
}

const log: UdpRelayRow[] = [];
let sides: { readonly sender: Side; readonly viewer: Side } | null = null;
let zeroMs: number | null = null;

onParentMessage(toUdpRelaySchema, async (order) => {
	if (order.type === 'open') await open(order);
	else if (order.type === 'renew') {
		sides?.sender.forget();
		sides?.viewer.forget();
	} else {
		flush();
		report({ type: 'stopped' });
	}
});

async function open(order: Extract<ToUdpRelay, { type: 'open' }>): Promise<void> {
	const { host, port, air: spec, seed } = order;
	const begins = order.beginsAt === 'picture' ? isPicture : isDataRecord;
	const sender = new Side(await bind(host, 0));
	const viewer = new Side(await bind(host, port));
	sides = { sender, viewer };
	// One seed for both: what is time's own in the air then falls on both ways at once.
	const airOf = () => createAir({ ...spec, carriage: 'datagrams' }, createRandom(seed));
	const toViewer = new Way(0, airOf(), () => viewer);
	const back = new Way(1, airOf(), () => sender);
	sender.socket.on('message', (bytes, from) => {
		const inMs = monotonicMs();
		if (!sender.hears(bytes, from, inMs)) return;
		if (zeroMs === null && begins(bytes)) {
			zeroMs = inMs;
			report({ type: 'zero', atMs: zeroMs });
		}
		toViewer.take(bytes, inMs, zeroMs);
	});
	viewer.socket.on('message', (bytes, from) => {
		const inMs = monotonicMs();
		if (viewer.hears(bytes, from, inMs)) back.take(bytes, inMs, zeroMs);
	});
	repeatUnevenly(FLUSH_EVERY_MS, flush);
	report({
		type: 'open',
		senderSidePort: sender.socket.address().port,
		viewerSidePort: viewer.socket.address().port,
	});
}

function bind(host: string, port: number): Promise<Socket> {
	const socket = createSocket({ type: host.includes(':') ? 'udp6' : 'udp4', recvBufferSize: RECEIVE_BYTES });
	return new Promise((resolve, reject) => {
		socket.once('error', (cause) =>
			reject(
				new OutsideFailure(
					'portRefused',
					`UDP port ${port} could not be opened on ${host}.`,
					'Choose another port, above 1023.',
					{ cause },
				),
			),
		);
		socket.bind(port, host, () => resolve(socket));
	});
}

/** A STUN binding request (RFC 8489): type 0x0001 and the magic number. */
function isBindingRequest(bytes: Uint8Array): boolean {
	return bytes.length >= 20 && bytes[0] === 0 && bytes[1] === 1 && bytes[4] === 0x21 && bytes[5] === 0x12;
}

/** RTP by first byte (RFC 7983), control packets left out by their types (RFC 5761); the header is not encrypted. */
function rtpMarksOf(bytes: Uint8Array): RtpMarks | null {
	const [first = 0, second = 0] = bytes;
	const isRtp = first >= 128 && first <= 191 && bytes.length >= 12 && (second < 192 || second > 223);
	if (!isRtp) return null;
	const view = new DataView(bytes.buffer, bytes.byteOffset);
	// The highest bit only marks a picture's last packet.
	return { timestamp: view.getUint32(4), payloadType: second & 0x7f };
}

function loggedMarks(rtp: RtpMarks | null): [number | null, number | null] {
	return rtp === null ? [null, null] : [rtp.timestamp, rtp.payloadType];
}

function isPicture(bytes: Uint8Array): boolean {
	return rtpMarksOf(bytes) !== null;
}

/** A DTLS record of application data (RFC 6347: content type 23). */
function isDataRecord(bytes: Uint8Array): boolean {
	return bytes[0] === 23;
}

function flush(): void {
	if (log.length > 0) report({ type: 'rows', rows: log.splice(0) });
}

function report(message: FromUdpRelay): void {
	tellParent(message);
}

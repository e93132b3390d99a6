/**
 * The control socket's serving end: on a port of its own with the page's files beside it, or behind a door that lets
 * viewers in by its own rules.
 *
 * One viewer steers the run: the first whose `hello` fits. A page that lost its socket takes its seat again, whatever
 * address it comes from. Others may watch; whoever else claims the seat is refused with the reason, and so is any message
 * that is too long or does not fit its schema; its sender is then cut off, and what it had reported before stands.
 */
import { createServer, type IncomingMessage, type Server } from 'node:http';
import { Socket } from 'node:net';
import type { Duplex } from 'node:stream';
import { type RawData, type WebSocket, WebSocketServer } from 'ws';
import { CONTROL_PATH, type FromViewer, readFromViewer, type ToViewer } from '../../protocol/control.ts';
import { listen } from '../../transports/listen.ts';
import { monotonicMs } from '../../transports/monotonic.ts';
import type { ViewerDoor } from './link.ts';
import { servePages } from './pageFiles.ts';

/** Holds the planes of the largest card; everything else is far smaller. */
const MAX_MESSAGE_BYTES = 4_000_000;
/** A socket that has not said `hello` by then is closed. */
const HELLO_WITHIN_MS = 10_000;
/** Behind a door a page may be opened long before its person taps Start; it is known there, so it may take its time. */
const HELLO_BEHIND_DOOR_WITHIN_MS = 600_000;

export type Hello = Extract<FromViewer, { type: 'hello' }>;

export type ControlEvents = {
	/** A viewer took the seat; a reason refuses it. */
	came(hello: Hello): string | null;
	/** `heardMs`: when the message arrived, before it was read. */
	message(message: FromViewer, heardMs: number): void;
	bytes(bytes: Uint8Array): void;
	/** Someone was refused: the one in the seat, or another. */
	refused(reason: string, steering: boolean): void;
	left(): void;
	/** So many look on besides the viewer in the seat. */
	watching(count: number): void;
	/** One of them is ready for pictures of its own, answers an offer of them, or is gone. */
	looker: {
		ready(id: number, tell: (message: ToViewer) => void): void;
		answered(id: number, answer: Extract<FromViewer, { type: 'answer' }>): void;
		gone(id: number): void;
	};
};

export type ControlServer = {
	/** What a viewer opens. */
	readonly url: string;
	/** Null behind a door. */
	readonly port: number | null;
	/** To the viewer in the seat; nothing without one. */
	send(message: ToViewer): void;
	close(): void;
};

export type ControlOptions = {
	readonly host: string;
	readonly port: number;
	readonly pagesFolder: string | null;
	readonly door: ViewerDoor | null;
	/** Said first to whoever connects; asked each time. */
	readonly plan: () => ToViewer;
};

/** Throws `OutsideFailure` when the port cannot be had. */
export async function openControlServer(
	options: ControlOptions,
	events: ControlEvents,
): Promise<ControlServer> {
	const { door, plan, host } = options;
	const helloWithinMs = door === null ? HELLO_WITHIN_MS : HELLO_BEHIND_DOOR_WITHIN_MS;
	const seats = new Seats({ plan, helloWithinMs }, events);
	const send = (message: ToViewer): void => seats.send(message);
	if (door !== null) {
		const leave = door.attend((socket) => seats.attend(socket));
		const close = (): void => {
			leave();
			seats.close();
		};
		return { url: door.url, port: null, send, close };
	}
	const sockets = openSockets();
	const http = createServer(servePages(options.pagesFolder));
	http.on('upgrade', (request, wire, head) =>
		upgrade({ request, wire, head, sockets }, (socket) => seats.attend(socket)),
	);
	const port = await listen(http, options.port, host);
	const close = (): void => {
		seats.close();
		closeServer(http);
	};
	return { url: `http://${host}:${port}/`, port, send, close };
}

/** Who sits where: one steers, any number watch, the rest have not said hello yet. */
class Seats {
	readonly #plan: () => ToViewer;
	readonly #helloWithinMs: number;
	readonly #events: ControlEvents;
	readonly #all = new Map<WebSocket, ReturnType<typeof setTimeout>>();
	/** With a number for each. */
	readonly #watchers = new Map<WebSocket, number>();
	#watcherCount = 0;
	#seat: WebSocket | null = null;
	#page: string | undefined;
	/** Of that page. */
	#heardUpTo = 0;

	constructor(
		{ plan, helloWithinMs }: { plan: () => ToViewer; helloWithinMs: number },
		events: ControlEvents,
	) {
		this.#plan = plan;
		this.#helloWithinMs = helloWithinMs;
		this.#events = events;
	}

	send(message: ToViewer): void {
		if (this.#seat !== null) say(this.#seat, message);
	}

	close(): void {
		this.#seat = null;
		this.#watchers.clear();
		for (const [socket, timer] of this.#all) {
			clearTimeout(timer);
			socket.terminate();
		}
	}

	attend(socket: WebSocket): void {
		const noHello = () => this.#refuse(socket, 'no hello in time');
		this.#all.set(socket, setTimeout(noHello, this.#helloWithinMs));
		socket.on('message', (data, isBinary) => this.#hear(socket, data, isBinary));
		socket.on('error', (error) => this.#refuse(socket, error.message));
		socket.on('close', () => this.#gone(socket));
		say(socket, this.#plan());
	}

	#gone(socket: WebSocket): void {
		clearTimeout(this.#all.get(socket));
		this.#all.delete(socket);
		this.#watcherGone(socket);
		if (this.#seat !== socket) return;
		this.#seat = null;
		this.#events.left();
	}

	#hear(from: WebSocket, data: RawData, isBinary: boolean): void {
		const heardMs = monotonicMs();
		if (from.readyState !== from.OPEN) return;
		const bytes = bytesOf(data);
		if (isBinary) {
			if (this.#seat === from) this.#events.bytes(bytes);
			else this.#refuse(from, 'bytes from a viewer that does not steer');
			return;
		}
		const reading = readFromViewer(bytes.toString());
		if (reading.kind === 'refused') this.#refuse(from, reading.reason);
		else if (reading.message.type === 'mark') say(from, { type: 'got', n: reading.message.n });
		else if (reading.message.type === 'able') return;
		else if (this.#watchers.has(from)) this.#hearWatcher(from, reading.message);
		else if (this.#seat === from && reading.message.type !== 'hello') {
			if (this.#isNew(reading.message)) this.#events.message(reading.message, heardMs);
		} else this.#seatOrRefuse(from, reading.message);
	}

	/** Of what a looker-on says only its own picture's affairs are heard. */
	#hearWatcher(from: WebSocket, message: FromViewer): void {
		const id = this.#watchers.get(from);
		if (id === undefined) return;
		if (message.type === 'ready') this.#events.looker.ready(id, (news) => say(from, news));
		else if (message.type === 'answer') this.#events.looker.answered(id, message);
	}

	#watcherGone(socket: WebSocket): void {
		const id = this.#watchers.get(socket);
		if (id === undefined) return;
		this.#watchers.delete(socket);
		this.#events.looker.gone(id);
		this.#events.watching(this.#watchers.size);
	}

	/** False for what was heard before the page lost its socket, and is said again because no answer had come. */
	#isNew(message: FromViewer): boolean {
		if (!('n' in message) || message.n === undefined) return true;
		if (message.n <= this.#heardUpTo) return false;
		this.#heardUpTo = message.n;
		return true;
	}

	#seatOrRefuse(from: WebSocket, message: FromViewer): void {
		// To the door's trial of the way, on its way when the plan was: the hello is still to come.
		if (message.type === 'answer') return;
		const objection = this.#objectionTo(from, message);
		if (objection !== null) this.#refuse(from, objection);
	}

	/** Takes the seat, or says why not. */
	#objectionTo(from: WebSocket, message: FromViewer): string | null {
		if (message.type !== 'hello') return 'the first message must be hello';
		if (this.#seat === from) return 'hello was already said';
		if (message.watching === true) {
			clearTimeout(this.#all.get(from));
			this.#watchers.set(from, this.#watcherCount++);
			this.#events.watching(this.#watchers.size);
			return null;
		}
		if (this.#seat !== null) {
			if (message.page === undefined || message.page !== this.#page) return 'another viewer steers this run';
			this.#giveUpSeat(this.#seat);
		}
		clearTimeout(this.#all.get(from));
		this.#seat = from;
		if (message.page === undefined || message.page !== this.#page) this.#heardUpTo = 0;
		this.#page = message.page;
		return this.#events.came(message);
	}

	/** Its page is back by another socket; the old one may take minutes to find out that it is dead. */
	#giveUpSeat(old: WebSocket): void {
		this.#seat = null;
		this.#events.left();
		old.terminate();
	}

	#refuse(socket: WebSocket, reason: string): void {
		say(socket, { type: 'refused', reason });
		socket.close(1008, reason.slice(0, 100));
		this.#events.refused(reason, socket === this.#seat);
	}
}

/** What upgrades connections, with the limit that holds for every control socket. */
export function openSockets(): WebSocketServer {
	return new WebSocketServer({ noServer: true, perMessageDeflate: false, maxPayload: MAX_MESSAGE_BYTES });
}

type Upgrade = {
	readonly request: IncomingMessage;
	readonly wire: Duplex;
	readonly head: Buffer;
	readonly sockets: WebSocketServer;
};

/** Hands over the socket if the control path was asked for; else the connection is cut. */
export function upgrade(
	{ request, wire, head, sockets }: Upgrade,
	attend: (socket: WebSocket) => void,
): void {
	if (request.url?.split('?')[0] !== CONTROL_PATH) {
		wire.destroy();
		return;
	}
	if (wire instanceof Socket) wire.setNoDelay(true);
	sockets.handleUpgrade(request, wire, head, attend);
}

export function say(socket: WebSocket, message: ToViewer): void {
	if (socket.readyState === socket.OPEN) socket.send(JSON.stringify(message));
}

function bytesOf(data: RawData): Buffer {
	if (Array.isArray(data)) return Buffer.concat(data);
	return Buffer.isBuffer(data) ? data : Buffer.from(data);
}

function closeServer(http: Server): void {
	http.close();
	http.closeAllConnections();
}

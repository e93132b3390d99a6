/**
 * The control socket's serving end, and the page's files beside it on the same port.
 *
 * One viewer steers the run: the first whose `hello` fits. Others are refused with the reason, and so is any message that
 * is too long or does not fit its schema; its sender is then cut off, and what it had reported before stands.
 */
import { createServer, type IncomingMessage, type Server } from 'node:http';
import { Socket } from 'node:net';
import type { Duplex } from 'node:stream';
import { type RawData, type WebSocket, WebSocketServer } from 'ws';
import { CONTROL_PATH, type FromViewer, readFromViewer, type ToViewer } from '../../protocol/control.ts';
import { listen } from '../../transports/listen.ts';
import { monotonicMs } from '../../transports/monotonic.ts';
import { servePages } from './pageFiles.ts';

/** Holds the planes of the largest card; everything else is far smaller. */
const MAX_MESSAGE_BYTES = 4_000_000;
/** A socket that has not said `hello` by then is closed. */
const HELLO_WITHIN_MS = 10_000;

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
};

export type ControlServer = {
	readonly port: number;
	/** To the viewer in the seat; nothing without one. */
	send(message: ToViewer): void;
	close(): void;
};

export type ControlOptions = {
	readonly host: string;
	readonly port: number;
	readonly pagesFolder: string | null;
	/** Said first to whoever connects; asked each time. */
	readonly plan: () => ToViewer;
};

/** Throws `OutsideFailure` when the port cannot be had. */
export async function openControlServer(
	options: ControlOptions,
	events: ControlEvents,
): Promise<ControlServer> {
	let seat: WebSocket | null = null;
	const sockets = new WebSocketServer({
		noServer: true,
		perMessageDeflate: false,
		maxPayload: MAX_MESSAGE_BYTES,
	});
	const http = createServer(servePages(options.pagesFolder));
	http.on('upgrade', (request, wire, head) => upgrade({ request, wire, head, sockets }, attend));
	const port = await listen(http, options.port, options.host);

	function attend(socket: WebSocket): void {
		const helloTimer = setTimeout(() => refuse(socket, 'no hello within ten seconds'), HELLO_WITHIN_MS);
		say(socket, options.plan());
		socket.on('message', (data, isBinary) => hear(socket, data, isBinary));
		socket.on('error', (error) => refuse(socket, error.message));
		socket.on('close', () => {
			clearTimeout(helloTimer);
			if (seat !== socket) return;
			seat = null;
			events.left();
		});

		function hear(from: WebSocket, data: RawData, isBinary: boolean): void {
			const heardMs = monotonicMs();
			if (from.readyState !== from.OPEN) return;
			if (isBinary) {
				if (seat === from) events.bytes(bytesOf(data));
				else refuse(from, 'bytes before hello');
				return;
			}
			const reading = readFromViewer(bytesOf(data).toString());
			if (reading.kind === 'refused') refuse(from, reading.reason);
			else if (seat === from && reading.message.type !== 'hello') events.message(reading.message, heardMs);
			else {
				const objection = objectionTo(from, reading.message);
				if (objection !== null) refuse(from, objection);
			}
		}

		/** Takes the seat, or says why not. */
		function objectionTo(from: WebSocket, message: FromViewer): string | null {
			if (message.type !== 'hello') return 'the first message must be hello';
			if (seat === from) return 'hello was already said';
			if (seat !== null) return 'another viewer steers this run';
			clearTimeout(helloTimer);
			seat = from;
			return events.came(message);
		}
	}

	function refuse(socket: WebSocket, reason: string): void {
		say(socket, { type: 'refused', reason });
		socket.close(1008, reason.slice(0, 100));
		events.refused(reason, socket === seat);
	}

	return {
		port,
		send(message) {
			if (seat !== null) say(seat, message);
		},
		close() {
			seat = null;
			for (const socket of sockets.clients) socket.terminate();
			closeServer(http);
		},
	};
}

type Upgrade = {
	readonly request: IncomingMessage;
	readonly wire: Duplex;
	readonly head: Buffer;
	readonly sockets: WebSocketServer;
};

function upgrade({ request, wire, head, sockets }: Upgrade, attend: (socket: WebSocket) => void): void {
	if (request.url?.split('?')[0] !== CONTROL_PATH) {
		wire.destroy();
		return;
	}
	if (wire instanceof Socket) wire.setNoDelay(true);
	sockets.handleUpgrade(request, wire, head, attend);
}

function say(socket: WebSocket, message: ToViewer): void {
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

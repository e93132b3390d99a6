/**
 * The control socket from the page's side. Everything observed is numbered and kept here until the laptop has said that it
 * has it. After a lost socket the page joins again, says again what was not answered, and only then that it looks.
 */
import { type FromViewer, readToViewer, type ToViewer } from '../../protocol/control.ts';

const RETRY_MS = 1000;
/** Kept messages while away: at two batches, two and a half of the probe and one sample a second, most of half an hour. */
const MOST_KEPT = 8000;

type Numbered = Extract<
	FromViewer,
	{ type: 'seen' | 'patches' | 'picture' | 'detail' | 'probed' | 'event' | 'away' }
>;

export type ControlSocket = {
	/** At once, or never: what is of no use later. */
	say(message: FromViewer): void;
	/** Now or as soon as the page has joined again; kept until it has arrived. */
	tell(message: Numbered): void;
	/** Asks the laptop to say how far it has heard. */
	mark(): void;
	/** The page is known on this socket: what is kept may go. */
	joined(): void;
	sendBytes(bytes: Uint8Array): void;
	/** Stops trying to come back. */
	close(): void;
};

export type ControlHandlers = {
	readonly onOpen: () => void;
	readonly onMessage: (message: ToViewer, arrivedMs: number) => void;
	readonly onAway: () => void;
};

export function openControlSocket(url: string, handlers: ControlHandlers): ControlSocket {
	let kept: Numbered[] = [];
	let count = 0;
	let socket: WebSocket | null = null;
	let isJoined = false;
	let closed = false;

	const put = (message: FromViewer): void => {
		if (socket?.readyState === WebSocket.OPEN) socket.send(JSON.stringify(message));
	};
	const connect = (): void => {
		socket = new WebSocket(url);
		socket.onopen = () => handlers.onOpen();
		socket.onmessage = (event) => {
			const arrivedMs = performance.now();
			const reading = typeof event.data === 'string' ? readToViewer(event.data) : null;
			if (reading?.kind !== 'message') return;
			const { message } = reading;
			if (message.type === 'got') kept = kept.filter(({ n }) => n !== undefined && n > message.n);
			else handlers.onMessage(message, arrivedMs);
		};
		socket.onclose = () => {
			socket = null;
			isJoined = false;
			if (closed) return;
			handlers.onAway();
			// Jittered, so that several tablets do not knock in step.
			setTimeout(connect, RETRY_MS * (0.7 + 0.6 * Math.random()));
		};
	};
	connect();

	return {
		say: put,
		tell(message) {
			const numbered = { ...message, n: ++count };
			if (kept.length < MOST_KEPT) kept.push(numbered);
			if (isJoined) put(numbered);
		},
		mark() {
			if (isJoined && kept.length > 0) put({ type: 'mark', n: count });
		},
		joined() {
			isJoined = true;
			for (const message of kept) put(message);
			if (kept.length > 0) put({ type: 'mark', n: count });
		},
		sendBytes(bytes) {
			if (socket?.readyState === WebSocket.OPEN) socket.send(bytes.slice());
		},
		close() {
			closed = true;
			socket?.close();
		},
	};
}

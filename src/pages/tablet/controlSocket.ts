/**
 * The control socket from the page's side. While it is away, what was seen is kept and sent when it is back; after a
 * return the page says hello again, and the bench begins a new stretch with a new clock.
 */
import { type FromViewer, type ToViewer, toViewerSchema } from '../../protocol/control.ts';

const RETRY_MS = 1000;
/** Kept messages while away: at one batch each half second, more than an hour. */
const MOST_KEPT = 8000;

export type ControlSocket = {
	send(message: FromViewer): void;
	sendBytes(bytes: Uint8Array): void;
	/** Stops trying to come back. */
	close(): void;
};

export type ControlHandlers = {
	/** The socket is open, the first time or again: say hello. */
	readonly onOpen: () => void;
	readonly onMessage: (message: ToViewer, arrivedMs: number) => void;
	readonly onAway: () => void;
};

export function openControlSocket(url: string, handlers: ControlHandlers): ControlSocket {
	const kept: FromViewer[] = [];
	let socket: WebSocket | null = null;
	let closed = false;

	const connect = (): void => {
		socket = new WebSocket(url);
		socket.onopen = () => {
			handlers.onOpen();
			for (const message of kept.splice(0)) socket?.send(JSON.stringify(message));
		};
		socket.onmessage = (event) => {
			const arrivedMs = performance.now();
			if (typeof event.data !== 'string') return;
			const parsed = toViewerSchema.safeParse(JSON.parse(event.data));
			if (parsed.success) handlers.onMessage(parsed.data, arrivedMs);
		};
		socket.onclose = () => {
			socket = null;
			if (closed) return;
			handlers.onAway();
			setTimeout(connect, RETRY_MS);
		};
	};
	connect();

	return {
		send(message) {
			if (socket?.readyState === WebSocket.OPEN) socket.send(JSON.stringify(message));
			else if (kept.length < MOST_KEPT && message.type !== 'pong' && message.type !== 'hello')
				kept.push(message);
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

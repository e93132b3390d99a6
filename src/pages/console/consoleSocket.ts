/** The page's line to the console: orders there, the whole state back; opened again whenever it breaks. */
import {
	CONSOLE_SOCKET_PATH,
	type ConsoleState,
	type FromConsolePage,
	readState,
} from '../../protocol/console.ts';
import { setText } from './elements.ts';

const RETRY_MS = 1000;

export type ConsoleSocket = { send(order: FromConsolePage): void };

/** Says in the element `link` how it stands; `onLost`: the console is not there, told at every try. */
export function openConsoleSocket(
	onState: (state: ConsoleState) => void,
	onLost: () => void = () => {},
): ConsoleSocket {
	let socket: WebSocket | null = null;
	const connect = (): void => {
		socket = new WebSocket(`ws://${location.host}${CONSOLE_SOCKET_PATH}`);
		socket.onopen = () => setText('link', 'on this laptop; no internet is used');
		socket.onmessage = ({ data }) => {
			const read = typeof data === 'string' ? readState(data) : null;
			if (read !== null) onState(read);
		};
		socket.onclose = () => {
			setText('link', 'The console was closed. Start it again; this page comes back by itself.');
			onLost();
			setTimeout(connect, RETRY_MS * (0.7 + 0.6 * Math.random()));
		};
	};
	connect();
	return {
		send(order) {
			if (socket?.readyState === WebSocket.OPEN) socket.send(JSON.stringify(order));
		},
	};
}

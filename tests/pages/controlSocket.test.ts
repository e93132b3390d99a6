/** The page's end of the control socket, with the browser's socket played by hand. */
import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import { openControlSocket } from '../../src/pages/tablet/controlSocket.ts';

class Socket {
	static readonly OPEN = 1;
	static all: Socket[] = [];
	readyState = 0;
	readonly sent: string[] = [];
	onopen: (() => void) | null = null;
	onmessage: ((event: { data: string }) => void) | null = null;
	onclose: (() => void) | null = null;

	constructor() {
		Socket.all.push(this);
	}
	send(text: string): void {
		const message = JSON.parse(text);
		this.sent.push(message.n === undefined ? message.type : `${message.type} ${message.n}`);
	}
	opens(): void {
		this.readyState = 1;
		this.onopen?.();
	}
	says(message: object): void {
		this.onmessage?.({ data: JSON.stringify(message) });
	}
	lost(): void {
		this.readyState = 3;
		this.onclose?.();
	}
	close(): void {
		this.lost();
	}
}

beforeEach(() => {
	Socket.all = [];
	vi.useFakeTimers();
	vi.stubGlobal('WebSocket', Socket);
});
afterEach(() => {
	vi.useRealTimers();
	vi.unstubAllGlobals();
});

const happened = (code: string) =>
	({ type: 'event', atMs: 1, code, frameNumber: null, detail: null }) as const;

function open() {
	const heard: string[] = [];
	const control = openControlSocket('ws://here/control', {
		onOpen: () => heard.push('open'),
		onMessage: ({ type }) => heard.push(type),
		onAway: () => heard.push('away'),
	});
	return { control, heard, socket: () => Socket.all.at(-1)! };
}

test('nothing observed is said before the page is known, and then all of it, in order and with its number', () => {
	const { control, socket } = open();
	socket().opens();
	control.tell(happened('a'));
	control.tell(happened('b'));
	expect(socket().sent).toEqual([]);
	control.joined();
	control.tell(happened('c'));
	expect(socket().sent).toEqual(['event 1', 'event 2', 'mark 2', 'event 3']);
});

test('after a lost socket exactly what the laptop did not say it has is said again', () => {
	const { control, socket, heard } = open();
	socket().opens();
	control.joined();
	for (const code of ['a', 'b', 'c']) control.tell(happened(code));
	socket().says({ type: 'got', n: 2 });
	socket().lost();
	// Seen while nobody could hear of it.
	control.tell(happened('d'));
	vi.advanceTimersByTime(1400);
	expect(Socket.all).toHaveLength(2);
	socket().opens();
	expect(socket().sent).toEqual([]);
	control.joined();
	expect(socket().sent).toEqual(['event 3', 'event 4', 'mark 4']);
	socket().says({ type: 'got', n: 4 });
	control.mark();
	expect(socket().sent).toHaveLength(3);
	expect(heard).toEqual(['open', 'away', 'open']);
});

test('an answer is the socket’s own affair, and nonsense from the laptop is passed over', () => {
	const { heard, socket } = open();
	socket().opens();
	socket().says({ type: 'got', n: 1 });
	socket().says({ type: 'nonsense' });
	socket().says({ type: 'finish' });
	expect(heard).toEqual(['open', 'finish']);
});

test('a page that has closed its socket does not knock again', () => {
	const { control, heard } = open();
	control.close();
	vi.advanceTimersByTime(60_000);
	expect(Socket.all).toHaveLength(1);
	expect(heard).toEqual([]);
});

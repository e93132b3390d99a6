/**
 * The server that tablets reach: it lets a device in by the code on the laptop, once, and gives it a ticket in a cookie.
 * Without a ticket a device gets one page of plain words, no file and no socket. While no run is on, sockets wait here;
 * a run takes them over (`attend`).
 */
import { createServer, type IncomingMessage, type Server, type ServerResponse } from 'node:http';
import { createServer as createTlsServer } from 'node:https';
import type { Duplex } from 'node:stream';
import type { WebSocket } from 'ws';
import { type FromViewer, readFromViewer, type ToViewer } from '../protocol/control.ts';
import { openSockets, say, upgrade } from '../rigs/link/controlServer.ts';
import type { TlsPair, ViewerDoor } from '../rigs/link/link.ts';
import { servePages } from '../rigs/link/pageFiles.ts';
import { listen } from '../transports/listen.ts';
import { codeForm, refusalPage } from './doorPages.ts';
import type { Pairing } from './pairing.ts';

const COOKIE = 'steerworthy-ticket';
/** Below the pages' folder: what a tablet may have. The console's own page is none of it, by no way of writing it. */
const FOR_TABLETS = /^\/(tablet|assets)\/[\w.-]*$/;
/** The yard check on one page. */
const SHEET_PATH = '/yard';
/** A page that waits says hardly anything; more than this before a run is hostile or broken. */
const MOST_MESSAGES_WAITING = 50;

export type DoorEvents = {
	/** A device came in by the code. */
	paired(): void;
	/** A page of a device that is in was asked for. */
	page(): void;
	/** A waiting page said what it can do; `tell` reaches it. */
	able(able: Able, tell: (message: ToViewer) => void): void;
	/** A waiting page answered a trial of the way. */
	answered(answer: Extract<FromViewer, { type: 'answer' }>): void;
	/** So many sockets wait. */
	waiting(count: number): void;
	refused(reason: string): void;
};
export type Able = {
	readonly videoDecoder: boolean;
	readonly secureContext: boolean;
	readonly wakeLock: boolean;
	readonly webrtc: boolean;
};

export type DoorOptions = {
	readonly address: string;
	/** 0: any free one. */
	readonly port: number;
	readonly pagesFolder: string;
	/** The page of the yard check that is open, to be shown on a tablet that is in; null or none: there is none. */
	readonly sheet?: () => string | null;
	readonly tls: TlsPair | null;
	readonly pairing: Pairing;
};

export type TabletDoor = ViewerDoor & {
	readonly port: number;
	/** What the QR code says: address and code of now. */
	pairUrl(): string;
	close(): void;
};

/** Throws `OutsideFailure` when the port cannot be had. */
export async function openTabletDoor(options: DoorOptions, events: DoorEvents): Promise<TabletDoor> {
	const { address, pairing, tls } = options;
	const room = new WaitingRoom(events);
	const sockets = openSockets();
	const pages = servePages(options.pagesFolder);
	const answer = (request: IncomingMessage, response: ServerResponse): void => {
		const url = new URL(request.url ?? '/', 'http://door');
		if (url.pathname === '/pair') pair(url.searchParams.get('code') ?? '', { request, response });
		else if (!pairing.holds(ticketOf(request))) turnAway(response, 'noTicket');
		else if (url.pathname === '/') response.writeHead(302, { Location: '/tablet/' }).end();
		else if (url.pathname === SHEET_PATH) showSheet(response, options.sheet?.() ?? null);
		else if (!FOR_TABLETS.test(url.pathname)) response.writeHead(404).end();
		else {
			if (url.pathname === '/tablet/') events.page();
			pages(request, response);
		}
	};
	const server = tls === null ? createServer(answer) : createTlsServer({ ...tls }, answer);
	server.on('upgrade', (request: IncomingMessage, wire: Duplex, head: Buffer) => {
		if (!pairing.holds(ticketOf(request)) || !isOwnPage(request)) wire.destroy();
		else upgrade({ request, wire, head, sockets }, (socket) => room.enter(socket));
	});
	const port = await listen(server, options.port, address);
	const url = `${tls === null ? 'http' : 'https'}://${address}:${port}/`;

	function pair(code: string, { request, response }: Exchange): void {
		if (code === '') {
			response.writeHead(200, HTML).end(codeForm());
			return;
		}
		if (pairing.holds(ticketOf(request))) {
			goIn(response, null);
			return;
		}
		const redeemed = pairing.redeem(code, request.socket.remoteAddress ?? '');
		if (redeemed.kind === 'paired') {
			const secure = tls === null ? '' : '; Secure';
			goIn(response, `${COOKIE}=${redeemed.ticket}; HttpOnly; SameSite=Lax; Path=/${secure}`);
			events.paired();
		} else {
			events.refused(redeemed.reason);
			turnAway(response, redeemed.reason);
		}
	}

	return {
		port,
		url,
		pairUrl: () => `${url}pair?code=${pairing.code}`,
		attend: (take) => room.attend(take),
		close() {
			for (const socket of sockets.clients) socket.terminate();
			closeServer(server);
		},
	};
}

type Exchange = { readonly request: IncomingMessage; readonly response: ServerResponse };
const HTML = {
	'Content-Type': 'text/html; charset=utf-8',
	'Cache-Control': 'no-store',
	'X-Content-Type-Options': 'nosniff',
	'Referrer-Policy': 'no-referrer',
};

function showSheet(response: ServerResponse, sheet: string | null): void {
	if (sheet === null) response.writeHead(404).end();
	else response.writeHead(200, HTML).end(sheet);
}

function goIn(response: ServerResponse, cookie: string | null): void {
	const headers = { ...HTML, Location: '/tablet/', ...(cookie === null ? {} : { 'Set-Cookie': cookie }) };
	response.writeHead(302, headers).end();
}

function turnAway(response: ServerResponse, reason: 'noTicket' | 'wrong' | 'old' | 'tooMany'): void {
	response.writeHead(reason === 'tooMany' ? 429 : 403, HTML).end(refusalPage(reason));
}

function ticketOf({ headers }: IncomingMessage): string | undefined {
	for (const part of (headers.cookie ?? '').split(';')) {
		const [name, value] = part.trim().split('=');
		if (name === COOKIE) return value;
	}
	return undefined;
}

/** A page from elsewhere, open on a tablet that is in, may not speak in its name. */
function isOwnPage({ headers }: IncomingMessage): boolean {
	const { origin, host } = headers;
	return origin !== undefined && origin.replace(/^https?:\/\//, '') === host;
}

/** Sockets that wait for a run. */
class WaitingRoom {
	readonly #events: DoorEvents;
	readonly #inside = new Map<WebSocket, () => void>();
	#take: ((socket: WebSocket) => void) | null = null;

	constructor(events: DoorEvents) {
		this.#events = events;
	}

	enter(socket: WebSocket): void {
		if (this.#take !== null) this.#take(socket);
		else this.#wait(socket);
	}

	attend(take: (socket: WebSocket) => void): () => void {
		this.#take = take;
		for (const [socket, leave] of [...this.#inside]) {
			leave();
			take(socket);
		}
		this.#events.waiting(0);
		return () => {
			this.#take = null;
		};
	}

	#wait(socket: WebSocket): void {
		let heard = 0;
		const onMessage = (data: unknown, isBinary: boolean): void => {
			const reading = isBinary ? null : readFromViewer(String(data));
			heard++;
			if (reading?.kind === 'message' && heard <= MOST_MESSAGES_WAITING) {
				const { message } = reading;
				if (message.type === 'able') this.#events.able(message, (news) => say(socket, news));
				else if (message.type === 'answer') this.#events.answered(message);
				return;
			}
			const reason = reading?.kind === 'refused' ? reading.reason : 'too much said before a run';
			say(socket, { type: 'refused', reason });
			socket.close(1008, reason.slice(0, 100));
			this.#events.refused(reason);
		};
		const onError = (error: Error): void => this.#events.refused(error.message);
		const leave = (): void => {
			socket.off('message', onMessage).off('error', onError).off('close', leave);
			this.#inside.delete(socket);
			this.#events.waiting(this.#inside.size);
		};
		socket.on('message', onMessage).on('error', onError).on('close', leave);
		this.#inside.set(socket, leave);
		say(socket, { type: 'waiting' });
		this.#events.waiting(this.#inside.size);
	}
}

function closeServer(server: Server): void {
	server.close();
	server.closeAllConnections();
}

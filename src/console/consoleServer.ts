/**
 * The server of the laptop's own page: files, kept runs, routes and the socket that orders runs. It listens on this
 * computer alone and answers only to its own name, so that no page from elsewhere can speak to it through the browser.
 */
import { createServer, type IncomingMessage, type ServerResponse } from 'node:http';
import type { Duplex } from 'node:stream';
import { type WebSocket, WebSocketServer } from 'ws';
import { OutsideFailure } from '../failure.ts';
import { CONSOLE_SOCKET_PATH } from '../protocol/console.ts';
import { paragraph } from '../report/htmlParts.ts';
import { servePages } from '../rigs/link/pageFiles.ts';
import { listen } from '../transports/listen.ts';
import { registerPage, saidPart } from './registerFrame.ts';
import { type Answer, jsonAnswer, type Route } from './route.ts';

const HOST = '127.0.0.1';
const MOST_ORDER_BYTES = 64_000;
const MOST_BODY_BYTES = 8_000_000;
const RUNS = '/runs/';

export type ConsoleServerOptions = {
	/** 0: any free one. */
	readonly port: number;
	readonly pagesFolder: string;
	readonly runsFolder: string;
	readonly routes: readonly Route[];
	/** A run is on, or something else that must not be held up. */
	readonly isBusy: () => boolean;
	/** A page's socket is open. */
	readonly onPage: (socket: WebSocket) => void;
};

export type ConsoleServer = { readonly port: number; readonly url: string; close(): void };

/** Throws `OutsideFailure` when the port cannot be had. */
export async function openConsoleServer(options: ConsoleServerOptions): Promise<ConsoleServer> {
	const { pagesFolder, runsFolder, onPage } = options;
	const pages = servePages(pagesFolder);
	const runs = servePages(runsFolder);
	const sockets = new WebSocketServer({
		noServer: true,
		perMessageDeflate: false,
		maxPayload: MOST_ORDER_BYTES,
	});
	const server = createServer((request, response) => {
		const url = new URL(request.url ?? '/', 'http://console');
		if (!isForUs(request)) response.writeHead(403).end();
		else if (url.pathname === '/') response.writeHead(302, { Location: '/console/' }).end();
		else if (url.pathname.startsWith('/ask/')) ask(options, { url, request, response });
		else if (!url.pathname.startsWith(RUNS)) pages(request, response);
		else {
			request.url = url.pathname.slice(RUNS.length - 1);
			runs(request, response);
		}
	});
	server.on('upgrade', (request: IncomingMessage, wire: Duplex, head: Buffer) => {
		const isPage = isForUs(request) && isOwnOrigin(request) && request.url === CONSOLE_SOCKET_PATH;
		if (isPage) sockets.handleUpgrade(request, wire, head, onPage);
		else wire.destroy();
	});
	const port = await listen(server, options.port, HOST);
	return {
		port,
		url: `http://${HOST}:${port}/`,
		close() {
			for (const socket of sockets.clients) socket.terminate();
			server.close();
			server.closeAllConnections();
		},
	};
}

/** A name that is not this computer's own leads here only by a trick of names (DNS rebinding). */
function isForUs({ headers }: IncomingMessage): boolean {
	return /^(127\.0\.0\.1|localhost)(:\d+)?$/.test(headers.host ?? '');
}

function isOwnOrigin({ headers }: IncomingMessage): boolean {
	return headers.origin === `http://${headers.host}`;
}

type Exchange = { readonly url: URL; readonly request: IncomingMessage; readonly response: ServerResponse };

type Asking = Pick<ConsoleServerOptions, 'routes' | 'isBusy'>;

function ask({ routes, isBusy }: Asking, { url, request, response }: Exchange): void {
	const route = routes.find(({ method, path }) => method === request.method && path === url.pathname);
	if (route === undefined) response.writeHead(404).end();
	else if (route.method !== 'GET' && !isOwnOrigin(request)) response.writeHead(403).end();
	else
		answerOf(route, { url, request, isBusy }).then(
			(answer) => give(response, answer),
			(failure: unknown) => {
				const words = failureWords(failure);
				// A page that was asked for by its address is answered with a page; a form's script reads JSON.
				give(response, route.method === 'GET' ? failedPage(words) : jsonAnswer({ failed: words }, 400));
			},
		);
}

type Answering = Pick<Exchange, 'url' | 'request'> & Pick<ConsoleServerOptions, 'isBusy'>;

async function answerOf(route: Route, { url, request, isBusy }: Answering): Promise<Answer> {
	if (route.heavy === true && isBusy())
		throw new OutsideFailure(
			'consoleBusy',
			'A run is on, and this would hold it up.',
			'Wait until the run has ended.',
		);
	const query = url.searchParams;
	if (route.method === 'PUT') return route.keep({ query, bytes: request });
	return route.answer({ query, body: route.method === 'POST' ? await readBody(request) : undefined });
}

function failureWords(failure: unknown): string {
	if (failure instanceof OutsideFailure) return `${failure.message} ${failure.advice}`;
	return failure instanceof Error ? failure.message : String(failure);
}

function failedPage(words: string): Answer {
	const body = [saidPart(words), paragraph('Go back in the browser, or on by one of the links above.')];
	return { ...registerPage('This could not be done', body), status: 400 };
}

function give(response: ServerResponse, { status, type, body }: Answer): void {
	response
		.writeHead(status, {
			'Content-Type': type,
			'Cache-Control': 'no-store',
			'X-Content-Type-Options': 'nosniff',
		})
		.end(body);
}

/** Throws where the body is too long or not JSON. */
async function readBody(request: IncomingMessage): Promise<unknown> {
	const pieces: Buffer[] = [];
	let length = 0;
	for await (const piece of request) {
		const bytes = Buffer.from(piece);
		length += bytes.length;
		if (length > MOST_BODY_BYTES) throw new RangeError(`more than ${MOST_BODY_BYTES} bytes were sent`);
		pieces.push(bytes);
	}
	return JSON.parse(Buffer.concat(pieces).toString());
}

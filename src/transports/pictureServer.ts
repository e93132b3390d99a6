/**
 * The picture socket's serving end: one encoded picture a binary WebSocket message, uncompressed, with TCP_NODELAY, to
 * whoever is connected. Nothing is dropped here: what a viewer's socket cannot take waits in this process, and says so.
 */
import { createServer, type IncomingMessage, type ServerResponse } from 'node:http';
import { createServer as createTlsServer } from 'node:https';
import type { Socket } from 'node:net';
import { type WebSocket, WebSocketServer } from 'ws';
import { type EncodedPicture, packPicture } from '../protocol/pictureSocket.ts';
import { listen } from './listen.ts';

/** Viewers only listen on this socket; more than this from one is hostile or broken. */
const MAX_FROM_VIEWER_BYTES = 1024;

type Viewer = { readonly socket: WebSocket; readonly wire: Socket };

type PictureSent = {
	readonly viewerCount: number;
	/** Bytes handed to the first viewer's connection so far, this picture included; null without one. */
	readonly endByte: number | null;
	/** Bytes that wait in this process for the slowest viewer. */
	readonly waitingBytes: number;
};

export type PictureServer = {
	readonly port: number;
	readonly viewerCount: number;
	send(picture: EncodedPicture): PictureSent;
	close(): void;
};

export type PictureServerOptions = {
	readonly host: string;
	readonly port: number;
	readonly path: string;
	/** PEM texts; null: plain. */
	readonly tls: { readonly key: string; readonly cert: string } | null;
};

/** Throws `OutsideFailure` when the port cannot be had. `onViewers` is told whenever one came or left. */
export async function openPictureServer(
	options: PictureServerOptions,
	onViewers: (viewerCount: number, came: boolean) => void,
): Promise<PictureServer> {
	const viewers: Viewer[] = [];
	const sockets = new WebSocketServer({
		noServer: true,
		perMessageDeflate: false,
		maxPayload: MAX_FROM_VIEWER_BYTES,
	});
	const answerNone = (_request: IncomingMessage, response: ServerResponse) => response.writeHead(404).end();
	const http = options.tls === null ? createServer(answerNone) : createTlsServer(options.tls, answerNone);
	http.on('upgrade', (request: IncomingMessage, wire: Socket, head) => {
		if (request.url !== options.path) return wire.destroy();
		wire.setNoDelay(true);
		return sockets.handleUpgrade(request, wire, head, (socket) => {
			viewers.push({ socket, wire });
			onViewers(viewers.length, true);
			socket.on('error', () => socket.terminate());
			socket.on('close', () => {
				viewers.splice(
					viewers.findIndex((viewer) => viewer.socket === socket),
					1,
				);
				onViewers(viewers.length, false);
			});
		});
	});
	const port = await listen(http, options.port, options.host);
	return {
		port,
		get viewerCount() {
			return viewers.length;
		},
		send(picture) {
			const message = packPicture(picture);
			for (const { socket } of viewers) socket.send(message, { binary: true });
			return {
				viewerCount: viewers.length,
				endByte: viewers[0]?.wire.bytesWritten ?? null,
				waitingBytes: Math.max(0, ...viewers.map(({ socket }) => socket.bufferedAmount)),
			};
		},
		close() {
			for (const { socket } of viewers) socket.terminate();
			http.close();
		},
	};
}

/** The page's built files over HTTP: one folder, read only, nothing outside it, never from a cache. */
import { createReadStream } from 'node:fs';
import { stat } from 'node:fs/promises';
import type { IncomingMessage, RequestListener, ServerResponse } from 'node:http';
import { extname, join, normalize, sep } from 'node:path';

const TYPES: Readonly<Record<string, string>> = {
	'.html': 'text/html; charset=utf-8',
	'.js': 'text/javascript; charset=utf-8',
	'.css': 'text/css; charset=utf-8',
	'.json': 'application/json',
	'.svg': 'image/svg+xml',
	'.png': 'image/png',
	'.map': 'application/json',
};

/** Cross-origin isolation lets the page read a fine clock; nothing may come from another place. */
const HEADERS = {
	'Cross-Origin-Opener-Policy': 'same-origin',
	'Cross-Origin-Embedder-Policy': 'require-corp',
	'Cache-Control': 'no-store',
	'X-Content-Type-Options': 'nosniff',
};

/** Answers GET and HEAD from `folder`; everything is "not found" without one. */
export function servePages(folder: string | null): RequestListener {
	return (request, response) => {
		serve(folder, request, response).catch(() => response.destroy());
	};
}

async function serve(
	folder: string | null,
	request: IncomingMessage,
	response: ServerResponse,
): Promise<void> {
	const path = folder === null ? null : await fileFor(folder, request.url ?? '/');
	if (path === null || (request.method !== 'GET' && request.method !== 'HEAD')) {
		response.writeHead(404, HEADERS).end();
		return;
	}
	response.writeHead(200, { ...HEADERS, 'Content-Type': TYPES[extname(path)] ?? 'application/octet-stream' });
	if (request.method === 'HEAD') response.end();
	else
		createReadStream(path)
			.on('error', () => response.destroy())
			.pipe(response);
}

/** The file's path inside the folder, `index.html` for a folder in it; null where there is none. */
async function fileFor(folder: string, url: string): Promise<string | null> {
	const asked = decodePath(url.split('?')[0] ?? '/');
	if (asked === null || asked.includes('\0')) return null;
	const root = normalize(folder + sep);
	const path = normalize(join(root, asked));
	if (!path.startsWith(root)) return null;
	for (const candidate of [path, join(path, 'index.html')]) {
		const found = await stat(candidate).catch(() => null);
		if (found?.isFile()) return candidate;
	}
	return null;
}

function decodePath(path: string): string | null {
	try {
		return decodeURIComponent(path);
	} catch {
		return null;
	}
}

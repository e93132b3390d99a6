import { mkdir, mkdtemp, rm, writeFile } from 'node:fs/promises';
import { createServer, get, type IncomingMessage } from 'node:http';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { servePages } from '../../../src/rigs/link/pageFiles.ts';
import { listen } from '../../../src/transports/listen.ts';

const server = createServer((request, response) => servePages(join(root, 'pages'))(request, response));
let root = '';
let port = 0;

beforeAll(async () => {
	root = await mkdtemp(join(tmpdir(), 'pages-'));
	await mkdir(join(root, 'pages', 'tablet'), { recursive: true });
	await writeFile(join(root, 'pages', 'tablet', 'index.html'), 'the page');
	await writeFile(join(root, 'secret.txt'), 'not for anyone');
	port = await listen(server, 0, '127.0.0.1');
});

afterAll(async () => {
	server.close();
	await rm(root, { recursive: true });
});

/** The path goes out as it is, unlike with `fetch`, which tidies it first. */
function ask(path: string): Promise<IncomingMessage> {
	return new Promise((resolve, reject) => {
		get({ host: '127.0.0.1', port, path, agent: false }, (response) => {
			response.resume();
			resolve(response);
		}).on('error', reject);
	});
}

test('a page is served isolated, so that it may read a fine clock', async () => {
	const { statusCode, headers } = await ask('/tablet/');
	expect(statusCode).toBe(200);
	expect(headers).toMatchObject({
		'content-type': 'text/html; charset=utf-8',
		'cross-origin-opener-policy': 'same-origin',
		'cross-origin-embedder-policy': 'require-corp',
	});
});

test.each(['/../secret.txt', '/%2e%2e/secret.txt', '/tablet/..%2f..%2fsecret.txt', '/%00', '/%', '/absent'])(
	'%s is not found',
	async (path) => {
		expect((await ask(path)).statusCode).toBe(404);
	},
);

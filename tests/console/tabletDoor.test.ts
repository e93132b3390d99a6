import { randomBytes } from 'node:crypto';
import { mkdirSync, mkdtempSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, expect, test } from 'vitest';
import { WebSocket } from 'ws';
import { keepCertificate } from '../../src/console/certificate.ts';
import { openConsoleServer } from '../../src/console/consoleServer.ts';
import { Pairing } from '../../src/console/pairing.ts';
import { jsonAnswer } from '../../src/console/route.ts';
import { openTabletDoor, type TabletDoor } from '../../src/console/tabletDoor.ts';
import { OutsideFailure } from '../../src/failure.ts';
import { readOrder } from '../../src/protocol/console.ts';

const folder = mkdtempSync(join(tmpdir(), 'steerworthy-door-'));
for (const page of ['tablet', 'console', 'assets']) {
	mkdirSync(join(folder, page));
	writeFileSync(join(folder, page, 'index.html'), `this is ${page}`);
}

let door: TabletDoor | null = null;
afterEach(() => door?.close());

async function open() {
	const told: string[] = [];
	const pairing = new Pairing({ nowMs: () => 0, randomBytes });
	door = await openTabletDoor(
		{ address: '127.0.0.1', port: 0, pagesFolder: folder, tls: null, pairing },
		{
			paired: () => told.push('paired'),
			page: () => told.push('page'),
			able: ({ videoDecoder }) => told.push(`able ${videoDecoder}`),
			answered: ({ sdp }) => told.push(`answered ${sdp}`),
			waiting: (count) => told.push(`waiting ${count}`),
			refused: (reason) => told.push(`refused ${reason}`),
		},
	);
	const { url, port } = door;
	const get = (path: string, cookie = '') =>
		fetch(`${url}${path}`, { redirect: 'manual', headers: { cookie } });
	return { told, pairing, url, port, get, door };
}

async function comeIn({ get, pairing }: Awaited<ReturnType<typeof open>>): Promise<string> {
	const answer = await get(`pair?code=${pairing.code}`);
	expect(answer.status).toBe(302);
	return (answer.headers.get('set-cookie') ?? '').split(';')[0] ?? '';
}

/** The status of the answer to an upgrade, or `open`. */
function knock(port: number, headers: Record<string, string>): Promise<string> {
	const socket = new WebSocket(`ws://127.0.0.1:${port}/control`, { headers });
	return new Promise((resolve) => {
		socket.on('open', () => resolve('open'));
		socket.on('error', () => resolve('refused'));
	});
}

test('without a code a device gets no page, no file and no socket; with one it gets the tablet page and not the console', async () => {
	const opened = await open();
	const { get, told, port } = opened;
	for (const path of ['', 'tablet/', 'assets/', 'console/']) expect((await get(path)).status).toBe(403);
	expect(await knock(port, { origin: `http://127.0.0.1:${port}` })).toBe('refused');
	const cookie = await comeIn(opened);
	expect(await (await get('tablet/', cookie)).text()).toBe('this is tablet');
	expect((await get('console/', cookie)).status).toBe(404);
	expect((await get('..%2f..%2fetc/passwd', cookie)).status).toBe(404);
	expect((await get('tablet/..%2fconsole/', cookie)).status).toBe(404);
	expect(await knock(port, { cookie, origin: `http://127.0.0.1:${port}` })).toBe('open');
	expect(told).toEqual(['paired', 'page', 'waiting 1']);
});

test('a page from elsewhere cannot speak in the name of a tablet that is in', async () => {
	const opened = await open();
	const cookie = await comeIn(opened);
	expect(await knock(opened.port, { cookie, origin: 'http://elsewhere.example' })).toBe('refused');
	expect(await knock(opened.port, { cookie })).toBe('refused');
});

test('wrong, used and guessed codes are refused in words, and guessing is stopped', async () => {
	const opened = await open();
	const { get, pairing, told } = opened;
	const used = pairing.code;
	await comeIn(opened);
	expect(await (await get(`pair?code=${used}`)).text()).toContain('good once');
	expect(await (await get('pair?code=GUESS')).text()).toContain('not the code');
	for (let i = 0; i < 3; i++) await get(`pair?code=GUESS${i}`);
	const stopped = await get(`pair?code=${pairing.code}`);
	expect(stopped.status).toBe(429);
	expect(told.filter((one) => one === 'refused wrong')).toHaveLength(4);
	expect(told.at(-1)).toBe('refused tooMany');
});

test('a waiting page tells what it can do; nonsense from it is answered by closing with the reason; a run takes it over', async () => {
	const opened = await open();
	const { told, port } = opened;
	const headers = { cookie: await comeIn(opened), origin: `http://127.0.0.1:${port}` };
	const enter = async () => {
		const socket = new WebSocket(`ws://127.0.0.1:${port}/control`, { headers });
		const first = await new Promise((resolve) => socket.once('message', (data) => resolve(String(data))));
		return { socket, first };
	};
	const { socket, first } = await enter();
	expect(first).toBe('{"type":"waiting"}');
	const facts = { videoDecoder: false, secureContext: false, wakeLock: false, webrtc: false, userAgent: 'x' };
	socket.send(JSON.stringify({ type: 'able', ...facts }));
	await expect.poll(() => told).toContain('able false');
	const closing = new Promise((resolve) => socket.on('close', (code, why) => resolve(`${code} ${why}`)));
	socket.send('{}');
	expect(await closing).toMatch(/^1008 type/);
	const next = await enter();
	let taken = 0;
	const leave = opened.door.attend(() => taken++);
	expect(taken).toBe(1);
	leave();
	next.socket.close();
});

test('the console answers its own name on this computer only, and orders from its own page only', async () => {
	const server = await openConsoleServer({
		port: 0,
		pagesFolder: folder,
		runsFolder: folder,
		routes: [{ method: 'POST', path: '/ask/echo', answer: async ({ body }) => jsonAnswer(body) }],
		isBusy: () => false,
		onPage: () => {},
	});
	const post = (origin: string) =>
		fetch(`${server.url}ask/echo`, { method: 'POST', body: '{"a":1}', headers: { origin } });
	const own = `http://127.0.0.1:${server.port}`;
	expect(await (await post(own)).json()).toEqual({ a: 1 });
	expect((await post('http://elsewhere.example')).status).toBe(403);
	expect(await knock(server.port, { origin: own })).toBe('refused');
	const rebound = new WebSocket(`ws://127.0.0.1:${server.port}/console-socket`, {
		headers: { host: 'elsewhere.example', origin: 'http://elsewhere.example' },
	});
	expect(await new Promise((resolve) => rebound.on('error', () => resolve('refused')))).toBe('refused');
	server.close();
});

test('a file is kept as it comes; what is heavy waits for the end of a run; a page that fails is a page that says why', async () => {
	let busy = false;
	const path = '/ask/keep';
	const failing = async () => {
		throw new OutsideFailure('noRun', '<i>Nothing</i> here.', 'Look elsewhere.');
	};
	const server = await openConsoleServer({
		...{ port: 0, pagesFolder: folder, runsFolder: folder, isBusy: () => busy, onPage: () => {} },
		routes: [
			{ method: 'GET', path: '/ask/fails', answer: failing },
			{
				...{ method: 'PUT', path, heavy: true },
				keep: async ({ query, bytes }) => {
					let count = 0;
					for await (const piece of bytes) count += piece.length;
					return jsonAnswer({ name: query.get('name'), count });
				},
			},
		],
	});
	const own = `http://127.0.0.1:${server.port}`;
	const put = (origin: string) =>
		fetch(`${own}${path}?name=a`, { method: 'PUT', body: new Uint8Array(9_000_000), headers: { origin } });
	expect(await (await put(own)).json()).toEqual({ name: 'a', count: 9_000_000 });
	expect((await put('http://elsewhere.example')).status).toBe(403);
	busy = true;
	expect(await (await put(own)).json()).toEqual({ failed: expect.stringContaining('A run is on') });
	const failed = await fetch(`${own}/ask/fails`);
	expect(failed.headers.get('content-type')).toContain('text/html');
	expect(await failed.text()).toContain('&lt;i&gt;Nothing&lt;/i&gt; here. Look elsewhere.');
	server.close();
});

test('a certificate is kept while it names the addresses in use, and made anew for another', async () => {
	const kept = mkdtempSync(join(tmpdir(), 'steerworthy-certificate-'));
	const nowMs = Date.UTC(2026, 0, 1);
	const first = await keepCertificate(kept, ['192.168.4.7'], nowMs);
	expect((await keepCertificate(kept, ['192.168.4.7'], nowMs)).fingerprint).toBe(first.fingerprint);
	const other = await keepCertificate(kept, ['192.168.4.7', '10.0.0.5'], nowMs);
	expect(other.fingerprint).not.toBe(first.fingerprint);
	const aYearOn = await keepCertificate(kept, ['10.0.0.5'], nowMs + 390 * 86_400_000);
	expect(aYearOn.fingerprint).not.toBe(other.fingerprint);
});

test('a page that waits and talks without end, or in bytes, is cut off with the reason; an answer from it is handed on', async () => {
	const opened = await open();
	const { told, port } = opened;
	const headers = { cookie: await comeIn(opened), origin: `http://127.0.0.1:${port}` };
	const enter = async () => {
		const socket = new WebSocket(`ws://127.0.0.1:${port}/control`, { headers });
		await new Promise((resolve) => socket.once('message', resolve));
		const closed = new Promise((resolve) => socket.on('close', (code, why) => resolve(`${code} ${why}`)));
		return { socket, closed };
	};
	const talker = await enter();
	talker.socket.send(JSON.stringify({ type: 'answer', way: 'probe', link: 1, sdp: 'yes' }));
	await expect.poll(() => told).toContain('answered yes');
	for (let i = 0; i < 60; i++) talker.socket.send(JSON.stringify({ type: 'mark', n: i }));
	expect(await talker.closed).toBe('1008 too much said before a run');
	const bytes = await enter();
	bytes.socket.send(Buffer.alloc(10));
	expect(await bytes.closed).toBe('1008 too much said before a run');
	const huge = await enter();
	huge.socket.on('error', () => {});
	huge.socket.send('x'.repeat(4_100_000));
	expect(await huge.closed).toMatch(/^(1009|1006)/);
});

test('an order that is none, or too long, closes the socket of the laptop’s page; a body too long is refused', async () => {
	const server = await openConsoleServer({
		port: 0,
		pagesFolder: folder,
		runsFolder: folder,
		routes: [{ method: 'POST', path: '/ask/echo', answer: async ({ body }) => jsonAnswer(body) }],
		isBusy: () => false,
		onPage: (page) => page.on('error', () => page.terminate()),
	});
	const own = `http://127.0.0.1:${server.port}`;
	const socket = new WebSocket(`ws://127.0.0.1:${server.port}/console-socket`, { headers: { origin: own } });
	socket.on('error', () => {});
	await new Promise((resolve) => socket.on('open', resolve));
	const closed = new Promise((resolve) => socket.on('close', resolve));
	socket.send('x'.repeat(70_000));
	expect([1006, 1009]).toContain(await closed);
	const answer = await fetch(`${server.url}ask/echo`, {
		method: 'POST',
		body: `"${'x'.repeat(8_100_000)}"`,
		headers: { origin: own },
	});
	expect(answer.status).toBe(400);
	for (const text of ['', 'null', '{}', '{"type":"start"}', '{"type":"openDoor","address":7,"https":false}'])
		expect(readOrder(text)).toBeNull();
	server.close();
});

import { afterEach, expect, test } from 'vitest';
import { WebSocket } from 'ws';
import { type FromViewer, PROTOCOL_VERSION, type ToViewer } from '../../../src/protocol/control.ts';
import { type ControlServer, openControlServer } from '../../../src/rigs/link/controlServer.ts';

const plan: ToViewer = { type: 'waiting' };
const hello = {
	type: 'hello',
	protocol: PROTOCOL_VERSION,
	displayPeriodMs: null,
	clockQuantumMs: null,
	userAgent: 'test',
	viewerPoint: 'decoded',
	decoder: 'none',
} as const satisfies FromViewer;

let server: ControlServer | null = null;
afterEach(() => server?.close());

async function open() {
	const told: string[] = [];
	server = await openControlServer(
		{ host: '0.0.0.0', port: 0, pagesFolder: null, door: null, plan: () => plan },
		{
			came: ({ page }) => {
				told.push(`came ${page ?? '-'}`);
				return null;
			},
			message: (message) => told.push('n' in message ? `${message.type} ${message.n}` : message.type),
			bytes: () => told.push('bytes'),
			refused: (reason, steering) =>
				told.push(`refused ${steering ? 'the steering one' : 'another'}: ${reason}`),
			left: () => told.push('left'),
			watching: (count) => told.push(`watching ${count}`),
			looker: {
				ready: (id) => told.push(`looker ${id} ready`),
				answered: (id) => told.push(`looker ${id} answered`),
				gone: (id) => told.push(`looker ${id} gone`),
			},
		},
	);
	return { told, port: server.port ?? 0 };
}

async function connect(port: number, localAddress = '127.0.0.1') {
	const socket = new WebSocket(`ws://127.0.0.1:${port}/control`, { localAddress });
	const heard: string[] = [];
	const closed = new Promise<string>((resolve) => {
		socket.on('close', (code, reason) => resolve(`${code} ${reason}`));
	});
	socket.on('error', () => {});
	const first = new Promise((resolve) => socket.once('message', resolve));
	socket.on('message', (data) => heard.push(String(data)));
	await first;
	return {
		heard,
		closed,
		say: (message: object | string) =>
			socket.send(typeof message === 'string' ? message : JSON.stringify(message)),
		socket,
	};
}

const event = (n: number): FromViewer => ({
	type: 'event',
	n,
	atMs: n,
	code: 'x',
	frameNumber: null,
	detail: null,
});

test('an answer to the door’s trial that crosses the plan shuts nobody out', async () => {
	const { told, port } = await open();
	const one = await connect(port);
	one.say({ type: 'answer', way: 'probe', link: 1, sdp: 'v=0' });
	one.say({ ...hello, page: 'one' });
	await expect.poll(() => told).toEqual(['came one']);
	const two = await connect(port);
	two.say({ type: 'ready' });
	expect(await two.closed).toBe('1008 the first message must be hello');
});

test('of two pages that claim one run the second is refused with the reason, and may look on', async () => {
	const { told, port } = await open();
	const one = await connect(port);
	one.say({ ...hello, page: 'one' });
	await expect.poll(() => told).toContain('came one');
	const two = await connect(port);
	two.say({ ...hello, page: 'two' });
	expect(await two.closed).toBe('1008 another viewer steers this run');
	const three = await connect(port);
	three.say({ ...hello, page: 'three', watching: true });
	await expect.poll(() => told).toContain('watching 1');
	three.say({ type: 'ready' });
	three.say(event(1));
	three.socket.close();
	await expect.poll(() => told.at(-1)).toBe('watching 0');
	expect(told).toEqual([
		'came one',
		'refused another: another viewer steers this run',
		'watching 1',
		'looker 0 ready',
		'looker 0 gone',
		'watching 0',
	]);
});

test('a page that comes back from another address takes its seat again, and what it says twice counts once', async () => {
	const { told, port } = await open();
	const before = await connect(port);
	before.say({ ...hello, page: 'one' });
	before.say(event(1));
	before.say(event(2));
	before.say({ type: 'mark', n: 2 });
	await expect.poll(() => before.heard).toContain('{"type":"got","n":2}');
	// The old connection is still open here, as it is for minutes when a tablet changes its network.
	const after = await connect(port, '127.0.0.2');
	after.say({ ...hello, page: 'one' });
	for (const n of [1, 2, 3]) after.say(event(n));
	await expect.poll(() => told).toContain('event 3');
	expect(told).toEqual(['came one', 'event 1', 'event 2', 'left', 'came one', 'event 3']);
});

test('a page that was loaded anew counts from the beginning', async () => {
	const { told, port } = await open();
	const before = await connect(port);
	before.say({ ...hello, page: 'one' });
	before.say(event(1));
	await expect.poll(() => told).toContain('event 1');
	before.socket.close();
	await expect.poll(() => told).toContain('left');
	const after = await connect(port);
	after.say({ ...hello, page: 'two' });
	after.say(event(1));
	await expect.poll(() => told.filter((one) => one === 'event 1')).toHaveLength(2);
});

test.each([
	['not JSON', 'not JSON'],
	['{"type":"steer"}', 'type: Invalid'],
	['x'.repeat(1_100_000), 'longer than 1000000 characters'],
])('a hostile message is answered by closing with the reason', async (text, reason) => {
	const { told, port } = await open();
	const { say, closed } = await connect(port);
	say(text);
	expect(await closed).toContain(`1008 ${reason}`);
	expect(told[0]).toContain(`refused another: ${reason}`);
});

test('a message beyond four megabytes is cut off before it is held in memory', async () => {
	const { port } = await open();
	const { say, closed } = await connect(port);
	say('x'.repeat(4_100_000));
	expect(await closed).toMatch(/^(1009|1006|1008)/);
});

test('a page without a name does not take a seat from another without a name', async () => {
	const { told, port } = await open();
	const one = await connect(port);
	one.say(hello);
	await expect.poll(() => told).toContain('came -');
	const two = await connect(port);
	two.say(hello);
	expect(await two.closed).toBe('1008 another viewer steers this run');
	one.say(event(1));
	await expect.poll(() => told.at(-1)).toBe('event 1');
	expect(told).not.toContain('left');
});

test('bytes are taken from the viewer in the seat alone: one that looks on is cut off for them', async () => {
	const { told, port } = await open();
	const one = await connect(port);
	one.say({ ...hello, page: 'one' });
	await expect.poll(() => told).toContain('came one');
	const looker = await connect(port);
	looker.say({ ...hello, page: 'two', watching: true });
	await expect.poll(() => told).toContain('watching 1');
	looker.socket.send(Buffer.from([1, 2, 3]));
	expect(await looker.closed).toBe('1008 bytes from a viewer that does not steer');
	one.socket.send(Buffer.from([1, 2, 3]));
	await expect.poll(() => told).toContain('bytes');
	expect(told.filter((one) => one === 'bytes')).toHaveLength(1);
});

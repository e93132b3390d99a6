/**
 * A TCP relay that puts simulated air in the way from sender to viewer, in a process of its own. What comes from the
 * sender in one read is one packet to the air (radio gathers what leaves together); its bytes go on unchanged and in
 * order when the air says. The other way passes untouched. What was really done is logged chunk by chunk.
 *
 * The air is used as a stream: what it would lose comes late, as TCP's resending makes it, and nothing is missing.
 */
import { connect, createServer, type Socket } from 'node:net';
import { type Air, createAir } from '../simulation/air.ts';
import { createRandom } from '../statistics/random.ts';
import { onParentMessage, tellParent } from './childChannel.ts';
import { listen } from './listen.ts';
import { monotonicMs, waitUntil } from './monotonic.ts';
import { type FromRelay, type RelayRow, type ToRelay, toRelaySchema } from './relayMessages.ts';
import { repeatUnevenly } from './unevenly.ts';

const FLUSH_EVERY_MS = 250;

type Waiting = { readonly inMs: number; readonly plannedMs: number; readonly bytes: Uint8Array };

const log: RelayRow[] = [];

onParentMessage(toRelaySchema, async (order) => {
	if (order.type === 'open') await open(order);
	else {
		flush();
		report({ type: 'stopped' });
	}
});

async function open({
	host,
	port,
	upstreamPort,
	air: spec,
	seed,
}: Extract<ToRelay, { type: 'open' }>): Promise<void> {
	const air = createAir({ ...spec, carriage: 'stream' }, createRandom(seed));
	const plan = createPlan(air);
	let connections = 0;
	const server = createServer((viewer) =>
		join(viewer, connect(upstreamPort, host), { plan, connection: connections++ }),
	);
	const opened = await listen(server, port, host);
	repeatUnevenly(FLUSH_EVERY_MS, flush);
	report({ type: 'open', port: opened });
}

/** Gives each chunk its instant of release; the air's zero is the first chunk of all. */
function createPlan(air: Air): (inMs: number, byteCount: number) => number {
	let zeroMs: number | null = null;
	return (inMs, byteCount) => {
		if (zeroMs === null) {
			zeroMs = inMs;
			report({ type: 'zero', atMs: zeroMs });
		}
		const passage = air.send(inMs - zeroMs, byteCount);
		if (!('deliverAtMs' in passage)) throw new RangeError('the air lost a chunk of a stream');
		return zeroMs + passage.deliverAtMs;
	};
}

type Way = { readonly plan: (inMs: number, byteCount: number) => number; readonly connection: number };

function join(viewer: Socket, sender: Socket, way: Way): void {
	viewer.setNoDelay(true);
	sender.setNoDelay(true);
	viewer.on('data', (chunk) => sender.write(chunk));
	const queue: Waiting[] = [];
	let releasing = false;
	sender.on('data', (bytes) => {
		const inMs = monotonicMs();
		queue.push({ inMs, plannedMs: way.plan(inMs, bytes.length), bytes });
		if (releasing) return;
		releasing = true;
		release(queue, viewer, way.connection).finally(() => {
			releasing = false;
		});
	});
	for (const [one, other] of [
		[viewer, sender],
		[sender, viewer],
	] as const) {
		one.on('error', () => other.destroy());
		one.on('close', () => other.destroy());
	}
}

/** Writes chunks on in order, each at its instant or just after, until none waits. */
async function release(queue: Waiting[], viewer: Socket, connection: number): Promise<void> {
	for (let chunk = queue.shift(); chunk !== undefined; chunk = queue.shift()) {
		if (monotonicMs() < chunk.plannedMs) await waitUntil(chunk.plannedMs);
		const outMs = monotonicMs();
		if (viewer.writable) viewer.write(chunk.bytes);
		// The plan is not rounded: it is compared with the air's own words, and never lies after the release.
		log.push([connection, chunk.inMs, chunk.plannedMs, outMs, chunk.bytes.length]);
	}
}

function flush(): void {
	if (log.length > 0) report({ type: 'rows', rows: log.splice(0) });
}

function report(message: FromRelay): void {
	tellParent(message);
}

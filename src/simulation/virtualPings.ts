/**
 * A viewer's clock of known error, and pings to it over simulated air, in virtual time: what `observations/clock.ts` is
 * tried on. Both ways have an air of their own, so that they may differ, which no ping can see.
 */
import type { Ping } from '../observations/clock.ts';
import { createRandom, type Random } from '../statistics/random.ts';
import { createAir } from './air.ts';
import type { AirSpec } from './airSpec.ts';

export type VirtualPingsSpec = {
	/** Viewer less reference at reference zero. */
	readonly aheadMs: number;
	/** How much faster than the reference the viewer's clock runs. */
	readonly fastPpm: number;
	/** The clock shows whole multiples of this; 0: as fine as numbers are. */
	readonly quantumMs: number;
	readonly burstEveryMs: number;
	readonly pingsPerBurst: number;
	readonly toViewer: AirSpec;
	readonly fromViewer: AirSpec;
};

export type VirtualPings = {
	/** What the viewer's clock shows at a reference instant. */
	viewerMs(referenceMs: number): number;
	/** The next burst, and the reference instant by which all its answers are back. */
	nextBurst(): { readonly pings: Ping[]; readonly backByMs: number };
};

const PING_BYTES = 100;
/** Next ping once the last is back, after a wait of up to so much, so that pings do not keep step with anything. */
const SPACING_MS = 40;

export function createVirtualPings(spec: VirtualPingsSpec, random: Random): VirtualPings {
	const there = createAir({ ...spec.toViewer, carriage: 'stream' }, createRandom(random.integer(2 ** 32)));
	const back = createAir({ ...spec.fromViewer, carriage: 'stream' }, createRandom(random.integer(2 ** 32)));
	let atMs = 0;

	function viewerMs(referenceMs: number): number {
		const exact = referenceMs * (1 + spec.fastPpm * 1e-6) + spec.aheadMs;
		return spec.quantumMs === 0 ? exact : Math.floor(exact / spec.quantumMs) * spec.quantumMs;
	}

	function ping(): Ping {
		const gotMs = deliveredMs(there.send(atMs, PING_BYTES));
		const answeredMs = gotMs + 0.02 + random.exponential(0.1);
		const backMs = deliveredMs(back.send(answeredMs, PING_BYTES));
		const stamps: Ping = [atMs, viewerMs(gotMs), viewerMs(answeredMs), backMs];
		atMs = backMs + SPACING_MS * random.next();
		return stamps;
	}

	return {
		viewerMs,
		nextBurst() {
			const startMs = atMs;
			const pings = Array.from({ length: spec.pingsPerBurst }, ping);
			const backByMs = pings.at(-1)?.[3] ?? startMs;
			atMs = Math.max(atMs, startMs + spec.burstEveryMs * (0.75 + 0.5 * random.next()));
			return { pings, backByMs };
		},
	};
}

function deliveredMs(passage: ReturnType<ReturnType<typeof createAir>['send']>): number {
	if ('deliverAtMs' in passage) return passage.deliverAtMs;
	throw new RangeError(`a stream loses nothing, yet lost a packet at ${passage.lostAtMs} ms`);
}

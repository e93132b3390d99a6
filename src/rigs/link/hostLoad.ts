/**
 * How busy the bench's own machine is, since the last sample: the share of all its processors' time that was not idle, the
 * longest delay of this process's event loop, and the median time of encoding a picture. Null where nothing is known.
 */
import { cpus } from 'node:os';
import { monitorEventLoopDelay } from 'node:perf_hooks';
import { quantileSorted, sortSamples } from '../../statistics/quantile.ts';

/** The monitor wakes this often, and counts its own sleep as delay. */
const WAKE_EVERY_MS = 10;

type HostLoad = {
	readonly busyRatio: number | null;
	readonly loopDelayMs: number;
	readonly encodeMs: number | null;
};

export type HostWatch = {
	/** One picture took so long to encode. */
	encoded(encodeMs: number): void;
	sample(): HostLoad;
	stop(): void;
};

export function watchHostLoad(): HostWatch {
	const loop = monitorEventLoopDelay({ resolution: WAKE_EVERY_MS });
	loop.enable();
	let before = processorTimes();
	let encodeMs: number[] = [];
	return {
		encoded: (ms) => encodeMs.push(ms),
		sample() {
			const now = processorTimes();
			const totalMs = now.totalMs - before.totalMs;
			const idleMs = now.idleMs - before.idleMs;
			before = now;
			const longestMs = loop.count === 0 ? 0 : loop.max / 1e6;
			loop.reset();
			const encodes = encodeMs;
			encodeMs = [];
			return {
				busyRatio: totalMs > 0 ? Math.min(1, Math.max(0, 1 - idleMs / totalMs)) : null,
				loopDelayMs: Math.max(0, longestMs - WAKE_EVERY_MS),
				encodeMs: encodes.length === 0 ? null : quantileSorted(sortSamples(encodes), 0.5),
			};
		},
		stop: () => loop.disable(),
	};
}

function processorTimes(): { totalMs: number; idleMs: number } {
	let totalMs = 0;
	let idleMs = 0;
	for (const { times } of cpus()) {
		totalMs += times.user + times.nice + times.sys + times.idle + times.irq;
		idleMs += times.idle;
	}
	return { totalMs, idleMs };
}

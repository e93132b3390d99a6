/**
 * How busy the bench's own machine is: the share of all its processors' time that was not idle, and the longest delay of
 * this process's event loop, since the last sample. Busy is null where the system keeps no such count.
 */
import { cpus } from 'node:os';
import { monitorEventLoopDelay } from 'node:perf_hooks';

/** The monitor wakes this often, and counts its own sleep as delay. */
const WAKE_EVERY_MS = 10;

export type HostLoad = { readonly busyRatio: number | null; readonly loopDelayMs: number };

export function watchHostLoad(): { sample(): HostLoad; stop(): void } {
	const loop = monitorEventLoopDelay({ resolution: WAKE_EVERY_MS });
	loop.enable();
	let before = processorTimes();
	return {
		sample() {
			const now = processorTimes();
			const totalMs = now.totalMs - before.totalMs;
			const idleMs = now.idleMs - before.idleMs;
			before = now;
			const longestMs = loop.count === 0 ? 0 : loop.max / 1e6;
			loop.reset();
			return {
				busyRatio: totalMs > 0 ? Math.min(1, Math.max(0, 1 - idleMs / totalMs)) : null,
				loopDelayMs: Math.max(0, longestMs - WAKE_EVERY_MS),
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

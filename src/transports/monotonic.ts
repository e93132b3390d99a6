/**
 * The one clock of this machine: milliseconds of CLOCK_MONOTONIC, the same in every process here (Node's hrtime reads it
 * on Linux; macOS and Windows have one clock of that kind for all processes too). It never steps with the wall clock.
 */
import { setImmediate as nextTurn, setTimeout as pause } from 'node:timers/promises';

/** A timer fires late by up to about this; the rest of the wait is spent turning the event loop. */
export const TIMER_SLACK_MS = 1.5;

export function monotonicMs(): number {
	return Number(process.hrtime.bigint()) / 1e6;
}

/** Resolves at `atMs` or just after, never before. Sockets are served meanwhile, also when `atMs` has passed. */
export async function waitUntil(atMs: number): Promise<void> {
	const coarseMs = atMs - monotonicMs() - TIMER_SLACK_MS;
	if (coarseMs > 0) await pause(coarseMs);
	do await nextTurn();
	while (monotonicMs() < atMs);
}

/** To a thousandth of a millisecond: what records keep. */
export function roundMs(ms: number): number {
	return Math.round(ms * 1000) / 1000;
}

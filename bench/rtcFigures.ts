/** What the WebRTC bench reads off a run and off its relay's log, in the observed time. */
import type { Run } from '../src/observations/run.ts';
import type { UdpRelayLog } from '../src/transports/udpRelay.ts';

export function observed({ segments }: Run): { fromMs: number; toMs: number } {
	return { fromMs: segments[0]?.warmUpUntilMs ?? 0, toMs: segments.at(-1)?.endMs ?? 0 };
}

export function decodedDelays(run: Run): number[] {
	const { fromMs } = observed(run);
	return [...run.frames].flatMap((frame) =>
		frame.decodedMs === null || frame.shownMs < fromMs ? [] : [frame.decodedMs - frame.shownMs],
	);
}

export function seenDelays(run: Run): number[] {
	const { fromMs } = observed(run);
	return [...run.frames].flatMap((frame) =>
		frame.seenMs === null || frame.shownMs < fromMs ? [] : [frame.seenMs - frame.shownMs],
	);
}

/** Of every frame that the source showed, in order. */
export function shownMs(run: Run): number[] {
	return [...run.frames].map((frame) => frame.shownMs).sort((a, b) => a - b);
}

export function addedMs(log: UdpRelayLog | null, run: Run): number[] {
	const { fromMs, toMs } = observed(run);
	return (log?.rows ?? []).flatMap(([way, inMs, , outMs, , rtp]) =>
		way === 0 && outMs !== null && rtp !== null && inMs >= fromMs && inMs <= toMs ? [outMs - inMs] : [],
	);
}

/** Mean time in the jitter buffer over the observed time, from the browser's own counts. */
export function bufferMean(run: Run): number {
	const { fromMs, toMs } = observed(run);
	const rows = run.streamCounts
		.filter(({ end }) => end === 'viewer')
		.flatMap((record) => record.rows)
		.filter(([atMs]) => atMs >= fromMs && atMs <= toMs);
	const [first, last] = [rows[0], rows.at(-1)];
	if (first === undefined || last === undefined) throw new Error('no counts');
	return ((last[5] ?? 0) - (first[5] ?? 0)) / ((last[6] ?? 0) - (first[6] ?? 0));
}

/** Throws for none. */
export function mean(values: readonly number[]): number {
	if (values.length === 0) throw new RangeError('no values to take the mean of');
	return values.reduce((sum, value) => sum + value, 0) / values.length;
}

/**
 * What the relay really did, for comparing a reading with what happened and not with what was asked for.
 *
 * Two delays are told: of chunks, and of whole pictures (from the arrival of a picture's last byte at the relay to its
 * release). Left out: the relay's own reading and writing, some hundredths of a millisecond each way.
 */
import { quantileSorted, sortSamples } from '../statistics/quantile.ts';
import type { RelayRow } from './relayMessages.ts';

export type RelayLog = {
	/** CLOCK_MONOTONIC instant of the air's own zero. */
	readonly zeroMs: number;
	/** [connection, inMs, plannedMs, outMs, bytes], in order of release. */
	readonly rows: readonly RelayRow[];
};

export type PictureDelay = {
	readonly frameNumber: number;
	readonly inMs: number;
	readonly outMs: number;
	readonly addedMs: number;
};

/** Median added delay and how late releases were against the plan; null for an empty log. */
export function relayDelays(
	log: RelayLog,
): { readonly medianMs: number; readonly latenessMedianMs: number; readonly latenessP99Ms: number } | null {
	if (log.rows.length === 0) return null;
	const addedMs = sortSamples(log.rows.map(([, inMs, , outMs]) => outMs - inMs));
	const latenessMs = sortSamples(log.rows.map(([, , plannedMs, outMs]) => outMs - plannedMs));
	return {
		medianMs: quantileSorted(addedMs, 0.5),
		latenessMedianMs: quantileSorted(latenessMs, 0.5),
		latenessP99Ms: quantileSorted(latenessMs, 0.99),
	};
}

/**
 * Each picture's delay in the relay, from bytes counted on one connection: `endByte` is the sender's count at the
 * picture's end. Pictures without a count, and those that the log does not reach, are left out.
 */
export function pictureDelays(
	log: RelayLog,
	pictures: Iterable<{ readonly frameNumber: number; readonly endByte: number | null }>,
	connection = 0,
): PictureDelay[] {
	const rows = log.rows.filter(([of]) => of === connection);
	const delays: PictureDelay[] = [];
	let at = 0;
	let passedBytes = rows[0]?.[4] ?? 0;
	for (const { frameNumber, endByte } of pictures) {
		if (endByte === null) continue;
		while (at < rows.length && passedBytes < endByte) passedBytes += rows[++at]?.[4] ?? 0;
		const row = rows[at];
		if (row === undefined) break;
		const [, inMs, , outMs] = row;
		delays.push({ frameNumber, inMs, outMs, addedMs: outMs - inMs });
	}
	return delays;
}

/**
 * The frames that the source showed in the observed time, as columns, one set for each segment that outlasts its
 * warm-up, in the order shown. A frame belongs to the run by when it was shown: in [end of warm-up, end of segment).
 * What the viewer saw of them after the segment's end still counts as seen.
 */
import { FATES, type Fate } from '../observations/records.ts';
import type { Run } from '../observations/run.ts';

export type SegmentSent = {
	readonly segment: number;
	readonly fromMs: number;
	readonly endMs: number;
	readonly count: number;
	readonly dueMs: Float64Array;
	readonly shownMs: Float64Array;
	/** Place in `FATES`. */
	readonly fate: Uint8Array;
	/** 1: reached the viewer's decoder. */
	readonly decoded: Uint8Array;
};

type Rows = {
	readonly dueMs: number[];
	readonly shownMs: number[];
	readonly fate: number[];
	readonly decoded: number[];
};

/** Fates that only a decoded frame can have, whether or not the rig stamped the decoding. */
const DECODED_FATES: ReadonlySet<Fate> = new Set(['presented', 'notDrawn', 'unreadable']);

/** One set of columns for each segment with observed time in it, in the run's order. */
export function gatherSent(run: Run): SegmentSent[] {
	const observed = run.segments.filter(({ warmUpUntilMs, endMs }) => endMs > warmUpUntilMs);
	const bySegment = new Map(
		observed.map(({ segment, warmUpUntilMs, endMs }) => [
			segment,
			{ fromMs: warmUpUntilMs, endMs, rows: { dueMs: [], shownMs: [], fate: [], decoded: [] } as Rows },
		]),
	);
	for (const frame of run.frames) {
		const into = bySegment.get(frame.segment);
		if (into === undefined || frame.shownMs < into.fromMs || frame.shownMs >= into.endMs) continue;
		into.rows.dueMs.push(frame.dueMs);
		into.rows.shownMs.push(frame.shownMs);
		into.rows.fate.push(FATES.indexOf(frame.fate));
		into.rows.decoded.push(frame.decodedMs !== null || DECODED_FATES.has(frame.fate) ? 1 : 0);
	}
	return Array.from(bySegment, ([segment, { fromMs, endMs, rows }]) => ({
		segment,
		fromMs,
		endMs,
		count: rows.shownMs.length,
		...inOrderShown(rows),
	}));
}

/** Loss runs and gaps of the source need the source's order; the file's is the viewer's. */
function inOrderShown({ dueMs, shownMs, fate, decoded }: Rows) {
	const order = Array.from(shownMs.keys()).sort((a, b) => shownMs[a]! - shownMs[b]!);
	return {
		dueMs: Float64Array.from(order, (row) => dueMs[row]!),
		shownMs: Float64Array.from(order, (row) => shownMs[row]!),
		fate: Uint8Array.from(order, (row) => fate[row]!),
		decoded: Uint8Array.from(order, (row) => decoded[row]!),
	};
}

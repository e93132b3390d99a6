/**
 * Room left for the scope and its app, when the run judged a link: the delay that could be added to every picture with
 * the age, delay and half-second lines still met by their upper bounds. A constant added to every delay moves the whole
 * curve, so the room is what the bound of each quantile leaves to its level. It leaves out what the scope would add in
 * unevenness.
 */
import type { Metrics } from '../metrics/metric.ts';
import { HALF_SECOND_MS } from './criteria.ts';
import type { JudgedLine } from './verdict.ts';

/** Whole milliseconds, rounded down; null where a bound is missing or leaves nothing. */
export function roomLeftMs(
	{ pictureAge, freshDelay }: Metrics,
	steerLines: readonly JudgedLine[],
): number | null {
	if (pictureAge.kind !== 'measured' || freshDelay.kind !== 'measured') return null;
	const held = new Set(steerLines.map(({ id }) => id));
	if (!held.has('age') || !held.has('delay') || !held.has('half-second')) return null;
	const rooms = [
		room(pictureAge.overLimit.limit, pictureAge.p95UpperMs),
		room(freshDelay.overLimit.limit, freshDelay.p95UpperMs),
		room(HALF_SECOND_MS, freshDelay.medianUpperMs),
	];
	const least = Math.min(...rooms);
	return least >= 0 ? Math.floor(least) : null;
}

/** NaN without a bound, so that no least room comes of it. */
function room(levelMs: number, boundMs: number | null): number {
	return boundMs === null ? Number.NaN : levelMs - boundMs;
}

/**
 * RFC 3550 interarrival jitter (6.4.1 and A.8, floating form; published): d is the change of transit time from one
 * picture to the next, and J += (|d| - J) / 16, from J = 0 with no update at the first. A smoothed figure that depends
 * on order; neither a standard deviation nor a percentile.
 */

const GAIN = 1 / 16;

/** Transit times in ms, in order of arrival; both results in ms, zero for fewer than two. */
export function interarrivalJitter(transitsMs: ArrayLike<number>): { lastMs: number; maxMs: number } {
	let jitterMs = 0;
	let maxMs = 0;
	for (let i = 1; i < transitsMs.length; i++) {
		jitterMs += (Math.abs(transitsMs[i]! - transitsMs[i - 1]!) - jitterMs) * GAIN;
		maxMs = Math.max(maxMs, jitterMs);
	}
	return { lastMs: jitterMs, maxMs };
}

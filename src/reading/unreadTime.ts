/**
 * Frames in which the tablet could not be read, as the mean over time takes them: short gaps are bridged, in long ones the picture read last stands. Left out they
 * would make a kit look better by the spells that nobody could read.
 */
import type { Timeline } from './opticalTypes.ts';
import type { TabletReading } from './tabletReading.ts';

/**
 * Frames that could not be read are bridged over gaps up to this. Beyond it the picture read last is taken to have stood until the next:
 * the oldest that it can have been, for a picture that nobody can read is none to steer by.
 */
const BRIDGE_MS = 250;

export type Bridged = {
	readonly ticks: Float64Array;
	/** Weight of each frame in the mean; 0 where nothing is known. */
	readonly weights: Float64Array;
	/** True time of the frames that were read. */
	readonly readMs: number;
	readonly unreadRatio: number;
};

export function bridge({ ticks, read }: TabletReading, { atMs, weightMs }: Timeline): Bridged {
	const out = Float64Array.from(ticks);
	const weights = Float64Array.from(weightMs);
	let last = -1;
	let unread = 0;
	let readMs = 0;
	for (let i = 0; i <= read.length; i++) {
		if (i < read.length && read[i] === 0) {
			unread++;
			continue;
		}
		readMs += weightMs[i] ?? 0;
		if (i - last > 1) fillGap({ out, weights, atMs }, last, i);
		last = i;
	}
	return { ticks: out, weights, readMs, unreadRatio: unread / read.length };
}

function fillGap(
	{
		out,
		weights,
		atMs,
	}: { readonly out: Float64Array; readonly weights: Float64Array; readonly atMs: Float64Array },
	last: number,
	next: number,
): void {
	const known = last >= 0 && next < out.length && atMs[next]! - atMs[last]! <= BRIDGE_MS;
	for (let i = last + 1; i < next; i++) {
		if (!known) {
			if (last < 0) weights[i] = 0;
			else out[i] = out[last]!;
			continue;
		}
		const part = (atMs[i]! - atMs[last]!) / (atMs[next]! - atMs[last]!);
		out[i] = out[last]! + part * (out[next]! - out[last]!);
	}
}

/**
 * A second log of when pictures came, made from the packets that the UDP relay let through and from nothing that the rig itself
 * reports: packets of one picture share their RTP time stamp; a picture is whole when as many packets came, first sent or sent again, as
 * were first sent of it, and can be shown when those before it are whole too. Left out: what encoder, decoder, jitter buffer
 * and display add, which is taken as one amount for the whole run.
 *
 * Time stamps step by 90 a millisecond and begin anywhere: they are laid beside the source's own instants once, by the quickest of all pictures.
 */

import type { UdpRelayLog } from '../src/transports/udpRelay.ts';

/** Instants, CLOCK_MONOTONIC. */
export type LoggedPicture = {
	readonly shownMs: number;
	/** Its first packet was let through: a jitter buffer's time begins. */
	readonly firstOutMs: number;
	readonly wholeMs: number;
};

const PER_MS = 90;
const WRAP = 2 ** 32;
/** What the quickest picture takes from the source to the relay, about; and how far off that may be. */
const QUICKEST_MS = 5;
const SAME_PICTURE_MS = 15;

type Packets = { readonly stamp: number; firstInMs: number; firstSent: number; readonly outMs: number[] };

/** Whole pictures in order; `shownMs`: the source's own instants, in order. */
export function picturesOf(log: UdpRelayLog, shownMs: readonly number[]): LoggedPicture[] {
	const pictures = gather(log);
	const offsetMs = leastOf(pictures.map(({ stamp, firstInMs }) => firstInMs - stamp / PER_MS)) - QUICKEST_MS;
	const found: LoggedPicture[] = [];
	let wholeMs = 0;
	for (const { stamp, firstSent, outMs } of pictures) {
		outMs.sort((a, b) => a - b);
		const [firstOutMs] = outMs;
		const atMs = outMs[firstSent - 1];
		const shown = nearest(shownMs, stamp / PER_MS + offsetMs);
		if (firstOutMs === undefined || atMs === undefined || shown === null) continue;
		wholeMs = Math.max(wholeMs, atMs);
		found.push({ shownMs: shown, firstOutMs, wholeMs });
	}
	return found;
}

function gather({ rows }: UdpRelayLog): Packets[] {
	const usualType = mostUsual(rows.flatMap((row) => (row[0] === 0 && row[6] !== null ? [row[6]] : [])));
	const byStamp = new Map<number, Packets>();
	let [high, before] = [0, null as number | null];
	for (const [way, inMs, , outMs, , raw, type] of rows.toSorted((a, b) => a[1] - b[1])) {
		if (way !== 0 || raw === null) continue;
		if (type === usualType) {
			if (before !== null && before - raw > WRAP / 2) high += WRAP;
			before = raw;
		}
		// One that is sent again may be from before the wrap.
		const stamp = raw + (before !== null && raw - before > WRAP / 2 ? high - WRAP : high);
		const picture = byStamp.get(stamp) ?? { stamp, firstInMs: inMs, firstSent: 0, outMs: [] };
		byStamp.set(stamp, picture);
		if (type === usualType) picture.firstSent++;
		if (outMs !== null) picture.outMs.push(outMs);
	}
	return [...byStamp.values()].filter(({ firstSent }) => firstSent > 0).sort((a, b) => a.stamp - b.stamp);
}

function leastOf(values: readonly number[]): number {
	return values.reduce((least, value) => Math.min(least, value), Number.POSITIVE_INFINITY);
}

function nearest(sorted: readonly number[], atMs: number): number | null {
	let [low, high] = [0, sorted.length];
	while (low < high) {
		const middle = (low + high) >> 1;
		if ((sorted[middle] ?? 0) < atMs) low = middle + 1;
		else high = middle;
	}
	const near = [sorted[low - 1], sorted[low]].filter(
		(one): one is number => one !== undefined && Math.abs(one - atMs) < SAME_PICTURE_MS,
	);
	return near.sort((a, b) => Math.abs(a - atMs) - Math.abs(b - atMs))[0] ?? null;
}

function mostUsual(values: readonly number[]): number | undefined {
	const counts = new Map<number, number>();
	for (const value of values) counts.set(value, (counts.get(value) ?? 0) + 1);
	return [...counts].sort((a, b) => b[1] - a[1])[0]?.[0];
}

/**
 * What a person before a screen would have met, had every whole picture been seen `restMs` later. An interval that reaches into the window
 * counts whole, and the window's end cuts the last one off, as the rig says of itself: an outage may lie over either edge.
 */
export type LoggedStory = {
	readonly gapsMs: readonly number[];
	/** Intervals of at least max(3 avg, avg + 150 ms) over the 30 before (W3C webrtc-stats), were each this much longer. */
	readonly freezeCount: (longerMs: number) => number;
	readonly oldestMs: number;
	readonly overLimitRatio: number;
};

type Window = {
	readonly fromMs: number;
	readonly toMs: number;
	readonly restMs: number;
	readonly limitMs: number;
};

export function storyOf(
	pictures: readonly LoggedPicture[],
	{ fromMs, toMs, restMs, limitMs }: Window,
): LoggedStory {
	const seen = pictures.map(({ shownMs, wholeMs }) => ({ shownMs, atMs: wholeMs + restMs }));
	const came = seen.filter(({ atMs }) => atMs < toMs).map(({ atMs }) => atMs);
	const intervals = came.map((atMs, i) => ({ fromMs: atMs, ms: (came[i + 1] ?? toMs) - atMs }));
	const isObserved = (one: { fromMs: number; ms: number }): boolean => one.fromMs + one.ms > fromMs;
	const beyondMs = intervals.flatMap((one, i) => {
		const before = intervals.slice(Math.max(0, i - 30), i);
		const usual = before.reduce((sum, { ms }) => sum + ms, 0) / Math.max(1, before.length);
		return isObserved(one) ? [one.ms - Math.max(3 * usual, usual + 150)] : [];
	});
	const gapsMs = intervals.filter(isObserved).map(({ ms }) => ms);
	const freezeCount = (longerMs: number): number => beyondMs.filter((ms) => ms + longerMs >= 0).length;
	let [oldestMs, over, looks, newest] = [0, 0, 0, 0];
	for (let atMs = fromMs; atMs < toMs; atMs++) {
		while ((seen[newest + 1]?.atMs ?? Number.POSITIVE_INFINITY) <= atMs) newest++;
		const ageMs = atMs - (seen[newest]?.shownMs ?? atMs);
		oldestMs = Math.max(oldestMs, ageMs);
		if (ageMs > limitMs) over++;
		looks++;
	}
	return { gapsMs, freezeCount, oldestMs, overLimitRatio: over / looks };
}

/**
 * How losses lie among packets, in order of sending: bursts and gaps by the definition of RFC 3611 section 4.7.2, distances and
 * periods by RFC 3357, and the two chances of a simple Gilbert chain (all three from memory, checked against published
 * comments and worked examples; standards.md 2.3 to 2.5).
 *
 * A burst begins and ends with a loss and holds no run of `gapMin` packets that came; a loss with that many on both sides
 * belongs to the gap. Before the first and after the last packet, packets are taken to have come. The RFC's incremental
 * counters are not used: they depend on a first value that the public programs choose differently.
 */

/** RFC 3611's own value. */
const GAP_MIN = 16;

type Burst = {
	/** Place of its first and last loss. */
	readonly first: number;
	readonly last: number;
	readonly lost: number;
};

export type BurstsAndGaps = {
	readonly bursts: readonly Burst[];
	/** Packets in bursts; the rest lie in gaps. */
	readonly burstPackets: number;
	readonly gapPackets: number;
	/** Lost share inside bursts and inside gaps; null where there is no packet of that kind. */
	readonly burstDensityRatio: number | null;
	readonly gapDensityRatio: number | null;
};

/** `lostFlags`: one entry a packet, true or 1 where it was lost (or came too late to count). */
export function burstsAndGaps(lostFlags: ArrayLike<boolean | number>, gapMin = GAP_MIN): BurstsAndGaps {
	if (!(Number.isInteger(gapMin) && gapMin > 0))
		throw new RangeError(`a whole number above 0 is needed, got ${gapMin}`);
	const clusters: { first: number; last: number; lost: number }[] = [];
	let lost = 0;
	for (let i = 0; i < lostFlags.length; i++) {
		if (!lostFlags[i]) continue;
		lost++;
		const open = clusters.at(-1);
		if (open !== undefined && i - open.last - 1 < gapMin) {
			open.last = i;
			open.lost++;
		} else clusters.push({ first: i, last: i, lost: 1 });
	}
	const bursts = clusters.filter((cluster) => cluster.lost > 1);
	const burstPackets = bursts.reduce((sum, { first, last }) => sum + last - first + 1, 0);
	const burstLost = bursts.reduce((sum, burst) => sum + burst.lost, 0);
	const gapPackets = lostFlags.length - burstPackets;
	return {
		bursts,
		burstPackets,
		gapPackets,
		burstDensityRatio: burstPackets === 0 ? null : burstLost / burstPackets,
		gapDensityRatio: gapPackets === 0 ? null : (lost - burstLost) / gapPackets,
	};
}

export type LossDistances = {
	/** For each loss, its distance in packets from the loss before; 0 for the first. */
	readonly distances: readonly number[];
	/** For each loss, the number of the run of losses that it belongs to, from 1. */
	readonly periods: readonly number[];
};

/** RFC 3357's two series. */
export function lossDistances(lostFlags: ArrayLike<boolean | number>): LossDistances {
	const distances: number[] = [];
	const periods: number[] = [];
	let previous: number | null = null;
	for (let i = 0; i < lostFlags.length; i++) {
		if (!lostFlags[i]) continue;
		const distance = previous === null ? 0 : i - previous;
		distances.push(distance);
		periods.push((periods.at(-1) ?? 0) + (distance === 1 ? 0 : 1));
		previous = i;
	}
	return { distances, periods };
}

/** RFC 3357: share of losses that follow another within `delta` packets; null without a loss. */
export function noticeableLossRatio({ distances }: LossDistances, delta: number): number | null {
	if (distances.length === 0) return null;
	return distances.filter((distance) => distance > 0 && distance <= delta).length / distances.length;
}

export type GilbertFit = {
	/** Chance that a loss follows a packet that came, and the reverse, with their standard errors. */
	readonly p: number;
	readonly r: number;
	readonly pStandardError: number;
	readonly rStandardError: number;
	/** What the chain says of the long run: share lost, mean run of losses, mean run of packets that came. */
	readonly lossRatio: number;
	readonly meanBurst: number;
	readonly meanGap: number;
};

/** The simple chain (all come in good times, none in bad). Null where either state was never left. */
export function fitGilbert(lostFlags: ArrayLike<boolean | number>): GilbertFit | null {
	let [good, bad, goodToBad, badToGood] = [0, 0, 0, 0];
	for (let i = 0; i + 1 < lostFlags.length; i++) {
		const [now, next] = [Boolean(lostFlags[i]), Boolean(lostFlags[i + 1])];
		if (now) bad++;
		else good++;
		if (now && !next) badToGood++;
		if (!now && next) goodToBad++;
	}
	if (goodToBad === 0 || badToGood === 0) return null;
	const [p, r] = [goodToBad / good, badToGood / bad];
	return {
		p,
		r,
		pStandardError: Math.sqrt((p * (1 - p)) / good),
		rStandardError: Math.sqrt((r * (1 - r)) / bad),
		lossRatio: p / (p + r),
		meanBurst: 1 / r,
		meanGap: 1 / p,
	};
}

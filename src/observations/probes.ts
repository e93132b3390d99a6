/**
 * Probe packets as compact records and back: number, sent, received, one way at a time.
 *
 * One-way delay here is received less sent, both on the reference clock, so it carries the clock's bound (`clock` among the
 * systematics) and nothing of video: no encoder, no jitter buffer, no display. A packet that never came has no delay.
 */
import { toReferenceMs } from './clock.ts';
import type { ObservationRecord } from './records.ts';
import type { Probes, Run, Segment } from './run.ts';

export type ProbeWay = Probes['way'];

/** How a lost packet stands in a small column; a packet 36 minutes ahead of its base is not kept small. */
const LOST_US = -(2 ** 31);

/** One packet; sent on its sender's clock, received on its receiver's, or all on the reference clock where said so. */
export type ProbePacket = {
	readonly sequence: number;
	readonly sentMs: number;
	/** Null: not received in time. */
	readonly receivedMs: number | null;
};

/** One packet of a run, both instants on the reference clock. */
export type PlacedProbe = ProbePacket & { readonly segment: number; readonly way: ProbeWay };

/**
 * Packs packets that follow one another without a gap in their numbers. To a thousandth of a millisecond. Throws
 * `RangeError` for none, or for a gap.
 */
export function packProbes(
	packets: readonly ProbePacket[],
	{ segment, way }: { readonly segment: number; readonly way: ProbeWay },
): Extract<ObservationRecord, { kind: 'probes' }> {
	const [first] = packets;
	if (first === undefined) throw new RangeError('no probe packets to pack');
	const arrived = packets.find(({ receivedMs }) => receivedMs !== null);
	const baseMs = arrived?.receivedMs == null ? 0 : Math.round(arrived.receivedMs - arrived.sentMs);
	const sentAfterUs: number[] = [];
	const beyondUs: (number | null)[] = [];
	// What rounding took from one spacing is given to the next, so that the sum stays true.
	let sentUs = toUs(first.sentMs);
	const firstSentMs = sentUs / 1000;
	for (const [i, { sequence, sentMs, receivedMs }] of packets.entries()) {
		if (sequence !== first.sequence + i)
			throw new RangeError(`probe ${sequence} does not follow ${first.sequence + i - 1}`);
		const nowUs = toUs(sentMs);
		sentAfterUs.push(nowUs - sentUs);
		sentUs = nowUs;
		beyondUs.push(receivedMs === null ? null : toUs(receivedMs) - nowUs - baseMs * 1000);
	}
	const firstSequence = first.sequence;
	return { kind: 'probes', segment, way, firstSequence, firstSentMs, sentAfterUs, baseMs, beyondUs };
}

/** The packets of one record, in order of sending, each instant on its own end's clock. */
export function* unpackProbes(probes: Probes): Generator<ProbePacket> {
	const { firstSequence, firstSentMs, sentAfterUs, baseMs, beyondUs } = probes;
	const isSmall = beyondUs instanceof Int32Array;
	let afterUs = 0;
	for (let i = 0; i < sentAfterUs.length; i++) {
		afterUs += sentAfterUs[i]!;
		const sentMs = firstSentMs + afterUs / 1000;
		const beyond = beyondUs[i] ?? null;
		const receivedMs =
			beyond === null || (isSmall && beyond === LOST_US) ? null : sentMs + baseMs + beyond / 1000;
		yield { sequence: firstSequence + i, sentMs, receivedMs };
	}
}

/**
 * The same packets in half the memory, for runs of hours: whole numbers of four bytes. A record that does not fit is given
 * back as it is.
 */
export function keptSmall(probes: Probes): Probes {
	const { sentAfterUs, beyondUs } = probes;
	const count = sentAfterUs.length;
	const both = new Int32Array(2 * count);
	for (let i = 0; i < count; i++) {
		const [step, beyond] = [sentAfterUs[i]!, beyondUs[i] ?? null];
		both[i] = step;
		both[count + i] = beyond ?? LOST_US;
		if (both[i] !== step || (beyond !== null && (both[count + i] !== beyond || beyond === LOST_US)))
			return probes;
	}
	return { ...probes, sentAfterUs: both.subarray(0, count), beyondUs: both.subarray(count) };
}

/** Every packet of a run on the reference clock, record by record in file order: each way is in order of sending. */
export function* probePackets({
	probes,
	segments,
}: Pick<Run, 'probes' | 'segments'>): Generator<PlacedProbe> {
	const known = new Map(segments.map((segment) => [segment.segment, segment]));
	for (const record of probes) {
		const segment = known.get(record.segment);
		if (segment === undefined) continue;
		const { way } = record;
		for (const { sequence, sentMs, receivedMs } of unpackProbes(record)) {
			yield {
				segment: record.segment,
				way,
				sequence,
				sentMs: way === 'toBench' ? onReference(segment, sentMs) : sentMs,
				receivedMs: receivedMs !== null && way === 'toViewer' ? onReference(segment, receivedMs) : receivedMs,
			};
		}
	}
}

function onReference({ clock }: Segment, viewerMs: number): number {
	return clock === null ? viewerMs : toReferenceMs(clock, viewerMs);
}

function toUs(ms: number): number {
	return Math.round(ms * 1000);
}

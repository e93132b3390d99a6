/**
 * Simulated air on one way: given when each packet is sent and how large it is, says when it is delivered or that it is
 * lost. Pure and seeded, so that the same packets meet the same air in virtual time and in the real relay.
 *
 * In the order in which things happen to a packet: the bottleneck and its queue, outages, what comes periodically,
 * gathering into bursts, loss, then the way itself (base, spread, bad spell). Time's own events (outages, spells) depend on
 * the instant only, a packet's own draws on its place in the order only, and each has a stream of random numbers of its
 * own: changing one part of a spec leaves the others as they were. Left out: contention between both ways.
 */
import { createRandom, type Random } from '../statistics/random.ts';
import type { AirSpec } from './airSpec.ts';
import { drawDelay } from './drawDelay.ts';
import { createLossChain } from './lossChain.ts';
import { createSpells } from './spells.ts';

export type Passage = { readonly deliverAtMs: number } | { readonly lostAtMs: number };

export type Air = {
	/** Packets in the order of sending; throws `RangeError` when `atMs` goes back. Instants are from the air's own zero. */
	send(atMs: number, bytes: number): Passage;
};

/** A step that lets a packet through at or after the instant it came, or loses it (null). */
type Step = (atMs: number, bytes: number) => number | null;

const SEED_RANGE = 2 ** 32;

export function createAir(spec: AirSpec, random: Random): Air {
	// Always the same number of forks in the same order, used or not.
	const fork = () => createRandom(random.integer(SEED_RANGE));
	const [forLoss, forOutages, forSpread, forSpells, forSpellLoss] = [fork(), fork(), fork(), fork(), fork()];
	const stream = spec.carriage === 'stream';
	const bottleneck = createBottleneck(spec);
	const outage = createOutages(spec, forOutages);
	const isLost = spec.loss === null ? () => false : createLossChain(spec.loss, forLoss);
	const spell = createSpellDelay(spec, forSpells);
	let lastSentMs = Number.NEGATIVE_INFINITY;
	let lastLeftMs = Number.NEGATIVE_INFINITY;
	let lastDeliveredMs = Number.NEGATIVE_INFINITY;

	return {
		send(atMs, bytes) {
			if (!(atMs >= lastSentMs))
				throw new RangeError(`a packet sent at ${atMs} ms after one at ${lastSentMs} ms`);
			lastSentMs = atMs;
			// Drawn whatever becomes of the packet, so that its fate does not shift its successors' draws.
			const chainLost = isLost();
			const spellDraw = forSpellLoss.next();
			const spreadMs = spec.spread === null ? 0 : drawDelay(spec.spread, forSpread);

			const passedMs = bottleneck(atMs, bytes);
			if (passedMs === null) return { lostAtMs: atMs };
			const { freeMs, dropped } = outage(passedMs);
			const leavesMs = Math.max(lastLeftMs, gather(spec, periodicHold(spec, freeMs)));
			lastLeftMs = leavesMs;
			const { extraMs, lossRatio } = spell(leavesMs);
			const lost = chainLost || dropped || spellDraw < lossRatio;
			if (lost && !stream) return { lostAtMs: leavesMs };

			const wayMs = spec.delayMs + spreadMs + extraMs + periodicExtra(spec, leavesMs);
			let deliverAtMs = leavesMs + wayMs + (lost ? spec.retransmitMs : 0);
			if (stream || spec.keepOrder) deliverAtMs = Math.max(deliverAtMs, lastDeliveredMs);
			lastDeliveredMs = deliverAtMs;
			return { deliverAtMs };
		},
	};
}

/** Bits leave at the stated rate; what finds the queue too long is lost, unless it is a stream, whose sender waits. */
function createBottleneck({ rate, carriage }: AirSpec): Step {
	if (rate === null) return (atMs) => atMs;
	let busyUntilMs = Number.NEGATIVE_INFINITY;
	return (atMs, bytes) => {
		const waitMs = Math.max(0, busyUntilMs - atMs);
		const waitingBytes = (waitMs * rate.kbitPerSecond) / 8;
		const overTime = rate.queueMs !== null && waitMs > rate.queueMs;
		const overBytes = rate.queueBytes !== null && waitingBytes + bytes > rate.queueBytes;
		if (carriage === 'datagrams' && (overTime || overBytes)) return null;
		busyUntilMs = atMs + waitMs + (bytes * 8) / rate.kbitPerSecond;
		return busyUntilMs;
	};
}

/** An outage met: held packets go at its end; dropped ones too in a stream, and a retransmission later. */
function createOutages(
	{ outages }: AirSpec,
	random: Random,
): (atMs: number) => { freeMs: number; dropped: boolean } {
	if (outages === null) return (atMs) => ({ freeMs: atMs, dropped: false });
	const lengths = outages.random;
	const spells =
		lengths &&
		createSpells({ goodMeanMs: lengths.meanEveryMs, badMeanMs: lengths.lengthMs, bad: 'fixed' }, random);
	return (atMs) => {
		let freeMs = atMs;
		for (const { atMs: fromMs, lengthMs } of outages.scheduled)
			if (atMs >= fromMs && atMs < fromMs + lengthMs) freeMs = Math.max(freeMs, fromMs + lengthMs);
		freeMs = Math.max(freeMs, spells?.endOfBadAt(atMs) ?? freeMs);
		return { freeMs, dropped: freeMs > atMs && outages.packets === 'dropped' };
	};
}

function createSpellDelay(
	{ badSpells }: AirSpec,
	random: Random,
): (atMs: number) => { extraMs: number; lossRatio: number } {
	const good = { extraMs: 0, lossRatio: 0 };
	if (badSpells === null) return () => good;
	const { goodMeanMs, badMeanMs } = badSpells;
	const spells = createSpells({ goodMeanMs, badMeanMs, bad: 'exponential' }, random);
	return (atMs) => (spells.endOfBadAt(atMs) === null ? good : badSpells);
}

/** Time since the last beginning of the periodic stretch, when inside it; null outside. */
function intoPeriodic({ periodic }: AirSpec, atMs: number): number | null {
	if (periodic === null || atMs < periodic.phaseMs) return null;
	const intoMs = (atMs - periodic.phaseMs) % periodic.everyMs;
	return intoMs < periodic.lengthMs ? intoMs : null;
}

function periodicHold(spec: AirSpec, atMs: number): number {
	const intoMs = intoPeriodic(spec, atMs);
	if (spec.periodic === null || spec.periodic.extraMs !== null || intoMs === null) return atMs;
	return atMs + spec.periodic.lengthMs - intoMs;
}

function periodicExtra(spec: AirSpec, atMs: number): number {
	return intoPeriodic(spec, atMs) === null ? 0 : (spec.periodic?.extraMs ?? 0);
}

function gather({ bursts }: AirSpec, atMs: number): number {
	return bursts === null ? atMs : Math.ceil(atMs / bursts.everyMs) * bursts.everyMs;
}

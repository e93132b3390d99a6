/**
 * Every frame of an invented link with its true fate and instants, in virtual time: source, scope and app, encoder,
 * packets through the air, decoder, display. Settled frames come one by one, presented ones in the order seen; what is kept
 * in between is what is under way, so that eight hours need no more memory than a minute.
 *
 * The source stops with the segment; what is under way then is still seen, unless it takes longer than `lostAfterMs`.
 * Left out: a decoder that needs earlier pictures (each picture stands alone), several paths, a sender that adapts.
 */
import { createRandom, type Random } from '../statistics/random.ts';
import { createAir } from './air.ts';
import { drawDelay } from './drawDelay.ts';
import { createLossChain } from './lossChain.ts';
import { type ArrivedPicture, createVirtualDisplay, type VirtualFrame } from './virtualDisplay.ts';
import type { VirtualLinkSpec } from './virtualLinkSpec.ts';

/** Payload of one packet; what is common on Ethernet less headers (common practice, no source). */
const PACKET_BYTES = 1200;

type SentPicture = Omit<ArrivedPicture, 'completeMs'> & {
	/** When its packets entered the air; no later picture enters, or completes, before that. */
	readonly enteredMs: number;
	/** Null: lost. */
	readonly completeMs: number | null;
};

export function* virtualFrames(spec: VirtualLinkSpec): Generator<VirtualFrame> {
	const random = createRandom(spec.seed);
	const fork = () => createRandom(random.integer(2 ** 32));
	const sent = sentPictures(spec, {
		source: fork(),
		encode: fork(),
		bytes: fork(),
		loss: fork(),
		air: fork(),
	});
	const display = createVirtualDisplay(spec, fork(), fork());
	/** Under way, first to complete last. */
	const underWay: ArrivedPicture[] = [];

	for (const { enteredMs, completeMs, ...shown } of sent) {
		while (underWay.length > 0 && underWay.at(-1)!.completeMs <= enteredMs)
			yield* display.arrive(underWay.pop()!);
		if (completeMs === null) yield { ...shown, fate: 'lost', decodedMs: null, seenMs: null };
		else if (completeMs - shown.shownMs > spec.lostAfterMs)
			yield { ...shown, fate: 'late', decodedMs: null, seenMs: null };
		else insert(underWay, { ...shown, completeMs });
	}
	while (underWay.length > 0) yield* display.arrive(underWay.pop()!);
	yield* display.finish();
}

type Draws = Record<'source' | 'encode' | 'bytes' | 'loss' | 'air', Random>;

function* sentPictures(spec: VirtualLinkSpec, draws: Draws): Generator<SentPicture> {
	const { rateHz, latenessMeanMs } = spec.source;
	const periodMs = 1000 / rateHz;
	const air = createAir(spec.air, draws.air);
	const isLost = spec.pictureLoss === null ? () => false : createLossChain(spec.pictureLoss, draws.loss);
	let encodedMs = Number.NEGATIVE_INFINITY;

	for (let frameNumber = 0; frameNumber * periodMs < spec.warmUpMs + spec.observedMs; frameNumber++) {
		const dueMs = frameNumber * periodMs;
		const shownMs = dueMs + Math.min(draws.source.exponential(latenessMeanMs), periodMs / 2);
		const reachesEncoderMs = Math.max(encodedMs, shownMs + spec.addedDelayMs);
		encodedMs = reachesEncoderMs + drawDelay(spec.encode, draws.encode);
		const bytes = spec.pictureBytes.mean + spec.pictureBytes.sd * draws.bytes.normal();
		const packets = Math.max(1, Math.ceil(bytes / PACKET_BYTES));
		let completeMs: number | null = Number.NEGATIVE_INFINITY;
		if (isLost()) completeMs = null;
		else
			for (let i = 0; i < packets; i++) {
				const passage = air.send(encodedMs, PACKET_BYTES);
				if ('lostAtMs' in passage) completeMs = null;
				else if (completeMs !== null) completeMs = Math.max(completeMs, passage.deliverAtMs);
			}
		yield { frameNumber, dueMs, shownMs, enteredMs: encodedMs, completeMs };
	}
}

/** Keeps the list in falling order of completion; nearly always the new one completes last and goes to the front. */
function insert(underWay: ArrivedPicture[], picture: ArrivedPicture): void {
	let at = 0;
	while (at < underWay.length && underWay[at]!.completeMs > picture.completeMs) at++;
	underWay.splice(at, 0, picture);
}

/**
 * What a simulated air does to packets on one way, in words of our own. Read by `air.ts`, written by people in JSON
 * (`airFile.ts`) and by the presets. Everything left null does not happen.
 */

/** Delay beyond the base, drawn anew for each packet. Never below zero: draws below it are drawn again. */
export type DelaySpread =
	| { readonly kind: 'constant'; readonly ms: number }
	| { readonly kind: 'uniform'; readonly fromMs: number; readonly toMs: number }
	| { readonly kind: 'normal'; readonly meanMs: number; readonly sdMs: number }
	| { readonly kind: 'lognormal'; readonly medianMs: number; readonly sigma: number }
	| { readonly kind: 'gamma'; readonly shape: number; readonly scaleMs: number };

/**
 * Gilbert-Elliott (standards 2.5, from memory): p from good to bad and r back, drawn once a packet; k and h are the
 * chances of delivery in good and bad.
 */
export type LossChain = {
	readonly p: number;
	readonly r: number;
	readonly k: number;
	readonly h: number;
};

export type AirSpec = {
	readonly name: string;
	/** One way, for every packet. */
	readonly delayMs: number;
	readonly spread: DelaySpread | null;
	/** False: a packet may overtake another. A stream keeps order whatever this says. */
	readonly keepOrder: boolean;
	readonly loss: LossChain | null;
	/** A bottleneck with a drop-tail queue: a packet that would wait longer, or find more bytes waiting, is lost. */
	readonly rate: {
		readonly kbitPerSecond: number;
		readonly queueMs: number | null;
		readonly queueBytes: number | null;
	} | null;
	/** Nothing passes. Scheduled, or at random: exponential times between, each of the one length. */
	readonly outages: {
		readonly scheduled: readonly { readonly atMs: number; readonly lengthMs: number }[];
		readonly random: { readonly meanEveryMs: number; readonly lengthMs: number } | null;
		readonly packets: 'held' | 'dropped';
	} | null;
	/** Packets gather and leave together, every so often: they come in bursts. */
	readonly bursts: { readonly everyMs: number } | null;
	/** Something that comes back: from `phaseMs` on, every `everyMs`, packets of that stretch are held to its end or delayed. */
	readonly periodic: {
		readonly everyMs: number;
		readonly lengthMs: number;
		readonly phaseMs: number;
		/** Null: held to the end of the stretch. */
		readonly extraMs: number | null;
	} | null;
	/** Good and bad times, both of exponential length; in bad ones every packet is later, and may be lost. */
	readonly badSpells: {
		readonly goodMeanMs: number;
		readonly badMeanMs: number;
		readonly extraMs: number;
		readonly lossRatio: number;
	} | null;
	/**
	 * `datagrams`: what is lost is gone. `stream`: order is kept and nothing is gone; a lost packet comes a retransmission
	 * later and holds up all behind it, and instead of overflowing a queue the sender waits.
	 */
	readonly carriage: 'datagrams' | 'stream';
	/** Time by which a stream's lost packet comes later; 200 ms is the least time-out common TCP stacks use (from memory). */
	readonly retransmitMs: number;
};

/** Air that does nothing: every other one is written as what differs from it. */
export const stillAir: AirSpec = {
	name: 'still',
	delayMs: 0,
	spread: null,
	keepOrder: true,
	loss: null,
	rate: null,
	outages: null,
	bursts: null,
	periodic: null,
	badSpells: null,
	carriage: 'datagrams',
	retransmitMs: 200,
};

/** The Gilbert-Elliott chain at work: one call a packet, or a picture. */
import type { Random } from '../statistics/random.ts';
import type { LossChain } from './airSpec.ts';

/** Says, for each packet in turn, whether it is lost. Starts as the chain is in the long run. Two draws a packet. */
export function createLossChain({ p, r, k, h }: LossChain, random: Random): () => boolean {
	let bad = p > 0 && random.next() < p / (p + r);
	return () => {
		const lost = random.next() >= (bad ? h : k);
		bad = bad ? random.next() >= r : random.next() < p;
		return lost;
	};
}

/** Loss in the long run: the shares of good and bad times the chances of loss in them. */
export function lossRatioOf({ p, r, k, h }: LossChain): number {
	if (p === 0) return 1 - k;
	return (r * (1 - k) + p * (1 - h)) / (p + r);
}

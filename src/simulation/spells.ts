/**
 * Good and bad times in turn, drawn as time goes on: asked at instants that never go back, it says whether one lies in a
 * bad time and when that ends. Used for outages, bad spells and freezes. Scheduled times are the caller's own list.
 */
import type { Random } from '../statistics/random.ts';

export type Spells = {
	/** End of the bad time that holds `atMs`; null in a good one. Throws `RangeError` when time goes back. */
	endOfBadAt(atMs: number): number | null;
};

export type SpellLengths = {
	readonly goodMeanMs: number;
	readonly badMeanMs: number;
	/** `exponential`, or each bad time exactly its mean. */
	readonly bad: 'exponential' | 'fixed';
};

export function createSpells({ goodMeanMs, badMeanMs, bad }: SpellLengths, random: Random): Spells {
	let badFromMs = random.exponential(goodMeanMs);
	let badUntilMs = badFromMs + badLength();
	let lastMs = Number.NEGATIVE_INFINITY;

	function badLength(): number {
		return bad === 'fixed' ? badMeanMs : random.exponential(badMeanMs);
	}

	return {
		endOfBadAt(atMs) {
			if (atMs < lastMs) throw new RangeError(`time went back from ${lastMs} to ${atMs} ms`);
			lastMs = atMs;
			while (badUntilMs <= atMs) {
				badFromMs = badUntilMs + random.exponential(goodMeanMs);
				badUntilMs = badFromMs + badLength();
			}
			return atMs >= badFromMs ? badUntilMs : null;
		},
	};
}

/** A card named in words, as a message or a command line names it, made into a spec or refused. */
import { CARD_SIZES, type CardSize, type CardSpec, DIFFICULTIES, LAYOUTS, type Layout } from './card.ts';

export type CardWords = {
	readonly layout: string;
	readonly size: string;
	readonly seed: number;
	readonly difficulty: string;
};

/** Throws `RangeError` that says what is allowed. */
export function parseCardSpec({ layout, size, seed, difficulty }: CardWords): CardSpec {
	if (!isOneOf(LAYOUTS, layout))
		throw new RangeError(`no card layout ${layout}; there is ${LAYOUTS.join(', ')}`);
	if (!isOneOf(CARD_SIZES, size))
		throw new RangeError(`no card size ${size}; there are ${CARD_SIZES.join(', ')}`);
	if (!isOneOf(DIFFICULTIES, difficulty))
		throw new RangeError(`no difficulty ${difficulty}; there are ${DIFFICULTIES.join(', ')}`);
	return { layout: layout satisfies Layout, size: size satisfies CardSize, seed, difficulty };
}

function isOneOf<T extends string>(allowed: readonly T[], word: string): word is T {
	return allowed.some((each) => each === word);
}

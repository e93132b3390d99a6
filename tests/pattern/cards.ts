/** Every card there is, for tests that hold for all of them. */
import { CARD_SIZES, type CardSpec, DIFFICULTIES } from '../../src/pattern/card.ts';

export const allCards: readonly CardSpec[] = CARD_SIZES.flatMap((size) =>
	DIFFICULTIES.map((difficulty) => ({ layout: 'link' as const, size, seed: 7, difficulty })),
);

export function cardOf(difficulty: CardSpec['difficulty'], seed = 7): CardSpec {
	return { layout: 'link', size: '1280x720', seed, difficulty };
}

/**
 * In which order to measure, so that no kit always comes first, nor always in the morning: each round begins with another
 * arm, and every second round runs backwards. Minutes are this project's own estimate, not measured.
 */
export type PlannedSession = { readonly round: number; readonly arm: string };

/** Hands are needed to switch off and on, place, start and write down; the bench measures alone in between. */
export const HANDS_ON_MIN = 4;

/** A run of the verdict profile with its warm-up. */
export const RUN_MIN = 6;
export const USUAL_ROUNDS = 3;
/** What the short form may take. */
const SHORT_MIN = 25;

/** As many rounds as the short form's 25 minutes of hands-on allow, three at most and one at least. */
export function shortRounds(arms: number): number {
	return Math.max(1, Math.min(USUAL_ROUNDS, Math.floor(SHORT_MIN / (arms * HANDS_ON_MIN))));
}

/** Throws `RangeError` for fewer than two arms or more than eight, or fewer than one round. */
export function sessionPlan(arms: readonly string[], rounds: number): PlannedSession[] {
	if (arms.length < 2 || arms.length > 8)
		throw new RangeError(`two to eight kits are compared, got ${arms.length}`);
	if (!(Number.isInteger(rounds) && rounds >= 1))
		throw new RangeError(`one round or more is needed, got ${rounds}`);
	const count = arms.length;
	return Array.from({ length: rounds }, (_, round) =>
		arms.map((_arm, i) => {
			const step = round % 2 === 0 ? i : count - i;
			return { round: round + 1, arm: arms[(round + step) % count] ?? '' };
		}),
	).flat();
}

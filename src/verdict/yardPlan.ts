/**
 * How to spend the time that there is: set up, short visits to the places by turns, a fresh run at the best, back to the kit. The
 * minutes a step takes are a proposal: common practice, no source; the visit's own two minutes are the brief profile.
 */
export type YardPlan = {
	readonly minutes: number;
	readonly setUpMin: number;
	/** Visits to each place, by turns. 0: no comparing, straight to the run that answers. */
	readonly rounds: number;
	/** How many of the places, in the order named, there is time to visit. */
	readonly placesVisited: number;
	readonly visitMin: number;
	/** At the best place; 0 where there is no time for a run that could say yes. */
	readonly verdictMin: number;
	readonly backMin: number;
	/** What this plan cannot do, in a sentence; null where nothing is missing. */
	readonly caution: string | null;
};

const SET_UP_MIN = 3;
const BACK_MIN = 3;
const VISIT_MIN = 2;
/** The verdict profile observes 310 s, after its warm-up. */
const LEAST_VERDICT_MIN = 5.5;
const MOST_ROUNDS = 3;

/** Throws `RangeError` for no place or for a time that is none. */
export function planYard(minutes: number, placeCount: number): YardPlan {
	if (!(minutes > 0 && Number.isFinite(minutes)))
		throw new RangeError(`minutes must be above 0, got ${minutes}`);
	if (!(Number.isInteger(placeCount) && placeCount > 0))
		throw new RangeError(`at least one place is needed, got ${placeCount}`);
	const fixed = { minutes, setUpMin: SET_UP_MIN, visitMin: VISIT_MIN, backMin: BACK_MIN };
	const free = minutes - SET_UP_MIN - BACK_MIN;
	if (free < LEAST_VERDICT_MIN)
		return {
			...fixed,
			rounds: 1,
			placesVisited: Math.min(placeCount, Math.max(1, Math.floor(free / VISIT_MIN))),
			verdictMin: 0,
			caution: `In ${minutes} minutes there is no time for a run that could say yes: this can only rule a place out. ${SET_UP_MIN + BACK_MIN + Math.ceil(LEAST_VERDICT_MIN)} minutes are the least.`,
		};
	const rounds =
		placeCount === 1
			? 0
			: Math.min(MOST_ROUNDS, Math.floor((free - LEAST_VERDICT_MIN) / (VISIT_MIN * placeCount)));
	return {
		...fixed,
		rounds,
		placesVisited: rounds === 0 ? 0 : placeCount,
		verdictMin: Math.floor(free - rounds * VISIT_MIN * placeCount),
		caution: cautionOf(rounds, placeCount),
	};
}

function cautionOf(rounds: number, placeCount: number): string | null {
	if (placeCount === 1 || rounds >= 2) return null;
	if (rounds === 1)
		return 'One visit a place tells which to look longer at first; it does not judge which is better.';
	return `There is no time to visit ${placeCount} places: the first one named is looked at.`;
}

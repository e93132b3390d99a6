/**
 * Places held against one another by short visits: which to look longer at first, and where the visits bear out that one is better.
 *
 * "Better" is said only of places visited twice or more each, by turns, so that the air's own drift falls on both; and only where
 * the difference of their shares of time over the age limit stands clear of the visits' spread: Student's t on the means, its
 * error shared among all pairs (Bonferroni), the spread never taken as less than what one visit alone is unsure of. One visit
 * each is not judged. Whoever looks, visits again and looks again until one wins would be told so sooner or later: the first look
 * has half of the error, each further one half of what the one before it had. How often the right place comes first: bench
 * `periodicity`.
 */
import { studentQuantile } from '../statistics/studentT.ts';

export type VisitReading = {
	readonly place: string;
	/** Share of the visit with a picture older than the limit. */
	readonly overLimitRatio: number;
	/** Independent readings that the visit is worth. */
	readonly effectiveCount: number;
};

type PairJudgement = {
	/** The one with the smaller mean. */
	readonly first: string;
	readonly second: string;
	readonly answer: 'firstBetter' | 'noDifferenceSeen' | 'notJudged';
	/** In words: what was seen or why it is not judged. */
	readonly because: string;
};

export type PlaceRanking = {
	/** Best first, by mean share; equal shares in the order in which the places were named. */
	readonly order: readonly { readonly place: string; readonly meanRatio: number; readonly visits: number }[];
	readonly pairs: readonly PairJudgement[];
	/** How often a difference could be read, this time counted in. */
	readonly looks: number;
};

const ERROR_RATIO = 0.05;
/** Of all visits: how far the middle of one place's turns may lie from the middle of the other's. Turn and turn about leave one turn. */
const MOST_APART = 0.25;
/** Under this many points a difference is of no use, however sure. */
const LEAST_DIFFERENCE = 0.02;
/** A share of nothing seen is not a share of nothing: half an event in its stead. */
const HALF_EVENT = 0.5;

/**
 * `visits` in the order in which they were made; `shownAfter`: after how many of them an answer was shown, before the rest were made.
 * Throws `RangeError` for a share outside [0, 1].
 */
export function rankPlaces(
	visits: readonly VisitReading[],
	shownAfter: readonly number[] = [],
): PlaceRanking {
	for (const { overLimitRatio } of visits)
		if (!(overLimitRatio >= 0 && overLimitRatio <= 1))
			throw new RangeError(`a share lies in [0, 1], got ${overLimitRatio}`);
	const looks = looksAt(visits, shownAfter);
	const names = [...new Set(visits.map(({ place }) => place))];
	const order = names
		.map((place) => ({ place, meanRatio: meanOf(of(visits, place)), visits: of(visits, place).length }))
		.sort((a, b) => a.meanRatio - b.meanRatio);
	const errorRatio = ERROR_RATIO / 2 ** looks / ((names.length * (names.length - 1)) / 2);
	const pairs: PairJudgement[] = [];
	for (let i = 0; i < order.length; i++)
		for (let j = i + 1; j < order.length; j++)
			pairs.push(judgePair(visits, { first: order[i]!.place, second: order[j]!.place, errorRatio }));
	return { order, pairs, looks };
}

/** A look at visits that could not be judged yet shows no difference to stop at. */
function looksAt(visits: readonly VisitReading[], shownAfter: readonly number[]): number {
	const earlier = [...new Set(shownAfter)].filter((count) => count < visits.length);
	const couldBeJudged = (count: number): boolean =>
		rankPlaces(visits.slice(0, count)).pairs.some(({ answer }) => answer !== 'notJudged');
	return 1 + earlier.filter(couldBeJudged).length;
}

type Pair = { readonly first: string; readonly second: string; readonly errorRatio: number };

function judgePair(visits: readonly VisitReading[], { first, second, errorRatio }: Pair): PairJudgement {
	const [a, b] = [of(visits, first), of(visits, second)];
	const notJudged = (because: string): PairJudgement => ({ first, second, answer: 'notJudged', because });
	if (a.length < 2 || b.length < 2)
		return notJudged(
			a.length === 1 && b.length === 1
				? 'one visit each: difference not judged'
				: 'visited too few times: difference not judged',
		);
	if (!takeTurns(visits, first, second)) return notJudged('not visited by turns: difference not judged');
	const difference = meanOf(b) - meanOf(a);
	const degrees = a.length + b.length - 2;
	const error = Math.sqrt(varianceOfMean(a) + varianceOfMean(b));
	const reach = error * studentQuantile(1 - errorRatio / 2, degrees);
	const points = (ratio: number): string => `${(100 * ratio).toFixed(1)} points`;
	if (difference <= Math.max(reach, LEAST_DIFFERENCE))
		return {
			...{ first, second, answer: 'noDifferenceSeen' },
			because: `no difference seen (${points(difference)} of time over the limit, give or take ${points(reach)})`,
		};
	return {
		...{ first, second, answer: 'firstBetter' },
		because: `${points(difference)} less of the time over the limit, give or take ${points(reach)}`,
	};
}

/** The visits of both lie about the same time: what the air did meanwhile is no difference of theirs. */
function takeTurns(visits: readonly VisitReading[], first: string, second: string): boolean {
	const order = visits.filter(({ place }) => place === first || place === second).map(({ place }) => place);
	const middleOf = (name: string): number => {
		const turns = order.flatMap((place, turn) => (place === name ? [turn] : []));
		return turns.reduce((sum, turn) => sum + turn, 0) / turns.length;
	};
	return Math.abs(middleOf(first) - middleOf(second)) <= MOST_APART * order.length;
}

function varianceOfMean(visits: readonly VisitReading[]): number {
	const mean = meanOf(visits);
	const spread =
		visits.reduce((sum, { overLimitRatio }) => sum + (overLimitRatio - mean) ** 2, 0) / (visits.length - 1);
	const own =
		visits.reduce((sum, { effectiveCount }) => {
			const n = Math.max(1, effectiveCount);
			const share = (mean * n + HALF_EVENT) / (n + 2 * HALF_EVENT);
			return sum + (share * (1 - share)) / n;
		}, 0) / visits.length;
	return Math.max(spread, own) / visits.length;
}

function of(visits: readonly VisitReading[], place: string): VisitReading[] {
	return visits.filter((visit) => visit.place === place);
}

function meanOf(visits: readonly VisitReading[]): number {
	return visits.reduce((sum, { overLimitRatio }) => sum + overLimitRatio, 0) / visits.length;
}

/**
 * The episode bound (estimators.md B1): how large, and how small, the true share of time over a limit may be, when one
 * run of correlated pictures is all there is. Binomial bounds with a real-valued effective size
 *
 *     n = min(n1, n2),  n1 = e (1 - e) / v,  n2 = T / max(l2, 0.25 s)
 *
 * and, for the upper one, two clusters more than were seen (`clusterBound.ts`): few clusters tell their number and their length badly,
 * and both badly in the same direction.
 *
 * e: share over the limit; v: largest variance of e over batches of 1, 2, 5, 10 s; l2: length-weighted episode.
 * Going up from just below the sample quantile n may only fall (running minimum), and likewise going down from just above
 * it for the lower bound. Choices beyond the source, where it is silent:
 * - No variance to be seen (e = 0, e = 1, or the same share in every batch): n1 is undefined and n2 alone counts. With
 *   e = 0 that is one reading every 0.25 s, which supposes unseen disturbances to be short: the run length that a
 *   profile demands for its spell length is what makes the claim honest, not this number.
 * - Over half the time beyond the limit: l2 is that of the stretches *within* the limit, the rarer state. In a two-state
 *   process both give the same information, and a link that was always late is not "one episode, one reading".
 * - "Still growing" is taken as: by half or more from 2 to 5 and again from 5 to 10 s (or at longer batches, while the run
 *   holds six of them), and so much that growing on to half the run would make n smaller. Then there is no upper
 *   bound; the lower one is taken at that smaller size, for a link that is nearly always late is late however it drifts.
 * - Small slow variation about the median is not looked at for a limit far from it (`immaterialMs`). A picture waits 0 to one
 *   period for its display, and where the two clocks hardly differ that wait drifts through its range in minutes: a
 *   sawtooth that is slower than any run can see, and yet bounded by what a display is. Without this, a link of 15 ms
 *   on a real display could never be told from one of 200 ms. Limits within that distance of the median get no such help.
 * What no method can do stays undone: a spell that never came in the run is not in the bound.
 */
import { batchVariance, layOutSeconds, type SecondCells } from './batchMeans.ts';
import { clusterUpper } from './clusterBound.ts';
import { measureExceedance } from './exceedance.ts';
import { type LevelCurve, levelQuantile, maxLevel, minLevel, shareOver } from './levelCurve.ts';
import { clopperPearson } from './wilson.ts';

/** Nothing shorter is one reading, however short the episodes. */
const LEAST_EPISODE_MS = 250;
const LEAST_OBSERVED_MS = 30_000;
const SECOND_MS = 1000;
const DEFAULT_CONFIDENCE = 0.95;
const DEFAULT_ALLOWED_RATIO = 0.05;
/** Where the running minimum looks: odds of the share, as multiples of the allowed share's odds. */
const RUNG_ODDS = [1.1, 1, 0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3, 0.2, 0.1, 0.04, 0.01];
/** A rung may stand where the odds are this far from the wanted ones, relatively, or this near a step, in parts of the range. */
const RUNG_ODDS_TOLERANCE = 0.03;
const RUNG_STEP_TOLERANCE = 2 ** -20;

export type BoundOptions = {
	/** For each side alone; 0.95 when left out. */
	readonly confidence?: number;
	/** The share that the limit's line allows, 0.05 when left out: sets the sample quantile and the least size. */
	readonly allowedRatio?: number;
	/** Levels within this of the median do not count against a limit beyond them; 0 when left out. */
	readonly immaterialMs?: number;
};

export type ShareBound = {
	readonly shareRatio: number;
	/** Null where the run gives no upper bound. */
	readonly upperRatio: number | null;
	readonly lowerRatio: number | null;
	/** Number of independent readings that the run is worth here. */
	readonly effectiveCount: number;
	/** Largest cluster seen over the limit, as a share of the observed time. */
	readonly clusterRatio: number;
	/** Why there is no upper bound; null where there is one. */
	readonly noBoundReason: string | null;
};

type Sized = {
	readonly shareRatio: number;
	readonly count: number;
	/** What the size would be if a variance that still grows grew on; equal to `count` where none does. */
	readonly slowCount: number;
	/** Largest cluster of time over the level, as a share of the run: the longest episode, or the fullest batch less what every batch holds. */
	readonly clusterRatio: number;
};
type Rung = { readonly level: number; readonly sized: Sized };

/** Bounds of the share of time with the level over `x`. */
export function boundShare(curve: LevelCurve, x: number, options: BoundOptions = {}): ShareBound {
	return new ShareBounder(curve, options).at(x);
}

/** The same for many levels of one curve: what they share is worked out once. */
export class ShareBounder {
	readonly #curve: LevelCurve;
	readonly #confidence: number;
	readonly #leastCount: number;
	readonly #layout: SecondCells;
	readonly #upward: Ladder;
	readonly #downward: Ladder;

	constructor(
		curve: LevelCurve,
		{ confidence = DEFAULT_CONFIDENCE, allowedRatio = DEFAULT_ALLOWED_RATIO, immaterialMs = 0 }: BoundOptions,
	) {
		if (!(confidence > 0.5 && confidence < 1))
			throw new RangeError(`confidence must lie between 0.5 and 1, got ${confidence}`);
		if (!(allowedRatio > 0 && allowedRatio < 1))
			throw new RangeError(`an allowed share must lie between 0 and 1, got ${allowedRatio}`);
		if (!(immaterialMs >= 0))
			throw new RangeError(`what is immaterial cannot be negative, got ${immaterialMs}`);
		const medianMs = immaterialMs > 0 ? levelQuantile(curve, 0.5) : null;
		this.#curve = curve;
		this.#confidence = confidence;
		this.#leastCount = leastCount(allowedRatio, confidence);
		const layout = layOutSeconds(curve);
		this.#layout = layout;
		const odds = allowedRatio / (1 - allowedRatio);
		this.#upward = new Ladder(curve, layout, {
			shares: RUNG_ODDS.map((factor) => shareOfOdds(odds * factor)),
			materialFrom: medianMs === null ? null : medianMs + immaterialMs,
		});
		this.#downward = new Ladder(curve, layout, {
			shares: RUNG_ODDS.map((factor) => shareOfOdds(odds / factor)),
			materialFrom: medianMs === null ? null : medianMs - immaterialMs,
		});
	}

	at(x: number): ShareBound {
		if (!Number.isFinite(x)) throw new RangeError(`a limit must be finite, got ${x}`);
		const own = sizeAt(this.#curve, x, this.#layout);
		const upward = this.#upward.worstOnTheWayTo(x, own);
		const downward = this.#downward.worstOnTheWayTo(x, own);
		const noBoundReason = this.#whyNoBound(upward);
		const lowerMissing = this.#observedTooShort() || downward.count === 0;
		return {
			shareRatio: own.shareRatio,
			upperRatio: noBoundReason === null ? clusterUpper(upward, this.#confidence) : null,
			lowerRatio: lowerMissing ? null : this.#lower(own.shareRatio, downward.slowCount),
			effectiveCount: Math.min(upward.count, downward.count),
			clusterRatio: own.clusterRatio,
			noBoundReason,
		};
	}

	/** Levels at which the running minimum looks, rising; where a search for a level should look too. */
	rungLevels(): number[] {
		return this.#upward.levels();
	}

	/** The same on the way down, falling. */
	rungLevelsDown(): number[] {
		return this.#downward.levels();
	}

	#lower(shareRatio: number, count: number): number {
		// The product may pass the count by rounding when the share is 1.
		return clopperPearson(Math.min(count, shareRatio * count), count, this.#confidence).lowerRatio;
	}

	#observedTooShort(): boolean {
		return this.#curve.totalMs < LEAST_OBSERVED_MS;
	}

	#whyNoBound({ count, slowCount }: Sized): string | null {
		if (this.#observedTooShort()) return `under ${LEAST_OBSERVED_MS / 1000} s observed`;
		if (count === 0) return 'segments too short to see how readings hang together';
		if (slowCount < count) return 'varies more slowly than this run can see';
		if (count < this.#leastCount)
			return `worth ${Math.floor(count)} independent readings, ${this.#leastCount} are needed`;
		return null;
	}
}

/** Smallest whole size at which even a share of 0 is bounded by the allowed share: 59 for 5 % at 95 %. */
export function leastCount(allowedRatio: number, confidence: number): number {
	return Math.ceil(Math.log(1 - confidence) / Math.log(1 - allowedRatio));
}

/** Effective sizes at levels of falling (or rising) share, worked out only as far as asked. */
class Ladder {
	readonly #curve: LevelCurve;
	readonly #layout: SecondCells;
	readonly #shares: readonly number[];
	readonly #direction: 1 | -1;
	readonly #lowest: number;
	readonly #highest: number;
	/** Rungs on the near side of it are passed over for levels on its far side; null: none are. */
	readonly #materialFrom: number | null;
	#rungs: Rung[] = [];

	constructor(
		curve: LevelCurve,
		layout: SecondCells,
		{ shares, materialFrom }: { readonly shares: readonly number[]; readonly materialFrom: number | null },
	) {
		this.#curve = curve;
		this.#layout = layout;
		this.#shares = shares;
		this.#direction = shares[0]! > shares[1]! ? 1 : -1;
		this.#materialFrom = materialFrom;
		this.#lowest = minLevel(curve);
		this.#highest = maxLevel(curve);
	}

	/** The size at `x`, no larger than at any rung passed on the way there. */
	worstOnTheWayTo(x: number, own: Sized): Sized {
		let { count, slowCount } = own;
		for (let i = 0; i < this.#shares.length; i++) {
			if ((this.#shares[i]! - own.shareRatio) * this.#direction <= 0) break;
			const { level, sized } = this.#rung(i);
			if ((level - x) * this.#direction > 0) break;
			if (this.#isPassedOver(level, x)) continue;
			count = Math.min(count, sized.count);
			slowCount = Math.min(slowCount, sized.slowCount);
		}
		return { ...own, count, slowCount };
	}

	levels(): number[] {
		const levels = this.#shares.map((_, i) => this.#rung(i).level);
		return this.#materialFrom === null ? levels : [...levels, this.#materialFrom];
	}

	#isPassedOver(level: number, x: number): boolean {
		if (this.#materialFrom === null) return false;
		const beyond = (at: number): boolean => (at - (this.#materialFrom ?? at)) * this.#direction >= 0;
		return beyond(x) && !beyond(level);
	}

	#rung(i: number): Rung {
		const known = this.#rungs[i];
		if (known !== undefined) return known;
		const level = this.#levelNear(this.#shares[i]!);
		const rung = { level, sized: sizeAt(this.#curve, level, this.#layout) };
		this.#rungs[i] = rung;
		return rung;
	}

	/**
	 * A level with about the wanted share over it; at a step, the near side of it: "just below the sample quantile" on
	 * the way up, where a link that was bad for half the time is bad for half the time and not, a hair higher, never.
	 */
	#levelNear(wantedRatio: number): number {
		let low = this.#lowest;
		let high = this.#highest;
		const narrow = (high - low) * RUNG_STEP_TOLERANCE;
		const wantedOdds = wantedRatio / (1 - wantedRatio);
		while (high - low > narrow) {
			const middle = low + (high - low) / 2;
			const shareRatio = shareOver(this.#curve, middle);
			const odds = shareRatio / (1 - shareRatio);
			if (Math.abs(odds / wantedOdds - 1) < RUNG_ODDS_TOLERANCE) return middle;
			if (shareRatio > wantedRatio) low = middle;
			else high = middle;
		}
		return this.#direction === 1 ? low : high;
	}
}

function sizeAt(curve: LevelCurve, x: number, layout: SecondCells): Sized {
	const shareRatio = shareOver(curve, x);
	const { secondShares, weightedEpisodeMs, longestEpisodeMs } = measureExceedance(curve, x, {
		layout,
		below: shareRatio > 0.5,
	});
	const { largest, slowerThanSeen, growthLeft, largestSurplus } = batchVariance(secondShares, layout);
	// Over half the time the episodes are those within the limit, and no limit that is nearly kept is judged there.
	const clusterMs = shareRatio > 0.5 ? 0 : Math.max(longestEpisodeMs, SECOND_MS * largestSurplus);
	const clusterRatio = clusterMs / curve.totalMs;
	if (largest === null) return { shareRatio, count: 0, slowCount: 0, clusterRatio };
	const byEpisodes = curve.totalMs / Math.max(weightedEpisodeMs, LEAST_EPISODE_MS);
	const byBatches = largest > 0 ? (shareRatio * (1 - shareRatio)) / largest : Number.POSITIVE_INFINITY;
	const count = Math.min(byEpisodes, byBatches);
	// Growth that could not make the size smaller is no reason to doubt it.
	return {
		shareRatio,
		count,
		slowCount: slowerThanSeen ? Math.min(count, byBatches / growthLeft) : count,
		clusterRatio,
	};
}

function shareOfOdds(odds: number): number {
	return odds / (1 + odds);
}

/**
 * Where the doubt of one run (random) and of the rig (systematic, one draw for the whole run) meet: in quadrature
 *
 *     bound = central + sqrt((random bound - central)^2 + (share if read low - central)^2)
 *
 * (estimators.md C, computed: wrong "fit" at the limit at most 5.5 % in quadrature, 8 to 41 % with no guard; on links it was not made on up to 9 %, `bench decision`). What varies from
 * picture to picture is already in the random bound and must not come in again. `centreMs` and `standardMs` describe
 * true = reading + centre + draw.
 */
import { type BoundOptions, type ShareBound, ShareBounder } from './episodeBound.ts';
import { type LevelCurve, maxLevel, minLevel, shareOver } from './levelCurve.ts';
import { normalQuantile } from './normal.ts';

const DEFAULT_CONFIDENCE = 0.95;
/** A level is searched for to within this. */
const LEVEL_TOLERANCE_MS = 1e-6;

export type LevelOptions = {
	/** 0.05 asks for the bound of P95. */
	readonly allowedRatio: number;
	readonly centreMs: number;
	readonly standardMs: number;
	/** One-sided; 0.95 when left out. */
	readonly confidence?: number;
	/** As in the episode bound; 0 when left out. */
	readonly immaterialMs?: number;
};

/**
 * The bound of the share over `level` whose random width on either side is the larger of that at the level and that at the level moved by
 * one side of the rig's doubt. A level beyond everything that was seen has next to no random width of its own, but
 * what would be seen if the rig read low has: without it a link with a steep upper end is called met too often (computed, `bench decision`: 8.8 %).
 */
export function boundWithin(bounder: ShareBounder, level: number, reachMs: number): ShareBound {
	const here = bounder.at(level);
	if (!(reachMs > 0)) return here;
	const ifLow = bounder.at(level - reachMs);
	const ifHigh = bounder.at(level + reachMs);
	const { shareRatio } = here;
	return {
		...here,
		upperRatio:
			here.upperRatio === null || ifLow.upperRatio === null
				? null
				: Math.min(1, Math.max(here.upperRatio, shareRatio + ifLow.upperRatio - ifLow.shareRatio)),
		lowerRatio:
			here.lowerRatio === null || ifHigh.lowerRatio === null
				? null
				: Math.max(0, Math.min(here.lowerRatio, shareRatio + ifHigh.lowerRatio - ifHigh.shareRatio)),
		noBoundReason: here.noBoundReason ?? ifLow.noBoundReason,
	};
}

/** Upper bound of a share with both doubts in it. */
export function combineUpper(shares: {
	readonly centralRatio: number;
	readonly randomUpperRatio: number;
	readonly ifLowRatio: number;
}): number {
	const { centralRatio, randomUpperRatio, ifLowRatio } = shares;
	return Math.min(1, centralRatio + Math.hypot(randomUpperRatio - centralRatio, ifLowRatio - centralRatio));
}

/** Lower bound of a share with both doubts in it; `ifHighRatio` is the share over the limit moved up. */
export function combineLower(shares: {
	readonly centralRatio: number;
	readonly randomLowerRatio: number;
	readonly ifHighRatio: number;
}): number {
	const { centralRatio, randomLowerRatio, ifHighRatio } = shares;
	return Math.max(0, centralRatio - Math.hypot(centralRatio - randomLowerRatio, centralRatio - ifHighRatio));
}

/**
 * Upper bound of the level that is exceeded during the allowed share of time: the smallest level from which on the
 * combined upper share stays at or under it, looked for between the levels at which the effective size is taken. Null when
 * the run gives no bound.
 */
export function levelUpper(curve: LevelCurve, options: LevelOptions): number | null {
	const search = new LevelSearch(curve, options);
	return search.run(1);
}

/** The mirror: the largest level up to which the combined lower share stays at or over the allowed one. */
export function levelLower(curve: LevelCurve, options: LevelOptions): number | null {
	const search = new LevelSearch(curve, options);
	return search.run(-1);
}

class LevelSearch {
	readonly #curve: LevelCurve;
	readonly #bounder: ShareBounder;
	readonly #allowedRatio: number;
	readonly #centreMs: number;
	/** How far one side of the rig's doubt reaches. */
	readonly #reachMs: number;

	constructor(
		curve: LevelCurve,
		{ allowedRatio, centreMs, standardMs, confidence = DEFAULT_CONFIDENCE, immaterialMs = 0 }: LevelOptions,
	) {
		if (!(standardMs >= 0))
			throw new RangeError(`a standard uncertainty cannot be negative, got ${standardMs}`);
		const bounds: BoundOptions = { allowedRatio, confidence, immaterialMs };
		this.#curve = curve;
		this.#bounder = new ShareBounder(curve, bounds);
		this.#allowedRatio = allowedRatio;
		this.#centreMs = centreMs;
		this.#reachMs = normalQuantile(confidence) * standardMs;
	}

	/** Direction 1: from above down to the last level that holds; -1 from below up. */
	run(direction: 1 | -1): number | null {
		const holds = (x: number): boolean => (direction === 1 ? this.#upperHolds(x) : this.#lowerHolds(x));
		let good: number | null = null;
		for (const level of this.#candidates(direction)) {
			if (!holds(level)) return good === null ? null : halve(level, good, holds);
			good = level;
		}
		return good;
	}

	/** From the far side, where the line surely holds if it holds anywhere, towards the sample quantile and past it. */
	#candidates(direction: 1 | -1): number[] {
		const rungs = direction === 1 ? this.#bounder.rungLevels() : this.#bounder.rungLevelsDown();
		const far = direction === 1 ? maxLevel(this.#curve) : minLevel(this.#curve) - LEVEL_TOLERANCE_MS;
		const near = [...rungs, far].map((level) => level + this.#centreMs);
		const moved = near.map((level) => level + direction * this.#reachMs);
		return [...near, ...moved].sort((a, b) => direction * (b - a));
	}

	#upperHolds(x: number): boolean {
		const level = x - this.#centreMs;
		const bound = boundWithin(this.#bounder, level, this.#reachMs);
		if (bound.upperRatio === null) return false;
		const combined = combineUpper({
			centralRatio: bound.shareRatio,
			randomUpperRatio: bound.upperRatio,
			ifLowRatio: shareOver(this.#curve, level - this.#reachMs),
		});
		return combined <= this.#allowedRatio;
	}

	#lowerHolds(x: number): boolean {
		const level = x - this.#centreMs;
		const bound = boundWithin(this.#bounder, level, this.#reachMs);
		if (bound.lowerRatio === null) return false;
		const combined = combineLower({
			centralRatio: bound.shareRatio,
			randomLowerRatio: bound.lowerRatio,
			ifHighRatio: shareOver(this.#curve, level + this.#reachMs),
		});
		return combined >= this.#allowedRatio;
	}
}

function halve(bad: number, good: number, holds: (x: number) => boolean): number {
	let no = bad;
	let yes = good;
	while (Math.abs(yes - no) > LEVEL_TOLERANCE_MS) {
		const middle = no + (yes - no) / 2;
		if (holds(middle)) yes = middle;
		else no = middle;
	}
	return yes;
}

/**
 * How long a run of each profile observes, how long a bad spell it vouches for, and which answers its end may give
 * (design.md 6, estimators.md B2). Observed time: after warm-up, segments added, breaks between them not counted.
 *
 * A profile is declared before the run, and only its own end may say yes: looking again and again until the first yes
 * would give far more wrong ones than the bounds promise.
 */
import type { ProfileName } from '../observations/records.ts';

export type Profile = {
	/** Declared length; 0 where the profile declares none. */
	readonly observedMs: number;
	/** Mean length of the bad spells the run vouches against; null: it vouches for none. */
	readonly spellMs: number | null;
	readonly maySayYes: boolean;
	/** A whole file counted, not a sample of something longer. */
	readonly census: boolean;
};

/** The shortest run that may say yes. */
export const VERDICT_OBSERVED_MS = 310_000;

const table: Readonly<Record<ProfileName, Profile>> = {
	demo: { observedMs: 0, spellMs: null, maySayYes: false, census: false },
	brief: { observedMs: 120_000, spellMs: 1_000, maySayYes: false, census: false },
	verdict: { observedMs: VERDICT_OBSERVED_MS, spellMs: 2_500, maySayYes: true, census: false },
	long: { observedMs: 620_000, spellMs: 5_000, maySayYes: true, census: false },
	file: { observedMs: 0, spellMs: null, maySayYes: true, census: true },
};

/** The profile of that name; throws `RangeError` for a name that is not one. */
export function profileOf(name: ProfileName): Profile {
	const profile = Object.hasOwn(table, name) ? table[name] : undefined;
	if (profile === undefined) throw new RangeError(`unknown profile "${name}"`);
	return profile;
}

/**
 * A share of 5 % made up of exponential spells of mean length L is seen often enough only in a run of 118 L
 * (estimators.md B2, derived: 59 independent readings, each worth 2 L).
 */
const SPELLS_NEEDED = 118;
const RARE_MS = 600_000;
/** Less would be told as none. */
const LEAST_SPELL_SECONDS = 0.05;

/** The shortest run that can speak for spells of that mean length. */
export function spellsNeedMs(spellMs: number): number {
	return SPELLS_NEEDED * spellMs;
}

/** Whether a run of that observed time is long enough for what its profile vouches for. */
export function longEnoughForSpells(observedMs: number, profile: Profile): boolean {
	return profile.spellMs !== null && observedMs >= spellsNeedMs(profile.spellMs);
}

/** What a run of this length and profile speaks for, and what it would miss, in words. */
export function speaksFor(observedMs: number, profile: Profile): string {
	if (profile.census) return 'speaks for this file only';
	if (!(Number.isFinite(observedMs) && observedMs > 0)) return 'speaks for nothing: nothing was observed';
	const rarer = rarerWords(observedMs);
	const spellSeconds = Math.min(profile.spellMs ?? 0, observedMs / SPELLS_NEEDED) / 1000;
	if (spellSeconds < LEAST_SPELL_SECONDS)
		return `speaks for no disturbance in particular: too short; ${rarer}`;
	return `speaks for disturbances up to about ${spellSeconds.toFixed(1)} s long; ${rarer}`;
}

/** What comes once in R s, at no set times, is missed in T s with probability e^(-T/R): R for 1 in 20, and the share for R of 10 min. */
function rarerWords(observedMs: number): string {
	const often = (observedMs / 1000 / Math.log(20)).toFixed(0);
	const missed = Math.round(100 * Math.exp(-observedMs / RARE_MS));
	return `a rare one may have been missed: of such runs 5 in 100 miss one that comes about once in ${often} s, and ${missed} in 100 one that comes about once in 10 min`;
}

/**
 * What a phase that stands still may cost: two clocks that beat slowly or not at all are read at one phase only, and the mean
 * is off by a saw tooth (estimators.md A2 and A6, derived there and checked by brute force in the tests).
 *
 *   a(L, E) = e (L - e) / 2E,  e = E mod L,  on a lattice L with exposure E
 *
 * L is one period over m, m being the denominator of the rates' ratio in lowest terms. After c whole beats the error is gone; in
 * between it is at most a f(1 - f)/c, f the fraction of c. A crystal's smoothing is not taken credit for.
 */

/** Amplitude in the unit of L and E. */
export function lockAmplitude(lattice: number, exposure: number): number {
	if (!(lattice > 0 && exposure > 0))
		throw new RangeError(`lattice and exposure must be positive, got ${lattice}, ${exposure}`);
	const rest = exposure - lattice * Math.floor(exposure / lattice);
	return (rest * (lattice - rest)) / (2 * exposure);
}

export type Beat = {
	/** Denominator m of the ratio. */
	readonly parts: number;
	/** Cycles of the lattice's phase that the readings sweep. */
	readonly cycles: number;
};

const MOST_PARTS = 6;
/** A ratio nearer than this to n/m is locked to it or beats with it; a random ratio seldom is, for small m. */
const NEAR = 0.012;

/** Ticks that a few readings leave in doubt over all of them: a ratio told from a short clip may be a locked one. */
const IN_DOUBT = 1;

/** `ratio`: ticks from one reading to the next; `count` readings. */
export function findBeat(ratio: number, count: number): Beat {
	for (let parts = 1; parts <= MOST_PARTS; parts++) {
		const off = Math.abs(ratio * parts - Math.round(ratio * parts)) / parts;
		const near = Math.max(NEAR * Math.sqrt(parts), (IN_DOUBT * parts) / count);
		if (off * parts < near) return { parts, cycles: off * parts * count };
	}
	// No small denominator: the phases spread over a lattice so fine that nothing is left.
	return { parts: MOST_PARTS + 1, cycles: count };
}

/** What is left of an amplitude after so many cycles, 0 to 1. */
export function beatFactor(cycles: number): number {
	if (cycles < 1) return 1;
	const part = cycles - Math.floor(cycles);
	return (part * (1 - part)) / cycles;
}

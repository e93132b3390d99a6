/**
 * A seeded generator, so that every simulated run can be run again: sfc32 (Doty-Humphrey's small fast counter, from
 * memory) filled from the seed by a mixing step. Not for secrets.
 */

export type Random = {
	/** Uniform in [0, 1), 53 bits. */
	next(): number;
	/** Standard normal. */
	normal(): number;
	exponential(mean: number): number;
	/** Uniform whole number in [0, belowN). */
	integer(belowN: number): number;
};

/** `seed`: any finite number; its low 53 bits count. */
export function createRandom(seed: number): Random {
	if (!Number.isFinite(seed)) throw new RangeError(`a seed must be finite, got ${seed}`);
	const word = wordSource(seed);
	let spare: number | null = null;

	function next(): number {
		return ((word() >>> 5) * 67_108_864 + (word() >>> 6)) / 9_007_199_254_740_992;
	}

	/** Marsaglia's polar method: two normals from one accepted pair. */
	function normal(): number {
		if (spare !== null) {
			const kept = spare;
			spare = null;
			return kept;
		}
		for (;;) {
			const u = 2 * next() - 1;
			const v = 2 * next() - 1;
			const s = u * u + v * v;
			if (s > 0 && s < 1) {
				const factor = Math.sqrt((-2 * Math.log(s)) / s);
				spare = v * factor;
				return u * factor;
			}
		}
	}

	return {
		next,
		normal,
		exponential: (mean) => -mean * Math.log(1 - next()),
		integer(belowN) {
			if (!(Number.isSafeInteger(belowN) && belowN > 0))
				throw new RangeError(`a whole number above 0 is needed, got ${belowN}`);
			return Math.floor(next() * belowN);
		},
	};
}

function wordSource(seed: number): () => number {
	const whole = Math.floor(Math.abs(seed));
	let a = whole | 0;
	let b = (whole / 4_294_967_296) | 0;
	let c = seed < 0 ? 0x5bd1e995 : 0x9e3779b9;
	let counter = 1;

	function word(): number {
		const sum = (((a + b) | 0) + counter) | 0;
		counter = (counter + 1) | 0;
		a = b ^ (b >>> 9);
		b = (c + (c << 3)) | 0;
		c = (c << 21) | (c >>> 11);
		c = (c + sum) | 0;
		return sum;
	}

	// Neighbouring seeds are far apart after the first rounds.
	for (let i = 0; i < 20; i++) word();
	return word;
}

/**
 * Noise for drawing: a whole number of 32 bits for each (seed, index), by integer multiplication and shifts only, so that
 * every machine draws the same. Mixing steps after the public-domain 32-bit finaliser of MurmurHash3. Not for statistics.
 */
export function noiseAt(seed: number, index: number): number {
	let word = (Math.imul(index + 1, 0x9e3779b1) ^ seed) >>> 0;
	word = Math.imul(word ^ (word >>> 16), 0x85ebca6b);
	word = Math.imul(word ^ (word >>> 13), 0xc2b2ae35);
	return (word ^ (word >>> 16)) >>> 0;
}

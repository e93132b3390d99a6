/**
 * Trouble scores: each reading's place among all, as a number with mean 1 and variance 1 whatever the scale of the readings.
 * Savage's exponential scores (1956, from memory): the k-th smallest of n gets 1/n + 1/(n-1) + … + 1/(n-k+1). A reading in the
 * worst tenth stands far above the rest, a wild one cannot stand above all of them together. Equal readings share the mean of
 * their scores; a lost packet is the worst of all (`Infinity`).
 */
export function troubleScores(values: ArrayLike<number>): Float64Array {
	const n = values.length;
	const order = Uint32Array.from({ length: n }, (_, i) => i).sort((a, b) => compare(values[a]!, values[b]!));
	const scores = new Float64Array(n);
	let score = 0;
	for (let from = 0; from < n; ) {
		let to = from;
		let sum = 0;
		for (; to < n && values[order[to]!] === values[order[from]!]; to++) {
			score += 1 / (n - to);
			sum += score;
		}
		for (let i = from; i < to; i++) scores[order[i]!] = sum / (to - from);
		from = to;
	}
	return scores;
}

/** Two infinities are equal, which their difference would not say. */
function compare(a: number, b: number): number {
	return a < b ? -1 : a > b ? 1 : 0;
}

/**
 * How many independent pictures a run of pictures is worth for its loss ratio, when losses come in runs: the count over
 * the length-weighted run, sum l^2 / sum l. For a simple Gilbert chain with rare losses that is its exact loss of
 * information, (1 + rho) / (1 - rho) (derived: the mean of the length-weighted geometric run is (2 - r) / r). Runs that
 * stand closer than the longer of two are one.
 */

/** `lostFlags`: one entry a picture in order of sending, true or 1 where it was lost. At least 1. */
export function effectiveLossSize(lostFlags: ArrayLike<boolean | number>): number {
	const count = lostFlags.length;
	if (count === 0) throw new RangeError('no pictures, no effective size');
	let sum = 0;
	let squares = 0;
	for (const length of mergedRuns(lostFlags)) {
		sum += length;
		squares += length * length;
	}
	return sum === 0 ? count : Math.max(1, (count * sum) / squares);
}

function* mergedRuns(lostFlags: ArrayLike<boolean | number>): Generator<number> {
	let from = -1;
	let to = -1;
	let lastLength = 0;
	for (let i = 0; i < lostFlags.length; ) {
		if (!lostFlags[i]) {
			i++;
			continue;
		}
		const start = i;
		while (i < lostFlags.length && lostFlags[i]) i++;
		const length = i - start;
		if (from >= 0 && start - to > Math.max(length, lastLength)) yield to - from;
		if (from < 0 || start - to > Math.max(length, lastLength)) from = start;
		to = i;
		lastLength = length;
	}
	if (from >= 0) yield to - from;
}

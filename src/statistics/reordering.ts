/**
 * Packets that came after one sent later (RFC 4737, type-P-reordered, from memory): a packet is reordered when its number is
 * below the greatest that came before it. The extent is how many packets came since the first one that should have
 * come after it. Copies of a packet are to be left out by the caller.
 */
export type Reordering = {
	readonly reordered: number;
	readonly ratio: number;
	readonly longestExtent: number;
};

/** `numbers`: sending numbers in the order of arrival. Null when nothing came. */
export function measureReordering(numbers: ArrayLike<number>): Reordering | null {
	if (numbers.length === 0) return null;
	// Places of the arrivals that set a new greatest: their numbers rise too, so that the first above is found by halving.
	const peaks = new Uint32Array(numbers.length);
	let peakCount = 0;
	let reordered = 0;
	let longestExtent = 0;
	for (let place = 0; place < numbers.length; place++) {
		const number = numbers[place]!;
		if (peakCount === 0 || number >= numbers[peaks[peakCount - 1]!]!) {
			peaks[peakCount++] = place;
			continue;
		}
		reordered++;
		const isAbove = (peak: number): boolean => numbers[peaks[peak]!]! > number;
		longestExtent = Math.max(longestExtent, place - peaks[firstWhere(isAbove, peakCount)]!);
	}
	return { reordered, ratio: reordered / numbers.length, longestExtent };
}

/** Of `count` places, false before it and true from it on. */
function firstWhere(holds: (place: number) => boolean, count: number): number {
	let [low, high] = [0, count - 1];
	while (low < high) {
		const middle = (low + high) >> 1;
		if (holds(middle)) high = middle;
		else low = middle + 1;
	}
	return low;
}

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
	// Places and numbers of the arrivals that set a new greatest: rising both ways, so that the first above is found by halving.
	const peaks: { readonly place: number; readonly number: number }[] = [];
	let reordered = 0;
	let longestExtent = 0;
	for (let place = 0; place < numbers.length; place++) {
		const number = numbers[place]!;
		const top = peaks.at(-1);
		if (top === undefined || number >= top.number) {
			peaks.push({ place, number });
			continue;
		}
		reordered++;
		longestExtent = Math.max(longestExtent, place - firstAbove(peaks, number));
	}
	return { reordered, ratio: reordered / numbers.length, longestExtent };
}

function firstAbove(
	peaks: readonly { readonly place: number; readonly number: number }[],
	number: number,
): number {
	let [low, high] = [0, peaks.length - 1];
	while (low < high) {
		const middle = (low + high) >> 1;
		if (peaks[middle]!.number > number) high = middle;
		else low = middle + 1;
	}
	return peaks[low]!.place;
}

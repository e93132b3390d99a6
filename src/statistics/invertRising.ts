/** The argument at which a rising function of one number reaches a value: false position guarded by halving. */

const MAX_STEPS = 200;
const RELATIVE_WIDTH = 1e-14;

/** `bracket` must hold the answer; the result is exact to about 14 figures. */
export function invertRising(
	rising: (x: number) => number,
	target: number,
	bracket: { readonly low: number; readonly high: number },
): number {
	let { low, high } = bracket;
	let lowError = rising(low) - target;
	let highError = rising(high) - target;
	if (lowError >= 0) return low;
	if (highError <= 0) return high;
	for (let step = 0; step < MAX_STEPS; step++) {
		const width = high - low;
		if (width <= RELATIVE_WIDTH * Math.abs(high)) break;
		// Every third step halves, so that one end cannot stay behind.
		const slant = low - (lowError * width) / (highError - lowError);
		const x = step % 3 === 2 || !(slant > low && slant < high) ? low + width / 2 : slant;
		const error = rising(x) - target;
		if (error === 0 || x === low || x === high) return x;
		if (error < 0) {
			low = x;
			lowError = error;
			highError /= 2;
		} else {
			high = x;
			highError = error;
			lowError /= 2;
		}
	}
	return low + (high - low) / 2;
}

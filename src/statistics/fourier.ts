/** Discrete Fourier transform in place, radix 2 (Cooley and Tukey, textbook, from memory): X_k = sum of x_n exp(-2 pi i k n / N). */

/** `re` and `im`: the same length, a power of two. */
export function fourierInPlace(re: Float64Array, im: Float64Array): void {
	const n = re.length;
	if (n === 0 || (n & (n - 1)) !== 0 || im.length !== n)
		throw new RangeError(`two columns of one power of two are needed, got ${n} and ${im.length}`);
	reverseBits(re, im);
	const cos = new Float64Array(n / 2);
	const sin = new Float64Array(n / 2);
	for (let k = 0; k < n / 2; k++) {
		cos[k] = Math.cos((2 * Math.PI * k) / n);
		sin[k] = -Math.sin((2 * Math.PI * k) / n);
	}
	for (let size = 2; size <= n; size *= 2) {
		const half = size / 2;
		const stride = n / size;
		for (let start = 0; start < n; start += size) {
			for (let k = 0; k < half; k++) {
				const [a, b] = [start + k, start + k + half];
				const [c, s] = [cos[k * stride]!, sin[k * stride]!];
				const [x, y] = [re[b]! * c - im[b]! * s, re[b]! * s + im[b]! * c];
				re[b] = re[a]! - x;
				im[b] = im[a]! - y;
				re[a]! += x;
				im[a]! += y;
			}
		}
	}
}

function reverseBits(re: Float64Array, im: Float64Array): void {
	const n = re.length;
	for (let i = 1, j = 0; i < n; i++) {
		let bit = n >> 1;
		for (; j & bit; bit >>= 1) j ^= bit;
		j ^= bit;
		if (i >= j) continue;
		[re[i], re[j]] = [re[j]!, re[i]!];
		[im[i], im[j]] = [im[j]!, im[i]!];
	}
}

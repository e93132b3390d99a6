/**
 * Lomb and Scargle's periodogram of readings at uneven instants (Lomb 1976, Scargle 1982, from memory): the power of the sine of
 * one frequency that fits best by least squares, over the variance. Where the readings are independent normal noise it is
 * exponential with mean 1, and the chance that the highest of n independent frequencies reaches z is 1 - (1 - exp(-z))^n.
 */

/** Throws `RangeError` when all values are equal: there is nothing to explain. */
export function lombScargle(timesS: ArrayLike<number>, values: ArrayLike<number>, hz: number): number {
	const n = timesS.length;
	let mean = 0;
	for (let i = 0; i < n; i++) mean += values[i]! / n;
	let squares = 0;
	for (let i = 0; i < n; i++) squares += (values[i]! - mean) ** 2;
	const variance = squares / (n - 1);
	if (!(variance > 0)) throw new RangeError('equal values hold no period');
	const omega = 2 * Math.PI * hz;
	let [sin2, cos2] = [0, 0];
	for (let i = 0; i < n; i++) {
		sin2 += Math.sin(2 * omega * timesS[i]!);
		cos2 += Math.cos(2 * omega * timesS[i]!);
	}
	const tau = Math.atan2(sin2, cos2) / (2 * omega);
	let [xc, xs, cc, ss] = [0, 0, 0, 0];
	for (let i = 0; i < n; i++) {
		const phase = omega * (timesS[i]! - tau);
		const [c, s, x] = [Math.cos(phase), Math.sin(phase), values[i]! - mean];
		xc += x * c;
		xs += x * s;
		cc += c * c;
		ss += s * s;
	}
	// At half the sampling rate one of the two vanishes, and so does what it could explain.
	const part = (x: number, norm: number): number => (norm > 1e-9 * n ? (x * x) / norm : 0);
	return (part(xc, cc) + part(xs, ss)) / (2 * variance);
}

/** Chance that the highest of `frequencies` independent ones reaches `power` in noise alone. */
export function falseAlarmRatio(power: number, frequencies: number): number {
	return -Math.expm1(frequencies * Math.log1p(-Math.exp(-power)));
}

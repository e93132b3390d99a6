/**
 * Exact binomial ranks, intervals of shares, and sizes needed. Ranks, minima and rule-of-three values were computed from the
 * exact binomial distribution by an independent program (standards.md 3.1, 3.2); the first four Wilson rows are the cases of
 * Newcombe 1998 (from memory, computed equal); sizes needed: estimators.md B3, computed.
 */

/** order p, n, lower rank, upper rank, coverage; two-sided 95 %. */
export const twoSidedRanks: readonly (readonly [number, number, number, number, number])[] = [
	[0.5, 20, 6, 15, 0.95861],
	[0.5, 50, 18, 33, 0.96716],
	[0.5, 100, 40, 61, 0.9648],
	[0.9, 50, 41, 50, 0.97031],
	[0.9, 100, 84, 96, 0.95569],
	[0.99, 473, 464, 473, 0.96894],
	[0.99, 1000, 983, 997, 0.97609],
	[0.99, 3000, 2959, 2981, 0.95707],
	[0.95, 73, 65, 73, 0.96586],
	[0.95, 100, 90, 100, 0.98261],
	[0.95, 150, 137, 148, 0.96316],
	[0.95, 200, 184, 197, 0.96715],
	[0.95, 300, 277, 293, 0.96719],
	[0.95, 600, 559, 581, 0.96121],
	[0.95, 1000, 936, 964, 0.9581],
	[0.95, 3000, 2826, 2874, 0.95572],
];

/** order p, n, rank of the one-sided 95 % upper bound. */
export const upperRanks: readonly (readonly [number, number, number])[] = [
	[0.95, 59, 59],
	[0.95, 93, 92],
	[0.95, 100, 99],
	[0.95, 124, 122],
	[0.95, 153, 150],
	[0.95, 181, 177],
	[0.95, 200, 196],
	[0.95, 300, 292],
	[0.95, 500, 484],
	[0.95, 1000, 962],
	[0.99, 299, 299],
	[0.99, 473, 472],
	[0.99, 1000, 996],
	[0.99, 3000, 2980],
];

/** order p, least n with a one-sided 95 % bound, least n with a two-sided 95 % interval. */
export const leastReadings: readonly (readonly [number, number, number])[] = [
	[0.9, 29, 36],
	[0.95, 59, 72],
	[0.99, 299, 368],
	[0.999, 2995, 3688],
];

/** successes, n, lower, upper; z = 1.959964. */
export const wilsonRows: readonly (readonly [number, number, number, number])[] = [
	[81, 263, 0.2553, 0.3662],
	[15, 148, 0.0624, 0.1605],
	[0, 20, 0, 0.1611],
	[1, 29, 0.0061, 0.1718],
	[0, 1800, 0, 0.00213],
	[5, 1800, 0.001187, 0.006486],
	[3, 300, 0.003407, 0.028983],
	[1, 1000, 0.000177, 0.005643],
];

/** successes, n, lower, upper; 97.5 % each side. */
export const clopperPearsonRows: readonly (readonly [number, number, number, number])[] = [
	[0, 20, 0, 0.168433],
	[3, 300, 0.002067, 0.028945],
];

/** n, exact one-sided 95 % upper bound of a share with none seen. */
export const noneSeen: readonly (readonly [number, number, number])[] = [
	[30, 0.095, 4],
	[100, 0.02951, 5],
	[300, 0.00994, 5],
	[1800, 0.001663, 6],
];

/** share seen, independent readings needed to settle a 5 % line; null: longer will not settle it. */
export const readingsNeeded: readonly (readonly [number, number | null])[] = [
	[0, 59],
	[0.005, 72],
	[0.01, 90],
	[0.015, 116],
	[0.02, 157],
	[0.025, 223],
	[0.03, 343],
	[0.035, 601],
	[0.04, 1332],
	[0.045, null],
	[0.05, null],
	[0.055, null],
	[0.06, 1431],
	[0.07, 392],
	[0.08, 189],
	[0.1, 78],
	[0.15, 25],
	[0.2, 14],
];

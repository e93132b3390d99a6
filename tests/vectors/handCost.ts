/** MacKenzie and Ware 1993: times of MT = 230 + (169 + 1.03 lag) ID for ID 1 to 6, rounded to ms (computed from the regression,
 * which is published, second hand). */
export const MACKENZIE_WARE: readonly (readonly [lagMs: number, timesMs: readonly number[]])[] = [
	[8.3, [408, 585, 763, 940, 1118, 1295]],
	[25, [425, 620, 814, 1009, 1204, 1398]],
	[75, [476, 722, 969, 1215, 1461, 1708]],
	[225, [631, 1032, 1432, 1833, 2234, 2634]],
];

/** Their measured error rates (published, second hand). */
export const MACKENZIE_WARE_TABLE: readonly (readonly [lagMs: number, errorRatio: number])[] = [
	[8.3, 0.036],
	[25, 0.036],
	[75, 0.049],
	[225, 0.113],
];

/** Millimetres at 10, 20 and 50 mm/s (computed). */
export const BLIND_TRAVEL: readonly (readonly [lagMs: number, distancesMm: readonly number[]])[] = [
	[100, [1, 2, 5]],
	[200, [2, 4, 10]],
	[300, [3, 6, 15]],
	[500, [5, 10, 25]],
];

/**
 * Rows for sRGB, XYZ, Lab, adaptation, whites and colour temperature.
 * Source beside each: "published" = values of the colour-science/colour library's tests; "computed" = worked out once in
 * double precision, apart from this code, from the formula named.
 */
type Triple = readonly [number, number, number];

/** Published (test_srgb.py): linear 0.18. Computed: 0.5, IEC 61966-2-1. Both as 0..1. */
export const srgbEncoded: readonly (readonly [linear: number, encoded: number, tolerance: number])[] = [
	[0.18, 0.461356129500442, 1e-12],
	[0.5, 0.735357, 5e-7],
];

/** Computed, IEC 61966-2-1: 8-bit code to linear light, 7 decimals. */
export const srgbDecoded: readonly (readonly [code: number, linear: number])[] = [
	[10, 0.0030353],
	[11, 0.0033465],
	[64, 0.0512695],
	[118, 0.1811642],
	[127.5, 0.214041],
	[128, 0.2158605],
	[188, 0.5028865],
	[200, 0.5775804],
	[254, 0.9911021],
];

/** Computed from the primaries (.64 .33; .30 .60; .15 .06) and D65 (.3127, .3290): XYZ of red, green, blue, white. */
export const xyz65OfPrimaries: readonly (readonly [rgb: Triple, xyz: Triple])[] = [
	[
		[255, 0, 0],
		[0.4123908, 0.212639, 0.0193308],
	],
	[
		[0, 255, 0],
		[0.3575843, 0.7151687, 0.1191948],
	],
	[
		[0, 0, 255],
		[0.1804808, 0.0721923, 0.9505322],
	],
	[
		[255, 255, 255],
		[0.950456, 1, 1.089058],
	],
];

/** Computed, derived matrix. With the older white .95047, 1.08883 they move by less than 0.01, hence a tolerance of 0.02. */
export const lab65OfSrgb: readonly (readonly [rgb: Triple, lab: Triple])[] = [
	[
		[255, 0, 0],
		[53.2371, 80.0901, 67.2033],
	],
	[
		[0, 255, 0],
		[87.7355, -86.1816, 83.1866],
	],
	[
		[0, 0, 255],
		[32.3009, 79.1953, -107.8555],
	],
	[
		[255, 255, 0],
		[97.1386, -21.56, 94.4838],
	],
	[
		[0, 255, 255],
		[91.1148, -48.0789, -14.129],
	],
	[
		[255, 0, 255],
		[60.3227, 98.2374, -60.8289],
	],
	[
		[128, 128, 128],
		[53.585, 0, 0],
	],
	[
		[119, 119, 119],
		[50.0344, 0, 0],
	],
	[
		[200, 120, 110],
		[58.8256, 30.1346, 18.8937],
	],
];

/** Published (test_cie_lab): one XYZ against two whites given as x, y. */
export const labOfXyz: readonly (readonly [xyz: Triple, white: readonly [number, number], lab: Triple])[] = [
	[
		[0.20654008, 0.12197225, 0.05136952],
		[0.3127, 0.329],
		[41.52787529, 52.63858304, 26.92317922],
	],
	[
		[0.20654008, 0.12197225, 0.05136952],
		[0.3457, 0.3585],
		[41.52787529, 51.19354174, 19.91843098],
	],
];

/** Published: Bradford matrix between two whites. Computed: ICC D50 (x .3457029, y .3585386) to D65 (x .3127, y .3290). */
export const bradfordPublished = {
	from: [0.95045593, 1, 1.08905775],
	to: [0.96429568, 1, 0.8251046],
	matrix: [
		[1.04792979, 0.02294687, -0.05019227],
		[0.02962781, 0.99043443, -0.0170738],
		[-0.00924304, 0.01505519, 0.75187428],
	],
} as const;
export const bradfordIcc50To65 = [
	[0.9555126, -0.023073, 0.0633091],
	[-0.0283248, 1.0099429, 0.0210544],
	[0.0123287, -0.0205353, 1.3307137],
] as const;

/** Published, McCamy 1992: x, y to kelvin. The first is D65, (.3127, .3290). */
export const colourTemperatures: readonly (readonly [xy: readonly [number, number], kelvin: number])[] = [
	[[0.3127, 0.329], 6505.0806],
	[[0.44757, 0.40745], 2857.2896],
];

/**
 * dE94. Published, to 12 decimals: standard, sample, graphics, textiles (null: not given).
 * Computed, to 4 decimals: the two last rows, pair 17 of the CIEDE2000 data both ways round.
 */
export const deltaE94Rows: readonly (readonly [
	standard: Triple,
	sample: Triple,
	graphics: number,
	textiles: number | null,
	tolerance: number,
])[] = [
	[[100, 21.57210357, 272.2281935], [100, 426.67945353, 72.39590835], 83.779225500887, 88.335553057507, 1e-9],
	[[100, 21.57210357, 272.2281935], [100, 74.05216981, 276.45318193], 10.053931954554, null, 1e-9],
	[[50, 2.5, 0], [73, 25, -18], 34.6892, null, 5e-5],
	[[73, 25, -18], [50, 2.5, 0], 26.1398, null, 5e-5],
	[[50, 2.6772, -79.7751], [50, 0, -82.7485], 1.395, null, 5e-5],
];

/** Computed, plain distance. */
export const deltaE76Rows: readonly (readonly [
	standard: Triple,
	sample: Triple,
	difference: number,
	tolerance: number,
])[] = [
	[[100, 21.57210357, 272.2281935], [100, 426.67945353, 72.39590835], 451.713302, 5e-7],
	[[50, 2.5, 0], [73, 25, -18], 36.868, 5e-5],
	[[50, 2.6772, -79.7751], [50, 0, -82.7485], 4.0011, 5e-5],
];

/** Computed from CIE 15 and McCamy 1992: white balance of two tints; null: not given. */
export const tintedWhites = [
	{
		rgb: [200, 190, 170],
		chroma: 11.365,
		deltaUv: 0.01771,
		kelvin: 5331,
		angleDeg: 8.299,
		redOverGreen: 1.1217,
		blueOverGreen: 0.7807,
	},
	{
		rgb: [185, 190, 200],
		chroma: 5.626,
		deltaUv: 0.00918,
		kelvin: 7326,
		angleDeg: 4.19,
		redOverGreen: null,
		blueOverGreen: null,
	},
] as const;

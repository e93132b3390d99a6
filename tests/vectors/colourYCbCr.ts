/**
 * Y'CbCr codes of full-strength colours, and what misreading them does.
 * Source: code ranges and weights of ITU-R BT.601 and BT.709 as published in the colour-science/colour library; rows computed
 * from them once, apart from this code; differences by CIEDE2000 against D65.
 */
type Triple = readonly [number, number, number];
/** What a viewer sees when the colour is decoded wrongly, and how far that is from the colour. Null: not given. */
type Misread = { readonly rgb: Triple | null; readonly deltaE00: number };
export type YCbCrRow = {
	readonly name: string;
	readonly rgb: Triple;
	readonly limited601: Triple;
	readonly limited709: Triple;
	readonly stored601Read709: Misread;
	readonly stored709Read601: Misread;
	readonly limitedReadFull: Misread;
};

export const yCbCrRows: readonly YCbCrRow[] = [
	{
		name: 'white',
		rgb: [255, 255, 255],
		limited601: [235, 128, 128],
		limited709: [235, 128, 128],
		stored601Read709: { rgb: [255, 255, 255], deltaE00: 0 },
		stored709Read601: { rgb: null, deltaE00: 0 },
		limitedReadFull: { rgb: [235, 235, 235], deltaE00: 4.1 },
	},
	{
		name: 'yellow',
		rgb: [255, 255, 0],
		limited601: [210, 16, 146],
		limited709: [219, 16, 138],
		stored601Read709: { rgb: [255, 240, 0], deltaE00: 4.03 },
		stored709Read601: { rgb: [252, 255, 10], deltaE00: 0.66 },
		limitedReadFull: { rgb: null, deltaE00: 4.29 },
	},
	{
		name: 'cyan',
		rgb: [0, 255, 255],
		limited601: [170, 166, 16],
		limited709: [188, 154, 16],
		stored601Read709: { rgb: [0, 231, 255], deltaE00: 9.16 },
		stored709Read601: { rgb: [22, 255, 253], deltaE00: 0.61 },
		limitedReadFull: { rgb: null, deltaE00: 3.99 },
	},
	{
		name: 'green',
		rgb: [0, 255, 0],
		limited601: [145, 54, 34],
		limited709: [173, 42, 26],
		stored601Read709: { rgb: [0, 216, 0], deltaE00: 8.63 },
		stored709Read601: { rgb: [20, 255, 9], deltaE00: 0.16 },
		limitedReadFull: { rgb: null, deltaE00: 3.84 },
	},
	{
		name: 'magenta',
		rgb: [255, 0, 255],
		limited601: [106, 202, 222],
		limited709: [78, 214, 230],
		stored601Read709: { rgb: [255, 39, 255], deltaE00: 1.31 },
		stored709Read601: { rgb: [235, 0, 246], deltaE00: 3.74 },
		limitedReadFull: { rgb: null, deltaE00: 3.26 },
	},
	{
		name: 'red',
		rgb: [255, 0, 0],
		limited601: [81, 90, 240],
		limited709: [63, 102, 240],
		stored601Read709: { rgb: [255, 24, 0], deltaE00: 1.02 },
		stored709Read601: { rgb: [233, 0, 2], deltaE00: 4.74 },
		limitedReadFull: { rgb: null, deltaE00: 3.41 },
	},
	{
		name: 'blue',
		rgb: [0, 0, 255],
		limited601: [41, 240, 110],
		limited709: [32, 240, 118],
		stored601Read709: { rgb: [0, 15, 255], deltaE00: 0.82 },
		stored709Read601: { rgb: [3, 0, 245], deltaE00: 1.25 },
		limitedReadFull: { rgb: null, deltaE00: 1.54 },
	},
	{
		name: 'black',
		rgb: [0, 0, 0],
		limited601: [16, 128, 128],
		limited709: [16, 128, 128],
		stored601Read709: { rgb: null, deltaE00: 0 },
		stored709Read601: { rgb: null, deltaE00: 0 },
		limitedReadFull: { rgb: [16, 16, 16], deltaE00: 2.73 },
	},
	{
		name: 'grey',
		rgb: [128, 128, 128],
		limited601: [126, 128, 128],
		limited709: [126, 128, 128],
		stored601Read709: { rgb: null, deltaE00: 0 },
		stored709Read601: { rgb: null, deltaE00: 0 },
		limitedReadFull: { rgb: [126, 126, 126], deltaE00: 0.76 },
	},
	{
		name: 'tissue',
		rgb: [200, 120, 110],
		limited601: [139, 112, 164],
		limited709: [133, 116, 164],
		stored601Read709: { rgb: [208, 127, 109], deltaE00: 3.61 },
		stored709Read601: { rgb: [194, 112, 112], deltaE00: 4.26 },
		limitedReadFull: { rgb: [190, 118, 111], deltaE00: 2.37 },
	},
];

/** Published (test_ycbcr.py): what one code of chroma adds, from Y'CbCr back to RGB; rows R, G, B over Y, Cb, Cr. */
export const backwardFactors = [
	{
		encoding: { matrix: '601', range: 'full' },
		luma: 1,
		redOfCr: 1.402,
		greenOfCb: -0.34413629,
		greenOfCr: -0.71413629,
		blueOfCb: 1.772,
	},
	{
		encoding: { matrix: '709', range: 'full' },
		luma: 1,
		redOfCr: 1.5748,
		greenOfCb: -0.18732427,
		greenOfCr: -0.46812427,
		blueOfCb: 1.8556,
	},
	{
		encoding: { matrix: '709', range: 'limited' },
		luma: 1.16438356,
		redOfCr: 1.79274107,
		greenOfCb: -0.21324861,
		greenOfCr: -0.53290933,
		blueOfCb: 2.11240179,
	},
] as const;

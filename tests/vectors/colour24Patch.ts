/**
 * The classic 24-patch target in both editions: Lab against the ICC's D50, sRGB codes of it, and the CIEDE2000 difference
 * between editions.
 * Source: Lab published in the colour-science/colour library (chromaticity_coordinates.py, before and after November 2014);
 * sRGB and the differences computed from it once: D50, Bradford, D65, sRGB, clipped. Patch 18 lies outside sRGB.
 */
type Triple = readonly [number, number, number];
type Edition = { readonly lab50: Triple; readonly srgb: Triple };
export type TargetPatch = {
	readonly name: string;
	readonly before2014: Edition;
	readonly after2014: Edition;
	readonly differenceOfEditions: number;
};

export const classic24: readonly TargetPatch[] = [
	{
		name: 'dark skin',
		before2014: { lab50: [37.986, 13.555, 14.059], srgb: [115, 81, 67] },
		after2014: { lab50: [37.54, 14.37, 14.92], srgb: [116, 79, 65] },
		differenceOfEditions: 0.77,
	},
	{
		name: 'light skin',
		before2014: { lab50: [65.711, 18.13, 17.81], srgb: [199, 147, 129] },
		after2014: { lab50: [64.66, 19.27, 17.5], srgb: [197, 144, 127] },
		differenceOfEditions: 1.24,
	},
	{
		name: 'blue sky',
		before2014: { lab50: [49.927, -4.88, -21.905], srgb: [91, 122, 156] },
		after2014: { lab50: [49.32, -3.82, -22.54], srgb: [91, 120, 155] },
		differenceOfEditions: 1.13,
	},
	{
		name: 'foliage',
		before2014: { lab50: [43.139, -13.095, 21.905], srgb: [90, 108, 64] },
		after2014: { lab50: [43.46, -12.74, 22.72], srgb: [91, 108, 64] },
		differenceOfEditions: 0.65,
	},
	{
		name: 'blue flower',
		before2014: { lab50: [55.112, 8.844, -25.399], srgb: [130, 128, 176] },
		after2014: { lab50: [54.94, 9.61, -24.79], srgb: [131, 127, 175] },
		differenceOfEditions: 0.96,
	},
	{
		name: 'bluish green',
		before2014: { lab50: [70.719, -33.397, -0.199], srgb: [92, 190, 172] },
		after2014: { lab50: [70.48, -32.26, -0.37], srgb: [95, 189, 172] },
		differenceOfEditions: 0.51,
	},
	{
		name: 'orange',
		before2014: { lab50: [62.661, 36.067, 57.096], srgb: [224, 124, 47] },
		after2014: { lab50: [62.73, 35.83, 56.5], srgb: [224, 124, 48] },
		differenceOfEditions: 0.18,
	},
	{
		name: 'purplish blue',
		before2014: { lab50: [40.02, 10.41, -45.964], srgb: [68, 91, 170] },
		after2014: { lab50: [39.43, 10.75, -45.17], srgb: [69, 90, 167] },
		differenceOfEditions: 0.79,
	},
	{
		name: 'moderate red',
		before2014: { lab50: [51.124, 48.239, 16.248], srgb: [198, 82, 97] },
		after2014: { lab50: [50.57, 48.64, 16.67], srgb: [197, 80, 95] },
		differenceOfEditions: 0.59,
	},
	{
		name: 'purple',
		before2014: { lab50: [30.325, 22.976, -21.587], srgb: [94, 58, 106] },
		after2014: { lab50: [30.1, 22.54, -20.87], srgb: [93, 58, 104] },
		differenceOfEditions: 0.42,
	},
	{
		name: 'yellow green',
		before2014: { lab50: [72.532, -23.709, 57.255], srgb: [159, 189, 63] },
		after2014: { lab50: [71.77, -24.13, 58.19], srgb: [156, 187, 58] },
		differenceOfEditions: 0.63,
	},
	{
		name: 'orange yellow',
		before2014: { lab50: [71.941, 19.363, 67.857], srgb: [230, 162, 39] },
		after2014: { lab50: [71.51, 18.24, 67.37], srgb: [227, 161, 39] },
		differenceOfEditions: 0.7,
	},
	{
		name: 'blue',
		before2014: { lab50: [28.778, 14.179, -50.297], srgb: [35, 63, 147] },
		after2014: { lab50: [28.37, 15.42, -49.8], srgb: [40, 62, 145] },
		differenceOfEditions: 1.1,
	},
	{
		name: 'green',
		before2014: { lab50: [55.261, -38.342, 31.37], srgb: [67, 149, 74] },
		after2014: { lab50: [54.38, -39.72, 32.27], srgb: [61, 147, 70] },
		differenceOfEditions: 0.98,
	},
	{
		name: 'red',
		before2014: { lab50: [42.101, 53.378, 28.19], srgb: [180, 49, 57] },
		after2014: { lab50: [42.43, 51.05, 28.62], srgb: [178, 54, 57] },
		differenceOfEditions: 1.04,
	},
	{
		name: 'yellow',
		before2014: { lab50: [81.733, 4.039, 79.819], srgb: [238, 198, 20] },
		after2014: { lab50: [81.8, 2.67, 80.41], srgb: [236, 199, 15] },
		differenceOfEditions: 0.82,
	},
	{
		name: 'magenta',
		before2014: { lab50: [51.935, 49.986, -14.574], srgb: [193, 84, 151] },
		after2014: { lab50: [50.63, 51.28, -14.12], srgb: [191, 79, 146] },
		differenceOfEditions: 1.39,
	},
	{
		name: 'cyan',
		before2014: { lab50: [51.038, -28.631, -28.638], srgb: [0, 136, 170] },
		after2014: { lab50: [49.57, -29.71, -28.32], srgb: [0, 133, 165] },
		differenceOfEditions: 1.57,
	},
	{
		name: 'white 9.5',
		before2014: { lab50: [96.539, -0.425, 1.186], srgb: [245, 245, 243] },
		after2014: { lab50: [95.19, -1.03, 2.93], srgb: [241, 242, 235] },
		differenceOfEditions: 1.95,
	},
	{
		name: 'neutral 8',
		before2014: { lab50: [81.257, -0.638, -0.335], srgb: [200, 202, 202] },
		after2014: { lab50: [81.29, -0.57, 0.44], srgb: [201, 202, 201] },
		differenceOfEditions: 0.77,
	},
	{
		name: 'neutral 6.5',
		before2014: { lab50: [66.766, -0.734, -0.504], srgb: [161, 163, 163] },
		after2014: { lab50: [66.89, -0.75, -0.06], srgb: [161, 163, 163] },
		differenceOfEditions: 0.45,
	},
	{
		name: 'neutral 5',
		before2014: { lab50: [50.867, -0.153, -0.27], srgb: [121, 121, 122] },
		after2014: { lab50: [50.76, -0.13, 0.14], srgb: [121, 121, 121] },
		differenceOfEditions: 0.42,
	},
	{
		name: 'neutral 3.5',
		before2014: { lab50: [35.656, -0.421, -1.231], srgb: [82, 84, 86] },
		after2014: { lab50: [35.63, -0.46, -0.48], srgb: [83, 84, 85] },
		differenceOfEditions: 0.73,
	},
	{
		name: 'black 2',
		before2014: { lab50: [20.461, -0.079, -0.973], srgb: [49, 49, 51] },
		after2014: { lab50: [20.64, 0.07, -0.46], srgb: [50, 50, 50] },
		differenceOfEditions: 0.56,
	},
];

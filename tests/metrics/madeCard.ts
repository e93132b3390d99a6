/** A small colour card and samples of it, with the truth given by a function from expected to seen codes. */
import type { PatchReference } from '../../src/observations/records.ts';
import type { PatchSample } from '../../src/observations/run.ts';

type Triple = PatchReference['rgb'];

const neutralCodes = [0, 64, 128, 190, 255];
const coloured: readonly (readonly [string, PatchReference['role'], Triple])[] = [
	['red', 'primary', [190, 40, 40]],
	['green', 'primary', [60, 150, 70]],
	['mucosa', 'tissue', [200, 120, 110]],
	['vessel', 'tissue', [150, 50, 55]],
];

export const smallCard: PatchReference[] = [
	...neutralCodes.map(
		(code): PatchReference => ({ name: `grey ${code}`, role: 'neutral', rgb: [code, code, code] }),
	),
	...coloured.map(([name, role, rgb]): PatchReference => ({ name, role, rgb: [...rgb] })),
];

/** One sample a second from 500 ms on. */
export function madeSamples(
	count: number,
	see: (expected: Triple, sample: number) => Triple,
	path: PatchSample['path'] = 'decoded',
): PatchSample[] {
	return Array.from({ length: count }, (_, i) => ({
		segment: 0,
		frameNumber: i * 25,
		atMs: 500 + i * 1000,
		path,
		rgb: smallCard.map(({ rgb }) => see(rgb, i)),
	}));
}

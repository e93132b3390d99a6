/**
 * The ends of the tone scale: patches burnt out or drowned though they were not drawn so, and neighbouring greys that can
 * no longer be told apart at either end. A patch is burnt out or drowned when a channel stands at the end of the code
 * range and was expected 6 codes or more inside it. Greys run together when less than a fifth of their step is left.
 * The two limits are this project's own.
 */
import type { Rgb } from './rgb.ts';

export type ToneEnds = {
	/** Places of the patches, as given. */
	readonly burntOut: readonly number[];
	readonly drowned: readonly number[];
	/** Pairs of neighbouring greys, darkest first: place of the darker one. */
	readonly runTogether: readonly number[];
};

const TOP = 254;
const BOTTOM = 1;
const INSIDE = 6;
const LEFT_OF_STEP = 0.2;

/** `greys`: places of the neutral patches. */
export function toneEnds(expected: readonly Rgb[], seen: readonly Rgb[], greys: readonly number[]): ToneEnds {
	const places = [...expected.keys()];
	const anyChannel = (i: number, is: (from: number, to: number) => boolean): boolean =>
		expected[i]!.some((from, channel) => is(from, seen[i]![channel]!));
	const ordered = greys.toSorted((a, b) => expected[a]![1] - expected[b]![1]);
	return {
		burntOut: places.filter((i) => anyChannel(i, (from, to) => to >= TOP && from <= TOP - INSIDE)),
		drowned: places.filter((i) => anyChannel(i, (from, to) => to <= BOTTOM && from >= BOTTOM + INSIDE)),
		runTogether: ordered.slice(0, -1).filter((dark, at) => {
			const light = ordered[at + 1]!;
			const step = expected[light]![1] - expected[dark]![1];
			return step > 0 && seen[light]![1] - seen[dark]![1] < LEFT_OF_STEP * step;
		}),
	};
}

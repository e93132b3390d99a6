/**
 * How much worse than its own reference a kit may be after repair. From three repeat set-ups of the kit before: ten times
 * their standard deviation, within a least and a most; without them the usual value. All are this project's own proposals with no
 * source. Ten, because three set-ups may by chance scatter a third as much as the kit really does, and an unchanged kit
 * must pass nine times in ten (`bench decisionRisk`); the most is what a hand would begin to feel whatever the scatter.
 */
import { summarise } from '../statistics/meanDifference.ts';

const SET_UPS_NEEDED = 3;
const SCATTER_FACTOR = 10;

type Range = { readonly least: number; readonly usual: number; readonly most: number };

/** By the path of the compared figure; in its unit. A figure without a row is shown and binds nothing. */
const RANGES: Readonly<Record<string, Range>> = {
	'pictureAge.p95Ms': { least: 20, usual: 30, most: 60 },
	'freshDelay.medianMs': { least: 15, usual: 20, most: 40 },
	'freshDelay.p95Ms': { least: 20, usual: 30, most: 60 },
	'delayVariation.spreadMs': { least: 15, usual: 20, most: 40 },
	'deliveredRate.p5Hz': { least: 2, usual: 3, most: 5 },
	'freezes.freezes.perMin': { least: 0.5, usual: 0.6, most: 1.2 },
	'gaps.over500.perMin': { least: 0.5, usual: 0.6, most: 1.2 },
	'frames.lostRatio': { least: 0.005, usual: 0.01, most: 0.02 },
	'colour.medianDeltaE00': { least: 1, usual: 1.5, most: 3 },
	'colour.p95DeltaE00': { least: 2, usual: 3, most: 6 },
	'sharpness.mtf50CyPx': { least: 0.015, usual: 0.025, most: 0.05 },
};

/** Null for a figure that has none. */
export function leastTolerance(path: string): number | null {
	return RANGES[path]?.least ?? null;
}

export type Tolerance = { readonly value: number; readonly from: string };

/** Null for a figure that binds nothing. `setUps`: the figure in each of the kit's reference set-ups. */
export function toleranceOf(path: string, setUps: readonly number[]): Tolerance | null {
	const range = RANGES[path];
	if (range === undefined) return null;
	if (setUps.length < SET_UPS_NEEDED)
		return { value: range.usual, from: 'the usual value: fewer than three repeat set-ups' };
	const scatter = SCATTER_FACTOR * Math.sqrt(summarise(setUps).variance);
	if (scatter < range.least) return { value: range.least, from: 'the least: the set-ups hardly differ' };
	if (scatter > range.most)
		return { value: range.most, from: 'the most that is allowed: the set-ups scatter widely' };
	return { value: scatter, from: `${SCATTER_FACTOR} times the scatter of ${setUps.length} set-ups` };
}

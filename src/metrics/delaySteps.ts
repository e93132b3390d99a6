/**
 * Steps of delay: the level changes by more than 50 ms and stays changed for more than 1 s. The size and length are a
 * proposal (standards.md 11); steps are what an operator who has adapted to one delay stumbles over.
 *
 * The definition is ours. Level: the median delay of the pictures seen in each window of 1 s (three at least, else the
 * window has none and is passed over). The level so far is the median of up to three windows since the last step.
 * Two windows running that both lie more than 50 ms from it, on the same side, are a step; a spike inside one window is not,
 * and a slow drift is not. Timed to the start of the first of the two windows, so to about 1 s.
 */
import { quantileSorted, sortSamples } from '../statistics/quantile.ts';
import type { DelayStep } from './metric.ts';

const STEP_MS = 50;
const WINDOW_MS = 1000;
const MIN_PICTURES = 3;
const LEVEL_WINDOWS = 3;

type Level = { readonly atMs: number; readonly ms: number };

/** Both columns in the order seen; `fromMs` is where the first window begins. */
export function findDelaySteps(seenMs: Float64Array, delaysMs: Float64Array, fromMs: number): DelayStep[] {
	const steps: DelayStep[] = [];
	let before: number[] = [];
	const levels = windowLevels(seenMs, delaysMs, fromMs);
	for (let i = 0; i < levels.length; i++) {
		const { atMs, ms } = levels[i]!;
		const following = levels[i + 1];
		if (before.length > 0 && following !== undefined) {
			const level = median(before);
			if (isStep(ms - level, following.ms - level)) {
				steps.push({ atMs, fromMs: level, toMs: median([ms, following.ms]) });
				before = [];
			}
		}
		before = [...before, ms].slice(-LEVEL_WINDOWS);
	}
	return steps;
}

function isStep(change: number, nextChange: number): boolean {
	return Math.min(Math.abs(change), Math.abs(nextChange)) > STEP_MS && change > 0 === nextChange > 0;
}

function windowLevels(seenMs: Float64Array, delaysMs: Float64Array, fromMs: number): Level[] {
	const levels: Level[] = [];
	for (let start = 0; start < seenMs.length; ) {
		const window = Math.floor((seenMs[start]! - fromMs) / WINDOW_MS);
		let end = start + 1;
		while (end < seenMs.length && Math.floor((seenMs[end]! - fromMs) / WINDOW_MS) === window) end++;
		if (end - start >= MIN_PICTURES)
			levels.push({ atMs: fromMs + window * WINDOW_MS, ms: median(delaysMs.subarray(start, end)) });
		start = end;
	}
	return levels;
}

function median(values: ArrayLike<number>): number {
	return quantileSorted(sortSamples(values), 0.5);
}

/**
 * How far the means of two small groups lie apart, each group with a spread of its own: Welch's unequal-variance t with
 * Satterthwaite's degrees of freedom (both from memory; tests hold a published worked example). For sessions: a handful of
 * numbers an arm, each independent of the others.
 */
import { studentQuantile } from './studentT.ts';

export type GroupSummary = { readonly count: number; readonly mean: number; readonly variance: number };

/** Mean and variance (n - 1). Throws `RangeError` for fewer than two values. */
export function summarise(values: readonly number[]): GroupSummary {
	const count = values.length;
	if (count < 2) throw new RangeError(`a spread needs two values or more, got ${count}`);
	const mean = values.reduce((sum, value) => sum + value, 0) / count;
	const variance = values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (count - 1);
	return { count, mean, variance };
}

export type MeanDifference = {
	/** Second less first. */
	readonly difference: number;
	readonly standardError: number;
	readonly degrees: number;
};

/** Null when neither group shows any spread: then there is nothing to judge a difference by. */
export function meanDifference(first: GroupSummary, second: GroupSummary): MeanDifference | null {
	const a = first.variance / first.count;
	const b = second.variance / second.count;
	if (!(a + b > 0)) return null;
	const degrees = (a + b) ** 2 / (a ** 2 / (first.count - 1) + b ** 2 / (second.count - 1));
	return { difference: second.mean - first.mean, standardError: Math.sqrt(a + b), degrees };
}

/**
 * Half-width of the interval round a difference that holds with `confidence` for all of `comparisons` together
 * (Bonferroni): each is given its share of the error.
 */
export function simultaneousHalfWidth(
	{ standardError, degrees }: MeanDifference,
	{ confidence, comparisons }: { readonly confidence: number; readonly comparisons: number },
): number {
	const errorEach = (1 - confidence) / comparisons;
	return standardError * studentQuantile(1 - errorEach / 2, degrees);
}

/** One-sided upper bound of the difference. */
export function upperDifference(difference: MeanDifference, confidence: number): number {
	return difference.difference + difference.standardError * studentQuantile(confidence, difference.degrees);
}

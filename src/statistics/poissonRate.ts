/**
 * Exact bounds on the expected number of events behind a count, one side at a time: quantiles of the gamma distribution
 * (half a chi-squared; estimators.md D, computed). Divide by the observed time for a rate. It supposes that events come
 * independently; events in clumps need their clumps counted.
 */
import { gammaQuantile } from './gamma.ts';

/** With 0, 1, 2 events at 95 %: 2.996, 4.744, 6.296. */
export function poissonUpper(count: number, confidence: number): number {
	checkCount(count);
	return gammaQuantile(count + 1, confidence);
}

/** Zero events have the lower bound 0. */
export function poissonLower(count: number, confidence: number): number {
	checkCount(count);
	return count === 0 ? 0 : gammaQuantile(count, 1 - confidence);
}

function checkCount(count: number): void {
	if (!(count >= 0)) throw new RangeError(`a count of events cannot be negative, got ${count}`);
}

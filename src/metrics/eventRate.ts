/** A rare event as a rate: count over observed time, with exact Poisson bounds, 95 % one-sided each (estimators.md D). */
import { poissonLower, poissonUpper } from '../statistics/poissonRate.ts';
import type { RateReading } from './metric.ts';

const MS_PER_MIN = 60_000;

/** `observedMs` must be positive. */
export function eventRate(count: number, observedMs: number): RateReading {
	if (!(observedMs > 0)) throw new RangeError(`a rate needs observed time, got ${observedMs} ms`);
	const minutes = observedMs / MS_PER_MIN;
	return {
		count,
		observedMs,
		perMin: count / minutes,
		upperPerMin: poissonUpper(count, 0.95) / minutes,
		lowerPerMin: poissonLower(count, 0.95) / minutes,
	};
}

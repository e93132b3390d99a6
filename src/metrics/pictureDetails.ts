/** The close looks of a run, and how figures of many pictures become one: by the middle. */
import type { DetailSample, Run } from '../observations/run.ts';
import { quantileSorted, sortSamples } from '../statistics/quantile.ts';

/** Of the observed time, warm-up left out. */
export function observedDetails({ details, segments }: Run): DetailSample[] {
	return details.filter(({ segment, atMs }) => {
		const within = segments.find((candidate) => candidate.segment === segment);
		return within !== undefined && atMs >= within.warmUpUntilMs;
	});
}

/** Groups in the order of their first members. */
export function grouped<T>(items: readonly T[], keyOf: (item: T) => string): T[][] {
	const groups = new Map<string, T[]>();
	for (const item of items) {
		const group = groups.get(keyOf(item));
		if (group === undefined) groups.set(keyOf(item), [item]);
		else group.push(item);
	}
	return [...groups.values()];
}

export function presentOf(values: readonly (number | null)[]): number[] {
	return values.filter((value) => value !== null);
}

/** The middle of those that there are. */
export function middleOrNull(values: readonly (number | null)[]): number | null {
	const present = presentOf(values);
	return present.length === 0 ? null : middle(present);
}

export function middle(values: readonly number[]): number {
	return quantileSorted(sortSamples(values), 0.5);
}

/** One figure over time, and where it moved to another level and stayed there. Runs whose result lacks it are counted. */
import { type ChangePoint, changePoints } from '../statistics/changePoints.ts';
import type { FoundRun } from './searchRuns.ts';

export type Trend = {
	readonly path: string;
	/** Oldest first. */
	readonly points: readonly { readonly runId: string; readonly startedAt: string; readonly value: number }[];
	readonly withoutIt: number;
	readonly changes: readonly (ChangePoint & { readonly startedAt: string })[];
};

export function trendOf(runs: readonly FoundRun[], path: string): Trend {
	const points = runs
		.flatMap(({ facts }) => {
			const value = facts.figures[path];
			return value === undefined ? [] : [{ runId: facts.runId, startedAt: facts.startedAt, value }];
		})
		.sort((a, b) => (a.startedAt < b.startedAt ? -1 : a.startedAt > b.startedAt ? 1 : 0));
	return {
		path,
		points,
		withoutIt: runs.length - points.length,
		changes: changePoints(points.map(({ value }) => value)).map((change) => ({
			...change,
			startedAt: points[change.index]?.startedAt ?? '',
		})),
	};
}

/** Names of figures that these runs hold, for a person who asked for one that is not there. */
export function figurePaths(runs: readonly FoundRun[]): string[] {
	return [...new Set(runs.flatMap(({ facts }) => Object.keys(facts.figures)))].sort();
}

/**
 * One figure over time, and where it moved to another level and stayed there. The session is the unit: runs between two
 * times of power off are one draw, and many of them would look like a level. Over several kits, rigs, subjects or measuring
 * points no change is told, for there the figure means other things. Runs whose result lacks it are counted.
 */
import { type ChangePoint, changePoints } from '../statistics/changePoints.ts';
import type { FoundRun } from './searchRuns.ts';

export type Trend = {
	readonly path: string;
	/** Oldest first. */
	readonly points: readonly { readonly runId: string; readonly startedAt: string; readonly value: number }[];
	/** Sessions among them; a run that was entered nowhere is one of its own. */
	readonly sessionCount: number;
	readonly withoutIt: number;
	/** Runs with something wrong with them: they are left out. */
	readonly faulty: number;
	/** Why no change is told; empty when the runs are alike. */
	readonly mixed: readonly string[];
	readonly changes: readonly (ChangePoint & { readonly startedAt: string })[];
};

export function trendOf(runs: readonly FoundRun[], path: string): Trend {
	const sound = runs.filter(({ trouble }) => trouble === null);
	const read = sound
		.flatMap((run) => {
			const value = run.facts.figures[path];
			return value === undefined ? [] : [{ run, value }];
		})
		.sort((a, b) => compareText(a.run.facts.startedAt, b.run.facts.startedAt));
	const sessions = new Map<string, { startedAt: string; values: number[] }>();
	for (const { run, value } of read) {
		const { startedAt, runId } = run.facts;
		const key = run.session === null ? `run ${runId}` : `session ${run.session}`;
		const kept = sessions.get(key) ?? { startedAt, values: [] };
		kept.values.push(value);
		sessions.set(key, kept);
	}
	const levels = [...sessions.values()];
	const mixed = mixedBy(read.map(({ run }) => run));
	return {
		path,
		points: read.map(({ run: { facts }, value }) => ({
			...{ runId: facts.runId, startedAt: facts.startedAt, value },
		})),
		sessionCount: levels.length,
		withoutIt: sound.length - read.length,
		faulty: runs.length - sound.length,
		mixed,
		changes:
			mixed.length > 0
				? []
				: changePoints(levels.map(({ values }) => meanOf(values))).map((change) => ({
						...change,
						startedAt: levels[change.index]?.startedAt ?? '',
					})),
	};
}

function mixedBy(runs: readonly FoundRun[]): string[] {
	const kinds: (readonly [string, (run: FoundRun) => string])[] = [
		['kit', ({ kit }) => kit ?? 'none'],
		['rig', ({ facts }) => facts.rig],
		['subject', ({ facts }) => facts.subjectKind],
		['pair of measuring points', ({ facts }) => facts.measuringPoints],
	];
	return kinds.flatMap(([name, of]) => {
		const found = [...new Set(runs.map(of))].sort();
		return found.length > 1 ? [`of more than one ${name}: ${found.join('; ')}`] : [];
	});
}

function meanOf(values: readonly number[]): number {
	return values.reduce((sum, value) => sum + value, 0) / values.length;
}

function compareText(a: string, b: string): number {
	return a < b ? -1 : a > b ? 1 : 0;
}

/** Names of figures that these runs hold, for a person who asked for one that is not there. */
export function figurePaths(runs: readonly FoundRun[]): string[] {
	return [...new Set(runs.flatMap(({ facts }) => Object.keys(facts.figures)))].sort();
}

/**
 * Lens-clear time of a run: the clip's line contrast over time, cut at the instants at which the lens was smeared, each stretch told by
 * `measureLensClear` against the clean lens before the first. Events `smeared` and `flushed` are what the person stated.
 */
import type { Run } from '../observations/run.ts';
import { flushRepeats, type LensClear, measureLensClear } from './lensClear.ts';
import type { Metric } from './metric.ts';
import type { LensClearing } from './pictureMetric.ts';

/** Undefined where no lens was smeared: then there is nothing to say. */
export function measureLensClearing(run: Run): Metric<LensClearing> | undefined {
	const instants = (code: string): number[] =>
		run.events.filter((event) => event.code === code).map(({ atMs }) => atMs);
	const smeared = instants('smeared').toSorted((a, b) => a - b);
	const first = smeared[0];
	if (first === undefined || run.clarity.length === 0) return undefined;
	const series = run.clarity.flatMap(({ rows }) => rows.map(([atMs, value]) => ({ atMs, value })));
	const clean = series.filter(({ atMs }) => atMs < first);
	const told = smeared.map((fromMs, i) => {
		const untilMs = smeared[i + 1] ?? Number.POSITIVE_INFINITY;
		const within = (atMs: number): boolean => atMs >= fromMs && atMs < untilMs;
		return measureLensClear([...clean, ...series.filter(({ atMs }) => within(atMs))], {
			cleanUntilMs: fromMs,
			flushMs: instants('flushed').find(within) ?? null,
		});
	});
	const flushes = told.filter((each): each is LensClear => each.kind === 'measured');
	const missing = told.find((each) => each.kind === 'notMeasured');
	if (flushes.length === 0 && missing?.kind === 'notMeasured') return missing;
	return {
		kind: 'measured',
		flushes: flushes.map(({ flushMs, flushFound, clean: before, low, toNineTenthsMs, remainsRatio }) => ({
			flushMs,
			flushFound,
			lowRatio: low / before,
			toNineTenthsMs,
			remainsRatio,
		})),
		notToldCount: told.length - flushes.length,
		repeats: flushRepeats(flushes),
	};
}

/**
 * Median and P95 of films in which only one phase between the laptop's screen and scope or phone was seen (reading/phaseLock.ts): the mean is told with its doubt, but which
 * refreshes lie beyond a percentile hangs on that phase (up to 0.8 ms on average beside the doubt of the mean, bench/optical.ts), so percentiles are left
 * untold. Their bounds stay: the doubt of the phase is in them.
 */
import type { Run } from '../observations/run.ts';
import type { FreshDelay, Metric, PictureAge } from './metric.ts';
import { isFilmed, standingSegments } from './opticalSession.ts';
import type { SegmentPictures } from './presentedPictures.ts';

/** `metric` as it is, without median and P95 where one of the segments that it rests on saw one phase only. */
export function untoldWhereStanding<T extends FreshDelay | PictureAge>(
	run: Run,
	pictures: readonly SegmentPictures[],
	metric: Metric<T>,
): Metric<T> {
	if (metric.kind === 'notMeasured' || !isFilmed(run)) return metric;
	const standing = standingSegments(run);
	if (!pictures.some(({ segment }) => standing.has(segment))) return metric;
	return { ...metric, medianMs: null, p95Ms: null };
}

/**
 * Where the link broke: a second and more without a new picture, long enough for a person to see it; how long, and how long until
 * the picture was steady again. A page that lost its connection comes back in a new segment: the time between counts. Time in which
 * the page was put away on purpose (hidden, turned) does not.
 */
import type { Run } from '../observations/run.ts';
import { gatherPictures, type SegmentPictures } from './presentedPictures.ts';

export type LinkBreak = {
	/** Of the last picture before it, from the beginning of the first segment. */
	readonly atMs: number;
	/** Without a new picture; at least this long where the run ended in it. */
	readonly lengthMs: number;
	/** From the first picture after it until a second full of pictures; null: never. */
	readonly steadyAfterMs: number | null;
};

const BREAK_MS = 1000;
const STEADY_RATIO = 0.9;
/** The link's own ends of a segment: its viewer was lost, not put away. */
const LOST_BY = new Set(['viewerLeft', 'viewerSilent']);

export function measureBreaks(run: Run): LinkBreak[] {
	const startMs = run.segments[0]?.startMs ?? 0;
	return stretchesOf(run).flatMap((stretch) => breaksOf(stretch, startMs));
}

type Stretch = Pick<SegmentPictures, 'fromMs' | 'endMs' | 'sourcePeriodMs'> & {
	readonly seenMs: readonly number[];
};

/** Segments that only a lost link set apart are one stretch. */
function stretchesOf(run: Run): Stretch[] {
	const endedBy = new Map(run.segments.map((segment) => [segment.segment, segment.endedBy]));
	const stretches: Stretch[] = [];
	let isLost = false;
	for (const { segment, fromMs, endMs, sourcePeriodMs, seenMs } of gatherPictures(run)) {
		const before = isLost ? stretches.pop() : undefined;
		stretches.push({
			...{ fromMs: before?.fromMs ?? fromMs, endMs, sourcePeriodMs },
			seenMs: [...(before?.seenMs ?? []), ...seenMs],
		});
		isLost = LOST_BY.has(endedBy.get(segment) ?? '');
	}
	return stretches;
}

function breaksOf({ seenMs, fromMs, endMs, sourcePeriodMs }: Stretch, startMs: number): LinkBreak[] {
	const breaks: LinkBreak[] = [];
	for (let i = 0; i < seenMs.length; i++) {
		const nextMs = seenMs[i + 1] ?? endMs;
		if (nextMs <= fromMs || nextMs - seenMs[i]! < BREAK_MS) continue;
		breaks.push({
			atMs: seenMs[i]! - startMs,
			lengthMs: nextMs - seenMs[i]!,
			steadyAfterMs: i + 1 < seenMs.length ? steadyFrom(seenMs, i + 1, sourcePeriodMs) : null,
		});
	}
	return breaks;
}

function steadyFrom(seenMs: readonly number[], first: number, sourcePeriodMs: number): number | null {
	const wanted = Math.floor((STEADY_RATIO * 1000) / sourcePeriodMs);
	for (let i = first; i + wanted - 1 < seenMs.length; i++)
		if (seenMs[i + wanted - 1]! - seenMs[i]! <= 1000) return seenMs[i]! - seenMs[first]!;
	return null;
}

/**
 * The ledger: every frame that the source showed in the observed time, in exactly one class; the six classes sum to sent.
 * A frame belongs by when it was shown, so frames of warm-up and of the drain after the end are in no class.
 *
 * Lost pictures for the line are lost and late ones together: after `lostAfterMs` a picture is of no use (RFC 7679's Tmax,
 * from memory). One exception, so that a cut-off end is not told as loss: a frame that the rig calls late, shown less
 * than the segment's greatest delay before its end, may have been no later than others. Such frames are `unsettled`: in
 * the sum, but in neither part of the ratio. It cannot hide a loss: frames the rig calls lost always count, and a link
 * that stalls for longer than it ever did before leaves all but the last such stretch counted.
 *
 * Losses come in runs, so the bounds (Wilson, 95 % each side) are taken at the effective size that the runs leave.
 * Read but not drawn, unreadable and overtaken frames did arrive: shown here, not lost.
 */
import { FATES, type Fate } from '../observations/records.ts';
import type { Run } from '../observations/run.ts';
import { effectiveLossSize } from '../statistics/lossRuns.ts';
import { wilsonInterval } from '../statistics/wilson.ts';
import type { FrameLedger, Metric } from './metric.ts';
import type { SegmentPictures } from './presentedPictures.ts';
import type { SegmentSent } from './sentFrames.ts';

/** One-sided 95 %. */
const Z_95 = 1.645;
const LATE = FATES.indexOf('late');
const LOST = FATES.indexOf('lost');

/** The sets of `sent` and `pictures` belong together, segment by segment. */
export function measureFrames(
	run: Run,
	sent: readonly SegmentSent[],
	pictures: readonly SegmentPictures[],
): Metric<FrameLedger> {
	const sentCount = sent.reduce((sum, { count }) => sum + count, 0);
	const settledUntilMs = sent.map(
		({ endMs }, i) => endMs - unsettledTailMs(pictures[i]!, run.header.lostAfterMs),
	);
	const losses = sent.map((segment, i) => lossFlags(segment, settledUntilMs[i]!));
	const settledCount = losses.reduce((sum, { length }) => sum + length, 0);
	if (settledCount === 0) {
		return {
			kind: 'notMeasured',
			reason: 'nothingSent',
			explanation: 'The source showed no frame in the observed time whose fate is settled.',
		};
	}
	return {
		kind: 'measured',
		sent: sentCount,
		...countFates(sent),
		unsettled: sentCount - settledCount,
		repeated: countEvents(run, sent, 'repeated'),
		outOfOrder: countEvents(run, sent, 'outOfOrder'),
		decoded: sent.reduce((sum, { decoded }) => sum + decoded.reduce((a, b) => a + b, 0), 0),
		...lostFigures(losses),
	};
}

/** The greatest delay of any picture of the segment; nothing is exempt where none was presented. */
function unsettledTailMs({ seenMs, shownMs }: SegmentPictures, lostAfterMs: number): number {
	let greatestMs = 0;
	for (let i = 0; i < seenMs.length; i++) greatestMs = Math.max(greatestMs, seenMs[i]! - shownMs[i]!);
	return Math.min(greatestMs, lostAfterMs);
}

/** In the order shown; 1 for lost or late; unsettled frames left out. */
function lossFlags({ fate, shownMs, count }: SegmentSent, settledUntilMs: number): Uint8Array {
	const flags = new Uint8Array(count);
	let filled = 0;
	for (let i = 0; i < count; i++) {
		if (fate[i] === LATE && shownMs[i]! > settledUntilMs) continue;
		flags[filled++] = fate[i] === LATE || fate[i] === LOST ? 1 : 0;
	}
	return flags.subarray(0, filled);
}

function countFates(sent: readonly SegmentSent[]): Record<Fate, number> {
	const counts: Record<Fate, number> = {
		presented: 0,
		notDrawn: 0,
		unreadable: 0,
		overtaken: 0,
		late: 0,
		lost: 0,
	};
	for (const { fate } of sent) for (const place of fate) counts[FATES[place]!]++;
	return counts;
}

function countEvents(run: Run, sent: readonly SegmentSent[], code: string): number {
	const windows = new Map(sent.map((segment) => [segment.segment, segment]));
	return run.events.filter((event) => {
		const window = windows.get(event.segment);
		return event.code === code && window !== undefined && event.atMs >= window.fromMs;
	}).length;
}

function lostFigures(
	losses: readonly Uint8Array[],
): Pick<
	FrameLedger,
	'lostRatio' | 'lostUpperRatio' | 'lostLowerRatio' | 'lostEffectiveCount' | 'longestLossRun'
> {
	const apart = losses.filter(({ length }) => length > 0);
	const settledCount = apart.reduce((sum, { length }) => sum + length, 0);
	const lostCount = apart.reduce((sum, flags) => sum + flags.reduce((a, b) => a + b, 0), 0);
	const lostRatio = lostCount / settledCount;
	// Segment by segment, because a loss run cannot reach across a break.
	const effective = apart.reduce((sum, flags) => sum + effectiveLossSize(flags), 0);
	const interval = wilsonInterval(Math.min(effective, lostRatio * effective), effective, Z_95);
	return {
		lostRatio,
		lostUpperRatio: interval.upperRatio,
		lostLowerRatio: interval.lowerRatio,
		lostEffectiveCount: effective,
		longestLossRun: apart.reduce((longest, flags) => Math.max(longest, longestRun(flags)), 0),
	};
}

function longestRun(flags: Uint8Array): number {
	let [longest, running] = [0, 0];
	for (const flag of flags) {
		running = flag === 1 ? running + 1 : 0;
		longest = Math.max(longest, running);
	}
	return longest;
}

/**
 * The ledger: every frame that the source showed in the observed time, in exactly one class; the six classes sum to sent.
 * A frame belongs by when it was shown, so frames of warm-up and of the drain after the end are in no class.
 *
 * Lost pictures for the line are lost and late ones together, over all sent: after `lostAfterMs` a picture is of no use
 * (RFC 7679's Tmax, from memory). No frame is forgiven for being near the end. The observations make that fair: a rig goes
 * on watching after the segment's end, so a frame is lost or late only when it had its full time, and one that
 * nobody could have watched is not in the file. A rig that stops watching at once is told too many losses, never too few.
 *
 * Losses come in runs, so the bounds (95 % each side) are taken at the effective size that the runs leave: the lower one Wilson's, the
 * upper one with two of the longest run more than were seen (`clusterBound.ts`). With Wilson's upper one a link that loses 1 % in
 * runs of ten showed too low a bound in 9 % of runs of 5 min (computed; now 3 %).
 * Read but not drawn, unreadable and overtaken frames did arrive: shown here, not lost.
 */
import { FATES, type Fate } from '../observations/records.ts';
import type { Run } from '../observations/run.ts';
import { clusterUpper } from '../statistics/clusterBound.ts';
import { effectiveLossSize } from '../statistics/lossRuns.ts';
import { wilsonInterval } from '../statistics/wilson.ts';
import type { FrameLedger, Metric, NotMeasured } from './metric.ts';
import type { SegmentSent } from './sentFrames.ts';

/** One-sided 95 %. */
const Z_95 = 1.645;
const LATE = FATES.indexOf('late');
const LOST = FATES.indexOf('lost');

const NOTHING_SENT: NotMeasured = {
	kind: 'notMeasured',
	reason: 'nothingSent',
	explanation: 'The source showed no frame in the observed time.',
};
const NO_CADENCE: NotMeasured = {
	kind: 'notMeasured',
	reason: 'cadenceUnstable',
	explanation:
		'In no clip had the scope’s pictures both a steady rate and two frames each to themselves, so nobody can say which are missing.',
};

export function measureFrames(run: Run, sent: readonly SegmentSent[]): Metric<FrameLedger> {
	const sentCount = sent.reduce((sum, { count }) => sum + count, 0);
	if (sentCount === 0) return run.header.rig === 'optical' ? NO_CADENCE : NOTHING_SENT;
	return {
		kind: 'measured',
		sent: sentCount,
		...countFates(sent),
		repeated: countEvents(run, sent, 'repeated'),
		outOfOrder: countEvents(run, sent, 'outOfOrder'),
		decoded: sent.reduce((sum, { decoded }) => sum + onesOf(decoded), 0),
		...lostFigures(sent),
	};
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
	sent: readonly SegmentSent[],
): Pick<
	FrameLedger,
	'lostRatio' | 'lostUpperRatio' | 'lostLowerRatio' | 'lostEffectiveCount' | 'longestLossRun'
> {
	const losses = sent.filter(({ count }) => count > 0).map(lossFlags);
	const sentCount = losses.reduce((sum, { length }) => sum + length, 0);
	const lostRatio = losses.reduce((sum, flags) => sum + onesOf(flags), 0) / sentCount;
	const effective = effectiveSize(losses, sentCount);
	const longestLossRun = losses.reduce((longest, flags) => Math.max(longest, longestRun(flags)), 0);
	const seen = { shareRatio: lostRatio, count: effective, clusterRatio: longestLossRun / sentCount };
	const { lowerRatio } = wilsonInterval(Math.min(effective, lostRatio * effective), effective, Z_95);
	return {
		lostRatio,
		lostUpperRatio: clusterUpper(seen, 0.95),
		lostLowerRatio: lowerRatio,
		lostEffectiveCount: effective,
		longestLossRun,
	};
}

/** In the order shown; 1 for lost or late. */
function lossFlags({ fate }: SegmentSent): Uint8Array {
	return fate.map((place) => (place === LATE || place === LOST ? 1 : 0));
}

/** Over all segments at once; a received frame is put between two of them, so that no run reaches across a break. */
function effectiveSize(losses: readonly Uint8Array[], sentCount: number): number {
	const joined = new Uint8Array(sentCount + losses.length - 1);
	let filled = 0;
	for (const flags of losses) {
		joined.set(flags, filled);
		filled += flags.length + 1;
	}
	return (effectiveLossSize(joined) / joined.length) * sentCount;
}

function onesOf(flags: Uint8Array): number {
	let count = 0;
	for (const flag of flags) count += flag;
	return count;
}

function longestRun(flags: Uint8Array): number {
	let [longest, running] = [0, 0];
	for (const flag of flags) {
		running = flag === 1 ? running + 1 : 0;
		longest = Math.max(longest, running);
	}
	return longest;
}

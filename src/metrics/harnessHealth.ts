/**
 * The bench's own machine: how late the source showed its frames (shown less due), how busy it was, how far the clocks
 * may disagree, and what share of each line's room the harness itself used up, so that its faults are not told as the
 * link's. Shown beside every result, never subtracted.
 *
 *   age    share of time in which the newest frame at the source was due more than the age limit ago: lateness and
 *          outages in one
 *   delay  share of content that the source showed later than due by more than the delay limit
 *   rate   share of whole 1 s windows in which the source itself showed too few frames (`rateWindows.ts`)
 *   gaps   share of time in stretches of over 500 ms in which the source showed nothing
 */
import type { Run } from '../observations/run.ts';
import { CurveBuilder, shareOver } from '../statistics/levelCurve.ts';
import { quantileSorted, sortSamples } from '../statistics/quantile.ts';
import type { HarnessHealth, Metric, Thresholds } from './metric.ts';
import { countPerWindow, requiredPerWindow } from './rateWindows.ts';
import type { SegmentSent } from './sentFrames.ts';

const OUTAGE_MS = 500;

const NOTHING_LATE = { age: 0, delay: 0, rate: 0, gaps: 0 };

export function measureHarness(
	run: Run,
	sent: readonly SegmentSent[],
	thresholds: Thresholds,
): Metric<HarnessHealth> {
	const latenessMs = sent.flatMap(({ shownMs, dueMs }) =>
		Array.from(shownMs, (shown, i) => shown - dueMs[i]!),
	);
	// The laptop's page is the only source of a filmed run, and its own refreshes are read in the picture: what the card missed
	// changes no reading, and a silence in these rows is the kit's.
	const ownDoing = run.header.rig !== 'optical';
	if (latenessMs.length === 0) {
		return {
			kind: 'notMeasured',
			reason: 'nothingSent',
			explanation: 'The source showed no frame in the observed time.',
		};
	}
	const lateness = sortSamples(latenessMs);
	const busy = run.harness.flatMap(({ busyRatio }) => (busyRatio === null ? [] : [busyRatio]));
	const sortedBusy = busy.length > 0 ? sortSamples(busy) : null;
	const bounds = run.segments.flatMap(({ clock }) => (clock === null ? [] : [clock.boundMs]));
	return {
		kind: 'measured',
		latenessMedianMs: quantileSorted(lateness, 0.5),
		latenessP95Ms: quantileSorted(lateness, 0.95),
		latenessMaxMs: quantileSorted(lateness, 1),
		lateSharePerLine: !ownDoing
			? NOTHING_LATE
			: {
					age: sourceAgeShare(sent, thresholds.ageLimitMs),
					delay: lateContentShare(sent, thresholds.delayLimitMs),
					rate: fewFramesShare(sent, requiredPerWindow(thresholds.slowRateHz, run.header.source.rateHz)),
					gaps: outageShare(sent),
				},
		busyMedianRatio: sortedBusy === null ? null : quantileSorted(sortedBusy, 0.5),
		busyMaxRatio: sortedBusy === null ? null : quantileSorted(sortedBusy, 1),
		clockBoundMs: bounds.length > 0 ? Math.max(...bounds) : null,
	};
}

/** Before the first frame of a segment's observed time, the wait counts from where observation begins. */
function sourceAgeShare(sent: readonly SegmentSent[], limitMs: number): number {
	const curve = new CurveBuilder(1);
	for (const { shownMs, dueMs, fromMs, endMs, count } of sent) {
		curve.add((shownMs[0] ?? endMs) - fromMs, 0);
		for (let i = 0; i < count; i++)
			curve.add((shownMs[i + 1] ?? endMs) - shownMs[i]!, shownMs[i]! - dueMs[i]!);
		curve.break();
	}
	return shareOver(curve.finish(), limitMs);
}

function lateContentShare(sent: readonly SegmentSent[], limitMs: number): number {
	let [lateMs, contentMs] = [0, 0];
	for (const { shownMs, dueMs, fromMs, count } of sent) {
		for (let i = 0; i < count; i++) {
			const lengthMs = shownMs[i]! - (shownMs[i - 1] ?? fromMs);
			contentMs += lengthMs;
			if (shownMs[i]! - dueMs[i]! > limitMs) lateMs += lengthMs;
		}
	}
	return contentMs === 0 ? 0 : lateMs / contentMs;
}

function fewFramesShare(sent: readonly SegmentSent[], required: number): number {
	let [few, windows] = [0, 0];
	for (const { shownMs, fromMs, endMs } of sent) {
		const counts = countPerWindow(shownMs, fromMs, endMs);
		windows += counts.length;
		for (const count of counts) if (count < required) few++;
	}
	return windows === 0 ? 0 : few / windows;
}

function outageShare(sent: readonly SegmentSent[]): number {
	let [outageMs, observedMs] = [0, 0];
	for (const { shownMs, fromMs, endMs, count } of sent) {
		let previousMs = fromMs;
		for (let i = 0; i <= count; i++) {
			const nextMs = shownMs[i] ?? endMs;
			if (nextMs - previousMs > OUTAGE_MS) outageMs += nextMs - previousMs;
			previousMs = nextMs;
		}
		observedMs += endMs - fromMs;
	}
	return outageMs / observedMs;
}

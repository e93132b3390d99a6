/**
 * What repeats in the air, from the delays and losses of each way's packets. The instrument's own periods are put aside
 * beforehand, with all their multiples and how those swell by one another: pictures, key pictures, reports, and the refreshes of the
 * display that the page draws for (all else that the bench does is jittered). What keeps step with one of those can therefore not
 * be found, and the answer says so.
 */
import type { Run } from '../observations/run.ts';
import type { Repeat } from '../statistics/repeatFigures.ts';
import { findRepeats } from '../statistics/repeats.ts';
import { type AirPackets, type AirWayName, airWaysOf } from './airWays.ts';
import type { Metric } from './metric.ts';

type AirRepeat = Repeat & {
	readonly way: AirWayName;
	readonly carriedBy: AirPackets['carriedBy'];
	/** The other way shows the same period. */
	readonly bothWays: boolean;
};

export type Repeating = {
	/** The surest first. */
	readonly repeats: readonly AirRepeat[];
	/** Periods that could be found at all, seconds. */
	readonly shortestS: number;
	readonly longestS: number;
	/** Periods of our own that were put aside, seconds. */
	readonly ownPeriodsS: readonly number[];
	readonly toldBelowRatio: number;
};

/** A period is told only where chance alone would show one as clear in at most one run in a hundred, all ways together. */
const TOLD_BELOW = 0.01;
/** Above twice the mains' double. */
const HIGHEST_HZ = 125;
const SEED = 1;
/** The probe's process and the reader without a screen report so often. */
const REPORTS_HZ = 4;

export function findRepeating(run: Run): Metric<Repeating> {
	const ways = airWaysOf(run);
	const ownHz = ownFrequencies(run);
	const found = ways.flatMap(({ way, carriedBy, gather }) => {
		const { sentMs, delayMs } = gather();
		const answer = findRepeats(
			sentMs.map((ms) => ms / 1000),
			delayMs,
			{ ownHz, falseAlarmRatio: TOLD_BELOW / ways.length, seed: SEED, highestHz: HIGHEST_HZ },
		);
		return answer === null ? [] : [{ ...answer, way, carriedBy }];
	});
	const [first] = found;
	if (first === undefined)
		return {
			kind: 'notMeasured',
			reason: 'tooShort',
			explanation: 'Too few packets, or too short a time, to see whether anything repeats.',
		};
	const all = found.flatMap(({ repeats, way, carriedBy }) =>
		repeats.map((repeat) => ({ ...repeat, way, carriedBy })),
	);
	return {
		kind: 'measured',
		repeats: joined(all, ways.length),
		shortestS: Math.max(...found.map(({ shortestS }) => shortestS)),
		longestS: first.longestS,
		ownPeriodsS: ownHz.map((hz) => 1 / hz),
		toldBelowRatio: TOLD_BELOW,
	};
}

function ownFrequencies({ header }: Run): number[] {
	const { rateHz } = header.source;
	const { path, displayPeriodMs } = header;
	const keyEvery = path?.keyEveryFrames ?? null;
	return [
		...new Set([
			...[rateHz, REPORTS_HZ],
			...(keyEvery !== null && keyEvery > 1 ? [rateHz / keyEvery] : []),
			...(displayPeriodMs === null ? [] : [1000 / displayPeriodMs]),
		]),
	];
}

/** The same period both ways is one thing; the chance is for all ways together. */
function joined(found: readonly Omit<AirRepeat, 'bothWays'>[], ways: number): AirRepeat[] {
	const sorted = [...found].sort((a, b) => a.falseAlarmRatio - b.falseAlarmRatio);
	const told: AirRepeat[] = [];
	for (const repeat of sorted) {
		const same = told.findIndex((other) => other.way !== repeat.way && isSamePeriod(other, repeat));
		if (same >= 0) told[same] = { ...told[same]!, bothWays: true };
		else
			told.push({
				...repeat,
				falseAlarmRatio: Math.min(1, repeat.falseAlarmRatio * ways),
				bothWays: false,
			});
	}
	return told;
}

type Period = Pick<Repeat, 'periodS' | 'periodUncertaintyS'>;

/** As near as both are known, and never nearer than half a percent. */
export function isSamePeriod(a: Period, b: Period): boolean {
	const apartS = Math.abs(a.periodS - b.periodS);
	return apartS <= Math.max(a.periodUncertaintyS + b.periodUncertaintyS, 0.005 * a.periodS);
}

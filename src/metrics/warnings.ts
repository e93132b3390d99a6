/**
 * What a reader of the figures should know about how they came about: each as data, with what was seen and what to do.
 * Warnings change no figure and no verdict. What was mended on reading the file comes first, as the reader noted it.
 */
import type { ProfileName } from '../observations/records.ts';
import type { Run } from '../observations/run.ts';
import { fileWarnings } from './fileFindings.ts';
import type { Colour, HarnessHealth, Metric, RunFacts, Thresholds, Warning } from './metric.ts';
import { clipWarnings } from './orientation.ts';
import type { SegmentPictures } from './presentedPictures.ts';
import { streamWarnings } from './stream.ts';

/** Observed time that a profile promises (design: profiles); the others promise none. */
const PROFILE_SECONDS: Partial<Record<ProfileName, number>> = { brief: 120, verdict: 310, long: 620 };
/** A share of the delay line's limit that a doubt of the clocks should stay well under; no source. */
const CLOCK_BOUND_RATIO = 0.05;
/** From here on a processor has no room for a busy moment; common practice, no source. */
const BUSY_RATIO = 0.9;

type Basis = {
	readonly run: Run;
	readonly facts: RunFacts;
	readonly pictures: readonly SegmentPictures[];
	readonly harness: Metric<HarnessHealth>;
	readonly colour: Metric<Colour>;
	readonly thresholds: Thresholds;
};

export function gatherWarnings(basis: Basis): Warning[] {
	return [
		...fromReading(basis.run),
		...fileWarnings(basis.run),
		...clipWarnings(basis.run),
		...streamWarnings(basis.run),
		...fromRegister(basis.run),
		...fromRun(basis),
		...fromPictures(basis),
		...fromHarness(basis),
		...fromColour(basis),
	];
}

function fromReading({ readingNotes, endedBy }: Run): Warning[] {
	const torn: Warning = {
		code: 'torn',
		seen: 'The observations stop without an end: the run was cut off.',
		advice: 'The figures hold for what is there. Run again before relying on them.',
	};
	return [...readingNotes, ...(endedBy === null ? [torn] : [])];
}

/** The kit's own reference, which this run was not set beside: "seen|what to do" in the event's detail. */
function fromRegister({ events }: Run): Warning[] {
	return events.flatMap(({ code, detail }) => {
		const [seen, advice] = (detail ?? '').split('|');
		return code === 'kitReference' && seen !== undefined && advice !== undefined
			? [{ code, seen, advice }]
			: [];
	});
}

function fromRun({ run, facts }: Basis): Warning[] {
	const warnings: Warning[] = [];
	const promisedSeconds = PROFILE_SECONDS[run.header.profile];
	const observedSeconds = facts.observedMs / 1000;
	if (promisedSeconds !== undefined && observedSeconds < promisedSeconds) {
		warnings.push({
			code: 'runShort',
			seen: `${observedSeconds.toFixed(1)} s were observed; the profile ${run.header.profile} promises ${promisedSeconds} s.`,
			advice: 'Run again for the full length; a shorter run vouches for less.',
		});
	}
	// A recording's segments lie between cuts, an optical run's are clips: no breaks of a connection.
	if (facts.segmentCount > 1 && (run.header.rig === 'link' || run.header.rig === 'still')) {
		const reasons = run.segments.slice(0, -1).map(({ endedBy }) => endedBy);
		warnings.push({
			code: 'broken',
			seen: `Observation broke off ${facts.segmentCount - 1} times (${[...new Set(reasons)].join(', ')}); breaks are not counted.`,
			advice: 'Keep the viewer open and in front. If the link itself broke, that is a finding: note it.',
		});
	}
	const watching = run.events.filter(({ code }) => code === 'watching');
	if (watching.length > 0) {
		warnings.push({
			code: 'othersLookedOn',
			seen: `Other viewers came or left ${watching.length} times while this one was measured (${watching.map(({ detail }) => detail).join('; ')}); the figures are of the steering viewer alone.`,
			advice:
				'Each viewer takes its share of the air and of this computer. Measure with as many as will look on in the exam.',
		});
	}
	if (run.header.measuringPoints.viewer === 'decoded') {
		warnings.push({
			code: 'decodedOnly',
			seen: 'Delay and age end at the decoder, not at the display.',
			advice:
				'The way to the glass is taken as a one-sided doubt; measure to the presented picture where the viewer can.',
		});
	}
	return warnings;
}

function fromPictures({ run, pictures }: Basis): Warning[] {
	// Stills have no time in which a picture could be missing.
	if (run.header.rig === 'still') return [];
	const warnings: Warning[] = [];
	const late = pictures.filter(
		({ seenMs, fromMs, coarseAges }) => coarseAges.length === 0 && !(seenMs[0]! <= fromMs),
	);
	if (late.length > 0) {
		warnings.push({
			code: 'noPictureAtFirst',
			seen: `In ${late.length} of ${pictures.length} segments no picture had come by the end of warm-up; age counts from the first frame sent.`,
			advice:
				'Age there is the least it can have been. If this repeats, lengthen the warm-up or look for the cause.',
		});
	}
	const steppedBack = pictures.reduce((sum, { steppedBackCount }) => sum + steppedBackCount, 0);
	if (steppedBack > 0) {
		warnings.push({
			code: 'steppedBack',
			seen: `${steppedBack} presented rows name an older picture than the one before; they are left out of delay and age.`,
			advice:
				'The viewer showed pictures out of order. Look at the out-of-order count, and note it with the result.',
		});
	}
	return warnings;
}

function fromHarness({ run, harness, thresholds }: Basis): Warning[] {
	if (harness.kind === 'notMeasured') return [];
	const warnings: Warning[] = [];
	const worstRatio = Math.max(...Object.values(harness.lateSharePerLine));
	const periodMs = 1000 / run.header.source.rateHz;
	if (worstRatio > thresholds.allowedRatio / 2 || harness.latenessP95Ms > periodMs) {
		warnings.push({
			code: 'harnessLate',
			seen: `The bench itself showed frames late (19 in 20 within ${harness.latenessP95Ms.toFixed(1)} ms, worst ${harness.latenessMaxMs.toFixed(1)} ms).`,
			advice:
				"Close other programs, plug in the bench's power, and run again: some of what was seen is the bench's own.",
		});
	}
	if ((harness.busyMedianRatio ?? 0) > BUSY_RATIO) {
		warnings.push({
			code: 'harnessBusy',
			seen: `The bench's processor was ${((harness.busyMedianRatio ?? 0) * 100).toFixed(0)} % busy for half the run or more.`,
			advice: 'Close other programs or lower the card size, and run again.',
		});
	}
	const boundMs = harness.clockBoundMs ?? 0;
	if (boundMs > CLOCK_BOUND_RATIO * thresholds.delayLimitMs) {
		warnings.push({
			code: 'clockBoundLarge',
			seen: `The clocks of the two ends agree only within ${boundMs.toFixed(1)} ms.`,
			advice:
				'Delay and age carry this doubt whatever the length of the run; quieten the air while the clocks are compared.',
		});
	}
	return warnings;
}

function fromColour({ colour }: Basis): Warning[] {
	if (colour.kind === 'notMeasured' || colour.unexplainedDeltaE00 === undefined) return [];
	return [
		{
			code: 'colourUnexplained',
			seen: `The colours differ by ${colour.unexplainedDeltaE00.toFixed(1)} on average (1 = just seen side by side), and no known fault explains it.`,
			advice:
				'Do not read "no fault named" as "colour is right": look at the patches, at the colour settings at both ends, and for colour options of an app or a converter on the way. A starved bitrate does it too: look at blocks and fine detail.',
		},
	];
}

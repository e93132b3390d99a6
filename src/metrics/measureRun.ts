/**
 * Everything that metrics say of a run. Each metric stands alone in its own file; this one only hands each its share of the
 * run. The order of the observations' rows does not matter beyond what the records promise.
 */
import { FAST_FILMS, ORDINARY_FILMS } from '../observations/records.ts';
import type { Run } from '../observations/run.ts';
import { measureColour } from './colour.ts';
import { measureDelayVariation } from './delayVariation.ts';
import { measureDeliveredRate } from './deliveredRate.ts';
import { measureFidelity } from './fidelity.ts';
import { isRecording, NO_DELAY_IN_A_FILE, uncountable, withCuts, withoutTime } from './fileFindings.ts';
import { measureFrames } from './frameLedger.ts';
import { measureFreezes } from './freezes.ts';
import { measureFreshDelay } from './freshDelay.ts';
import { measureGaps } from './gaps.ts';
import { measureGreyTracking } from './greyTracking.ts';
import { measureHarness } from './harnessHealth.ts';
import { measureLensClearing } from './lensClearing.ts';
import type { Metrics, RunFacts, Thresholds } from './metric.ts';
import {
	countedSegments,
	isFilmed,
	NO_FAST_CLIP,
	segmentsForDelay,
	segmentsForTime,
} from './opticalSession.ts';
import { measureOrientation } from './orientation.ts';
import { measurePictureAge } from './pictureAge.ts';
import { measureLikeness } from './pictureLikeness.ts';
import { gatherPictures, observedIn, type SegmentPictures, timedPictures } from './presentedPictures.ts';
import { factsForFilms, measureFacts } from './runFacts.ts';
import { gatherSent, type SegmentSent } from './sentFrames.ts';
import { measureSharpness } from './sharpness.ts';
import { untoldWhereStanding } from './standingPhase.ts';
import { gatherWarnings } from './warnings.ts';
import { measureWhiteBalance } from './whiteBalance.ts';

/** A pure function of its arguments: the same run and thresholds give the same figures. */
export function measureRun(run: Run, thresholds: Thresholds): Metrics {
	const pictures = gatherPictures(run);
	const forTime = segmentsForTime(run, pictures);
	const facts = isFilmed(run) ? factsOfTime(run, forTime) : measureFacts(run);
	const timeMs = facts.observedMs;
	const timed = timedPictures(segmentsForDelay(run, pictures));
	const delayFacts = factsForFilms(facts, FAST_FILMS);
	const timeFacts = factsForFilms(facts, ORDINARY_FILMS);
	const sent = gatherSent(run);
	const harness = measureHarness(run, sent, thresholds);
	const fidelity = measureFidelity(run);
	const colour = measureColour(run);
	const lensClearing = measureLensClearing(run);
	const ofFile = isRecording(run);
	const noDelay = ofFile ? NO_DELAY_IN_A_FILE : isFilmed(run) && timed.length === 0 ? NO_FAST_CLIP : null;
	return {
		facts,
		freshDelay: noDelay ?? untoldWhereStanding(run, timed, measureFreshDelay(timed, delayFacts, thresholds)),
		pictureAge: ofFile
			? NO_DELAY_IN_A_FILE
			: untoldWhereStanding(run, forTime, measurePictureAge(forTime, timeFacts, thresholds)),
		delayVariation: noDelay ?? measureDelayVariation(timed, delayFacts),
		frames: uncountable(run) ?? measureFrames(run, countable(run, sent)),
		freezes: withCuts(run, measureFreezes(forTime, timeMs)),
		gaps: measureGaps(forTime, timeMs),
		deliveredRate: uncountable(run) ?? measureDeliveredRate(rateBasis(forTime, sent), facts, thresholds),
		colour,
		whiteBalance: measureWhiteBalance(run),
		greyTracking: measureGreyTracking(run),
		likeness: measureLikeness(run),
		sharpness: measureSharpness(run),
		...(fidelity === undefined ? {} : { fidelity }),
		...(lensClearing === undefined ? {} : { lensClearing }),
		orientation: measureOrientation(run),
		harness,
		...withoutTime(run),
		warnings: gatherWarnings({ run, facts, pictures, harness, colour, thresholds }),
	};
}

/** What a filmed session vouches for is what its long clip saw: the fast ones are too short to have seen what comes seldom. */
function factsOfTime(run: Run, forTime: readonly SegmentPictures[]): RunFacts {
	return { ...measureFacts(run), observedMs: observedIn(forTime), segmentCount: forTime.length };
}

function rateBasis(pictures: readonly SegmentPictures[], sent: readonly SegmentSent[]) {
	const segments = new Set(pictures.map(({ segment }) => segment));
	return { pictures, sent: sent.filter(({ segment }) => segments.has(segment)) };
}

/** Of a filmed kit, only where its lost pictures could be told from its cadence; else none, and the ledger is not measured. */
function countable(run: Run, sent: readonly SegmentSent[]): readonly SegmentSent[] {
	if (!isFilmed(run)) return sent;
	const counted = countedSegments(run);
	return sent.filter(({ segment }) => counted.has(segment));
}

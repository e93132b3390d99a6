/**
 * Everything that metrics say of a run. Each metric stands alone in its own file; this one only hands each its share of the
 * run. The order of the observations' rows does not matter beyond what the records promise.
 */
import type { Run } from '../observations/run.ts';
import { measureColour } from './colour.ts';
import { measureDelayVariation } from './delayVariation.ts';
import { measureDeliveredRate } from './deliveredRate.ts';
import { measureFidelity } from './fidelity.ts';
import { isRecording, NO_DELAY_IN_A_FILE, uncountable, withCuts } from './fileFindings.ts';
import { measureFrames } from './frameLedger.ts';
import { measureFreezes } from './freezes.ts';
import { measureFreshDelay } from './freshDelay.ts';
import { measureGaps } from './gaps.ts';
import { measureGreyTracking } from './greyTracking.ts';
import { measureHarness } from './harnessHealth.ts';
import type { Metrics, NotMeasured, Thresholds } from './metric.ts';
import { measurePictureAge } from './pictureAge.ts';
import { measureLikeness } from './pictureLikeness.ts';
import { gatherPictures, timedPictures } from './presentedPictures.ts';
import { measureFacts } from './runFacts.ts';
import { gatherSent } from './sentFrames.ts';
import { measureSharpness } from './sharpness.ts';
import { gatherWarnings } from './warnings.ts';
import { measureWhiteBalance } from './whiteBalance.ts';

const NO_ORIENTATION: NotMeasured = {
	kind: 'notMeasured',
	reason: 'notThisRig',
	explanation:
		'Which way up the scope shows its picture can only be seen through its lens, by the optical rig.',
};

/** A pure function of its arguments: the same run and thresholds give the same figures. */
export function measureRun(run: Run, thresholds: Thresholds): Metrics {
	const facts = measureFacts(run);
	const pictures = gatherPictures(run);
	const timed = timedPictures(pictures);
	const sent = gatherSent(run);
	const harness = measureHarness(run, sent, thresholds);
	const fidelity = measureFidelity(run);
	const ofFile = isRecording(run);
	return {
		facts,
		freshDelay: ofFile ? NO_DELAY_IN_A_FILE : measureFreshDelay(timed, facts, thresholds),
		pictureAge: ofFile ? NO_DELAY_IN_A_FILE : measurePictureAge(pictures, facts, thresholds),
		delayVariation: ofFile ? NO_DELAY_IN_A_FILE : measureDelayVariation(timed, facts),
		frames: uncountable(run) ?? measureFrames(run, sent),
		freezes: withCuts(run, measureFreezes(pictures, facts.observedMs)),
		gaps: measureGaps(pictures, facts.observedMs),
		deliveredRate: uncountable(run) ?? measureDeliveredRate({ pictures, sent }, facts, thresholds),
		colour: measureColour(run),
		whiteBalance: measureWhiteBalance(run),
		greyTracking: measureGreyTracking(run),
		likeness: measureLikeness(run),
		sharpness: measureSharpness(run),
		...(fidelity === undefined ? {} : { fidelity }),
		orientation: NO_ORIENTATION,
		harness,
		warnings: gatherWarnings({ run, facts, pictures, harness, thresholds }),
	};
}

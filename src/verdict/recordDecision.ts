/** The rules for lost pictures, for a moving record and for colour: proportions and differences, not time shares. */
import type { Colour, DeliveredRate, FrameLedger } from '../metrics/metric.ts';
import type { Sharpness } from '../metrics/pictureMetric.ts';
import {
	type Bounded,
	type Decision,
	DOES_NOT_HOLD,
	decideAtMost,
	decided,
	holdsTogether,
	notMeasured,
	undecided,
} from './decision.ts';
import type { LineContext } from './lineContext.ts';
import { settleByWidth, settleLosses } from './moreRun.ts';

/** Lost pictures, by bounds at the effective size that runs of losses leave; in a file the share itself, it is all there is. */
export function decideLost(frames: FrameLedger, { limit, profile, metrics }: LineContext): Decision {
	const figure: Bounded = profile.census
		? { reading: frames.lostRatio, lower: frames.lostRatio, upper: frames.lostRatio }
		: { reading: frames.lostRatio, lower: frames.lostLowerRatio, upper: frames.lostUpperRatio };
	if (!(frames.sent > 0) || !holdsTogether(figure) || !((figure.upper ?? 0) <= 1))
		return undecided(DOES_NOT_HOLD);

	const seen = `${frames.lost + frames.late} of ${frames.sent} pictures`;
	const state = decideAtMost(figure, limit);
	if (state !== 'undecided') return decided(state, figure, seen);
	const at = { limit, observedMs: metrics.facts.observedMs };
	const clusterRatio = frames.longestLossRun / frames.sent;
	const settle = settleLosses(
		{ shareRatio: frames.lostRatio, count: frames.lostEffectiveCount, clusterRatio },
		at,
	);
	return undecided(`${seen}: the limit lies between the two bounds`, figure, settle);
}

/** Enough of the source's pictures for a moving record, from a source fast enough to show movement. */
export function decideMovingRecord(rate: DeliveredRate, { limit, line }: LineContext): Decision {
	const figure: Bounded = { reading: rate.decodedShareRatio, lower: null, upper: null };
	const least = line.level;
	if (least === null || !Number.isFinite(limit) || !(rate.sourceHz > 0) || !holdsTogether(figure)) {
		return undecided(DOES_NOT_HOLD);
	}
	const stillsOnly = 'no for moving pictures: stills only';
	if (!(rate.sourceHz >= least)) {
		return decided('notMet', figure, `${stillsOnly} (the source shows ${rate.sourceHz.toFixed(1)} a second)`);
	}
	if (!(figure.reading >= limit)) return decided('notMet', figure, stillsOnly);
	return decided('met', figure, 'enough of the source’s pictures were decoded');
}

/**
 * A colour shift, by its bounds over the repeats. On the link both ends are known code values, so the rig adds no
 * systematic doubt, nor for a still that never passed a lens; for every other rig that doubt is not known yet, and the line is not called met.
 */
export function decideColour(colour: Colour, which: 'median' | 'p95', context: LineContext): Decision {
	const figure: Bounded =
		which === 'median'
			? { reading: colour.medianDeltaE00, lower: colour.medianLower, upper: colour.medianUpper }
			: { reading: colour.p95DeltaE00, lower: colour.p95Lower, upper: colour.p95Upper };
	if (!(colour.sampleCount > 0) || !holdsTogether(figure)) return undecided(DOES_NOT_HOLD);
	if (colour.namedFault !== null) return decided('notMet', figure, `a named fault: ${colour.namedFault}`);

	const { limit, rig, metrics } = context;
	const faults = !colour.faultsLookedFor
		? 'faults not looked for'
		: colour.unexplainedDeltaE00 === undefined
			? 'no named fault'
			: 'the difference is explained by no known fault';
	const seen = `${colour.sampleCount} samples, ${colour.path} colours; ${faults}`;
	const state = decideAtMost(figure, limit);
	if (state === 'notMet') return decided('notMet', figure, seen);
	const bothKnown = rig === 'link' || metrics.facts.header.colourReference === 'drawn';
	if (!bothKnown) return undecided(`${seen}; this rig’s own colour doubt is not known`, figure);
	if (state === 'met') return decided('met', figure, seen);
	const bound = figure.reading <= limit ? figure.upper : figure.lower;
	const at = { limit, observedMs: metrics.facts.observedMs };
	return undecided(
		`${seen}; the limit lies between the two bounds`,
		figure,
		settleByWidth(figure.reading, bound, at),
	);
}

/** What is left of the reference's fine detail, by its bounds over the pictures; a single picture has none, and its reading stays open. */
export function decideDetail(sharpness: Sharpness, { limit }: LineContext): Decision {
	const { ofReferenceRatio: reading, ofReferenceLowerRatio: lower, ofReferenceUpperRatio: upper } = sharpness;
	if (reading === null) return notMeasured('There was no reference to compare the edges with.');
	const figure: Bounded = { reading, lower, upper };
	if (!holdsTogether(figure) || !Number.isFinite(limit)) return undecided(DOES_NOT_HOLD);
	const seen = `${sharpness.edges.length} edges in ${sharpness.pictureCount} pictures`;
	if (lower === null || upper === null)
		return undecided(`${seen}: one picture has no repeats to bound it by`, figure);
	// The bound that decides an "at least" is the other one.
	if (lower >= limit) return decided('met', { ...figure, upper: lower }, seen);
	if (upper < limit) return decided('notMet', { ...figure, lower: upper }, seen);
	return undecided(`${seen}: the limit lies between the two bounds`, figure);
}

/**
 * Colour shift: CIEDE2000 of each patch as the viewer got it against the card as drawn, both taken as sRGB under D65; 1 is
 * about just seen side by side (common practice). Mean code values over the repeats first, then the difference, so that
 * noise, which only ever adds to a difference, is averaged away; then median, P95 (type 7) and greatest over the patches.
 *
 * The bounds are over the repeats: the same figure from each sample alone, their mean and Student's t at the effective
 * size (`repeatBounds.ts`), widened so as to hold the reading itself. Noise makes a single sample's figure too great, so
 * the upper bound errs upward. Rounding to whole codes is in the samples; no display, lens or screen is.
 *
 * A fault is named from its signature (colour/colourFault.ts, and chroma that bleeds over edges) only where the reading
 * itself was tried on the card and added less than 1; else `faultsLookedFor` is false and `namedFault` null. A difference
 * that can be seen (mean over 1), is over twice what the reading itself adds and fits no known fault is told as unexplained: no
 * fault named is not no fault.
 */
import { findColourFault, LEAST_SIGNATURE_PATCHES } from '../colour/colourFault.ts';
import { deltaE00 } from '../colour/deltaE00.ts';
import { srgbToLab65 } from '../colour/srgbToLab65.ts';
import type { Run } from '../observations/run.ts';
import { quantileSorted, type SortedSamples, sortSamples } from '../statistics/quantile.ts';
import { hdrReason } from './hdr.ts';
import type { Colour, Metric, NotMeasured, PatchReading } from './metric.ts';
import { gatherPatchMeans, type PatchMeans, patchMeansOf, type Triple } from './patchMeans.ts';
import { middleOrNull, observedDetails } from './pictureDetails.ts';
import { repeatHalfWidth } from './repeatBounds.ts';

const NO_REFERENCE: NotMeasured = {
	kind: 'notMeasured',
	reason: 'noReference',
	explanation:
		'There is no picture of the same card by the kit or system to compare with, so no colour is judged.',
};

export function measureColour(run: Run): Metric<Colour> {
	if (run.header.colourReference === 'none') return withHdr(run, NO_REFERENCE);
	const means = gatherPatchMeans(run);
	if (means.kind === 'notMeasured') return means;
	const patches = means.references.map((reference, i): PatchReading => {
		const seenRgb = means.seen[i]!;
		return {
			name: reference.name,
			role: reference.role,
			expectedRgb: reference.rgb,
			seenRgb,
			deltaE00: shift(reference.rgb, seenRgb),
		};
	});
	const sorted = sortSamples(patches.map((patch) => patch.deltaE00));
	const median = quantileSorted(sorted, 0.5);
	const p95 = quantileSorted(sorted, 0.95);
	const repeats = means.samples.map((sample) => sortedShifts(means, sample));
	const medianBounds = boundsOver(repeats, 0.5, median);
	const p95Bounds = boundsOver(repeats, 0.95, p95);
	return {
		kind: 'measured',
		medianDeltaE00: median,
		p95DeltaE00: p95,
		maxDeltaE00: quantileSorted(sorted, 1),
		medianUpper: medianBounds.upper,
		medianLower: medianBounds.lower,
		p95Upper: p95Bounds.upper,
		p95Lower: p95Bounds.lower,
		patches,
		sampleCount: means.samples.length,
		path: means.path,
		displayedMedianDeltaE00: displayedMedian(run),
		...faultOf(run, means),
	};
}

/** Of an HDR clip both are said; the reason stays that of the reference, by which the colour lines are let off. */
function withHdr(run: Run, none: NotMeasured): NotMeasured {
	const hdr = hdrReason(run);
	return hdr === null ? none : { ...none, explanation: `${hdr.explanation} ${none.explanation}` };
}

/** What the reading itself may add, at most, for a fault to be looked for. */
const CONTROL_LIMIT = 1;
const BLEED_LIMIT = 0.1;
/** A difference is the picture's, and not the reading's, from so many times on what the reading adds. */
const OVER_CONTROL = 2;
/** About just seen side by side. */
const SEEN = 1;

type Faults = Pick<Colour, 'namedFault' | 'faultsLookedFor' | 'unexplainedDeltaE00'>;

function faultOf(run: Run, { references, seen }: PatchMeans): Faults {
	const control = run.header.colourControl;
	if (
		control === undefined ||
		control.medianDeltaE00 >= CONTROL_LIMIT ||
		references.length < LEAST_SIGNATURE_PATCHES
	)
		return { namedFault: null, faultsLookedFor: false };
	const finding = findColourFault(
		references.map(({ rgb }) => rgb),
		seen,
	);
	// Through a lens it stands beside the reference's own (againstReference.ts): a picture scaled up smears its colour, and that is no fault.
	const bleed =
		run.header.colourReference === 'picture'
			? 0
			: (middleOrNull(observedDetails(run).map(({ chromaBleedRatio }) => chromaBleedRatio)) ?? 0);
	const words = [
		...(finding.kind === 'named' ? [finding.words] : []),
		...(bleed > BLEED_LIMIT
			? [`colour bleeds over edges: ${bleed.toFixed(2)} of it is left beside a patch`]
			: []),
	];
	const unexplained =
		finding.kind === 'unexplained' &&
		finding.meanDeltaE00 > Math.max(SEEN, OVER_CONTROL * control.medianDeltaE00);
	return {
		namedFault: words.length === 0 ? null : words.join('; '),
		faultsLookedFor: true,
		...(unexplained ? { unexplainedDeltaE00: finding.meanDeltaE00 } : {}),
	};
}

function boundsOver(repeats: readonly SortedSamples[], order: number, reading: number) {
	const values = repeats.map((sorted) => quantileSorted(sorted, order));
	const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
	const halfWidth = repeatHalfWidth(values);
	return {
		upper: Math.max(reading, mean) + halfWidth,
		lower: Math.max(0, Math.min(reading, mean) - halfWidth),
	};
}

function displayedMedian(run: Run): number | null {
	const displayed = patchMeansOf(run, 'displayed');
	return displayed.kind === 'measured' ? quantileSorted(sortedShifts(displayed, displayed.seen), 0.5) : null;
}

function sortedShifts({ references }: PatchMeans, seen: readonly Triple[]): SortedSamples {
	return sortSamples(references.map(({ rgb }, i) => shift(rgb, seen[i]!)));
}

function shift(expected: Triple, seen: Triple): number {
	return deltaE00(srgbToLab65(expected), srgbToLab65(seen));
}

/**
 * How true the picture is beyond colour shift and sharpness: what a better exposure and white balance would cure, where the
 * reds went, clipped ends, lines left by width, noise, blocks, bleeding colour and light. Each is the middle over the pictures of the
 * observed time. Nothing of it is judged: it tells what to mend and what will be missed.
 */
import { deltaE00 } from '../colour/deltaE00.ts';
import { fitExposure } from '../colour/exposureFit.ts';
import { hueShift } from '../colour/hueShift.ts';
import type { Rgb } from '../colour/rgb.ts';
import { srgbToLab65 } from '../colour/srgbToLab65.ts';
import { toneEnds } from '../colour/toneEnds.ts';
import type { DetailSample, Run } from '../observations/run.ts';
import { quantileSorted, sortSamples } from '../statistics/quantile.ts';
import { distanceFigures } from './distances.ts';
import { lightFigures } from './light.ts';
import type { Metric, NotMeasured } from './metric.ts';
import { measureMotion } from './motion.ts';
import { gatherPatchMeans, type PatchMeans } from './patchMeans.ts';
import { grouped, middle, middleOrNull, observedDetails } from './pictureDetails.ts';
import type { Fidelity } from './pictureMetric.ts';
import { viewFigures } from './view.ts';

/** Undefined where no detail was read at all: then there is nothing to say, and nothing missing. */
export function measureFidelity(run: Run): Metric<Fidelity> | undefined {
	if (run.details.length === 0) return undefined;
	const details = observedDetails(run);
	if (details.length === 0)
		return {
			kind: 'notMeasured',
			reason: 'noPictures',
			explanation: 'No picture of the observed time was looked at closely.',
		};
	const means = gatherPatchMeans(run);
	const lines = lineFigures(details);
	return {
		kind: 'measured',
		...(means.kind === 'measured' ? colourFigures(means) : NO_COLOURS),
		lines,
		smallestSeen: smallestOf(lines, 'seenRatio'),
		smallestSeenByColour: smallestOf(lines, 'seenByColourRatio'),
		noise: noiseFigures(details),
		blockinessRatio: middleOrNull(details.map(({ blockinessRatio }) => blockinessRatio)),
		chromaBleedRatio: middleOrNull(details.map(({ chromaBleedRatio }) => chromaBleedRatio)),
		rimLightRatio: middleOrNull(details.map(({ rimLightRatio }) => rimLightRatio)),
		...distanceFigures(details),
		...viewFigures(details),
		...lightFigures(details),
		...motionFigures(run, details),
		pictureCount: details.filter(
			({ motion, noise, edges }) => motion === undefined || noise.length + edges.length > 0,
		).length,
	};
}

type ColourFigures = Pick<Fidelity, 'fit' | 'reds' | 'burntOut' | 'drowned' | 'runTogether'>;
const NO_COLOURS: ColourFigures = { fit: null, reds: null, burntOut: [], drowned: [], runTogether: [] };

function colourFigures({ references, seen }: PatchMeans): ColourFigures {
	const expected = references.map(({ rgb }) => rgb);
	const placesOf = (role: string): number[] =>
		[...references.keys()].filter((i) => references[i]!.role === role);
	const greys = placesOf('neutral');
	const tissue = placesOf('tissue');
	const ends = toneEnds(expected, seen, greys);
	const named = (places: readonly number[]): string[] => places.map((i) => references[i]!.name);
	const reds = hueShift(
		tissue.map((i) => expected[i]!),
		tissue.map((i) => seen[i]!),
	);
	return {
		fit: fitFigures(expected, seen),
		reds:
			reds === null
				? null
				: {
						hueDeg: reds.meanDeg,
						worstHueDeg: reds.worstDeg,
						chromaRatio: reds.chromaRatio,
						patchCount: reds.patchCount,
					},
		burntOut: named(ends.burntOut),
		drowned: named(ends.drowned),
		runTogether: named(ends.runTogether),
	};
}

function fitFigures(expected: readonly Rgb[], seen: readonly Rgb[]): Fidelity['fit'] {
	const fit = fitExposure(expected, seen);
	if (fit === null) return null;
	const shiftsOf = (colours: readonly Rgb[]) =>
		sortSamples(expected.map((rgb, i) => deltaE00(srgbToLab65(rgb), srgbToLab65(colours[i]!))));
	const before = shiftsOf(seen);
	const both = shiftsOf(fit.bothUndone);
	const [red, green, blue] = fit.gains;
	return {
		exposureRatio: fit.exposure,
		redOverGreen: red / green,
		blueOverGreen: blue / green,
		medianBeforeDeltaE00: quantileSorted(before, 0.5),
		p95BeforeDeltaE00: quantileSorted(before, 0.95),
		medianAfterExposureDeltaE00: quantileSorted(shiftsOf(fit.exposureUndone), 0.5),
		medianAfterBothDeltaE00: quantileSorted(both, 0.5),
		p95AfterBothDeltaE00: quantileSorted(both, 0.95),
	};
}

type Line = DetailSample['lines'][number];

function lineFigures(details: readonly DetailSample[]): Fidelity['lines'] {
	const groups = grouped(
		details.flatMap(({ lines }) => lines),
		({ width, unit, axis }) => `${width} ${unit} ${axis}`,
	);
	return groups.map((group: Line[]) => {
		const { width, unit, axis } = group[0]!;
		const shareOf = (is: (line: Line) => boolean): number => group.filter(is).length / group.length;
		return {
			width,
			unit,
			axis,
			lumaRatio: middle(group.map(({ lumaRatio }) => lumaRatio)),
			chromaRatio: middleOrNull(group.map(({ chromaRatio }) => chromaRatio)),
			seenRatio: shareOf(({ seen }) => seen),
			seenByColourRatio: shareOf(({ seenByColour }) => seenByColour),
		};
	});
}

/** From the widest down, while lines of both directions were seen in more than half of the pictures. */
function smallestOf(
	lines: Fidelity['lines'],
	share: 'seenRatio' | 'seenByColourRatio',
): Fidelity['smallestSeen'] {
	const byColour = share === 'seenByColourRatio';
	const asked = lines.filter(({ chromaRatio }) => !byColour || chromaRatio !== null);
	const widths = grouped(
		asked.toSorted((a, b) => b.width - a.width),
		({ width }) => String(width),
	);
	let smallest: Fidelity['smallestSeen'] = null;
	for (const group of widths) {
		if (!group.every((line) => line[share] > 0.5)) break;
		smallest = { width: group[0]!.width, unit: group[0]!.unit };
	}
	return smallest;
}

function noiseFigures(details: readonly DetailSample[]): Fidelity['noise'] {
	const groups = grouped(
		details.flatMap(({ noise }) => noise),
		({ patch }) => patch,
	);
	return groups.map((group) => ({
		patch: group[0]!.patch,
		meanRatio: middle(group.map(({ meanRatio }) => meanRatio)),
		temporalRatio: middleOrNull(group.map(({ temporalRatio }) => temporalRatio)),
		fixedPatternRatio: middle(group.map(({ fixedPatternRatio }) => fixedPatternRatio)),
		signalToNoiseRatio: middleOrNull(group.map(({ signalToNoiseRatio }) => signalToNoiseRatio)),
		frozen: group.every(({ frozen }) => frozen),
		...flickerOf(group),
	}));
}

/** Of looks at several pictures only. */
function flickerOf(group: readonly DetailSample['noise'][number][]) {
	const rows = middleOrNull(group.map(({ banding }) => banding?.rowsRatio ?? null));
	const columns = middleOrNull(group.map(({ banding }) => banding?.columnsRatio ?? null));
	const wavering = middleOrNull(group.map(({ waveringRatio }) => waveringRatio ?? null));
	return {
		...(rows === null ? {} : { bandingRowsRatio: rows }),
		...(columns === null ? {} : { bandingColumnsRatio: columns }),
		...(wavering === null ? {} : { waveringRatio: wavering }),
	};
}

function motionFigures({ header }: Run, details: readonly DetailSample[]): Partial<Fidelity> {
	const motion = measureMotion(details);
	// Moved by hand: nobody knows where it ought to be.
	if (motion !== undefined)
		return { motion: header.rig === 'still' ? { ...motion, pulse: BY_HAND } : motion };
	return header.rig === 'optical' ? { motionUntold: NOT_THROUGH_A_LENS } : {};
}

const BY_HAND: NotMeasured = {
	kind: 'notMeasured',
	reason: 'movedByHand',
	explanation:
		'A card moved by hand shows how fast it goes, not where it ought to be: earlier pictures shining through and a small pulse are told of the link card only.',
};

const NOT_THROUGH_A_LENS: NonNullable<Fidelity['motionUntold']> = {
	reason: 'throughALens',
	explanation:
		'Not measured from a film of the tablet, whose pictures overlap in the phone. The kit’s own clip of the card moved by hand tells it (still, --moved CLIP).',
};

/** The schemas of what a result says of the picture itself (metrics/pictureMetric.ts). */
import { z } from 'zod';
import type { Metric, NotMeasured } from '../metrics/metric.ts';
import type {
	AgainstReference,
	Fidelity,
	LensClearing,
	PulseKept,
	Sharpness,
} from '../metrics/pictureMetric.ts';
import { metric } from './metricSchema.ts';

const figure = z.number();
const count = z.number().int().nonnegative();
const figureOrNull = figure.nullable();

const axis = z.enum(['across', 'down']);
export const sharpness: z.ZodType<Metric<Sharpness>> = metric({
	mtf50CyPx: figure,
	mtf10CyPx: figureOrNull,
	overshootRatio: figure,
	referenceMtf50CyPx: figureOrNull,
	ofReferenceRatio: figureOrNull,
	ofReferenceLowerRatio: figureOrNull,
	ofReferenceUpperRatio: figureOrNull,
	edges: z.array(
		z.strictObject({
			place: z.string(),
			axis,
			mtf50CyPx: figure,
			mtf10CyPx: figureOrNull,
			overshootRatio: figure,
			ofReferenceRatio: figureOrNull,
		}),
	),
	pictureCount: count,
});

const pulse: z.ZodType<PulseKept | NotMeasured> = metric({
	ratePerMin: figure,
	sourceAmplitudePx: figure,
	seenAmplitudePx: figure,
	keptRatio: figure,
	lagMs: figure,
	restPx: figure,
});
const motion = z.strictObject({
	picturesHz: figureOrNull,
	atRestMtf50CyPx: figureOrNull,
	speeds: z.array(
		z.strictObject({
			speedPx: figure,
			mtf50CyPx: figureOrNull,
			detailKeptRatio: figureOrNull,
			smearPx: figureOrNull,
			shutterMs: figureOrNull,
		}),
	),
	earlierRatio: figureOrNull,
	pulse,
	pictureCount: count,
});

const lineWidth = z.strictObject({ width: figure, unit: z.enum(['px', 'mm']) });
const names = z.array(z.string());
const centreAndEdge = { nearRatio: figure, farRatio: figure, keptRatio: figure };
export const fidelity: z.ZodType<Metric<Fidelity>> = metric({
	fit: z
		.strictObject({
			exposureRatio: figure,
			redOverGreen: figure,
			blueOverGreen: figure,
			medianBeforeDeltaE00: figure,
			p95BeforeDeltaE00: figure,
			medianAfterExposureDeltaE00: figure,
			medianAfterBothDeltaE00: figure,
			p95AfterBothDeltaE00: figure,
		})
		.nullable(),
	reds: z
		.strictObject({ hueDeg: figure, worstHueDeg: figure, chromaRatio: figure, patchCount: count })
		.nullable(),
	burntOut: names,
	drowned: names,
	runTogether: names,
	lines: z.array(
		lineWidth.extend({
			axis,
			lumaRatio: figure,
			chromaRatio: figureOrNull,
			seenRatio: figure,
			seenByColourRatio: figure,
		}),
	),
	smallestSeen: lineWidth.nullable(),
	smallestSeenByColour: lineWidth.nullable(),
	noise: z.array(
		z.strictObject({
			patch: z.string(),
			meanRatio: figure,
			temporalRatio: figureOrNull,
			fixedPatternRatio: figure,
			signalToNoiseRatio: figureOrNull,
			frozen: z.boolean(),
			bandingRowsRatio: figure.optional(),
			bandingColumnsRatio: figure.optional(),
			waveringRatio: figure.optional(),
		}),
	),
	blockinessRatio: figureOrNull,
	chromaBleedRatio: figureOrNull,
	rimLightRatio: figureOrNull,
	view: z.strictObject({ pxPerMm: figure, widthMm: figureOrNull, bendRatio: figure }).optional(),
	centreAndEdge: z
		.union([
			z.strictObject({ ...centreAndEdge, nearMtf50CyPerMm: figure, farMtf50CyPerMm: figure }),
			z.strictObject({ ...centreAndEdge, nearMtf50CyPx: figure, farMtf50CyPx: figure }),
		])
		.optional(),
	byLight: z
		.array(
			z.strictObject({
				light: z.enum(['bright', 'dim']),
				greyRatio: figureOrNull,
				mtf50CyPx: figureOrNull,
				signalToNoiseRatio: figureOrNull,
				temporalRatio: figureOrNull,
				pictureCount: count,
			}),
		)
		.optional(),
	motion: motion.optional(),
	motionUntold: z.strictObject({ reason: z.string(), explanation: z.string() }).optional(),
	distances: z
		.array(
			z.strictObject({
				distanceMm: figure,
				mtf50CyPerMm: figureOrNull,
				signalToNoiseRatio: figureOrNull,
				detailRatio: figureOrNull,
				signalRatio: figureOrNull,
			}),
		)
		.optional(),
	fieldOfViewDeg: figure.optional(),
	pictureCount: count,
});

export const lensClearing: z.ZodType<Metric<LensClearing>> = metric({
	flushes: z.array(
		z.strictObject({
			flushMs: figure,
			flushFound: z.enum(['marked', 'found']),
			lowRatio: figure,
			toNineTenthsMs: figureOrNull,
			remainsRatio: figure,
		}),
	),
	notToldCount: count,
	repeats: z.strictObject({ count, middleMs: figure, rangeMs: figure, neverCount: count }).nullable(),
});

const lightSaid = z.enum(['bright', 'dim']).nullable();
export const againstReference: z.ZodType<Metric<AgainstReference>> = metric({
	runId: z.string(),
	subject: z.string(),
	startedAt: z.string(),
	place: z.string().nullable(),
	light: lightSaid,
	referenceLight: lightSaid,
	rows: z.array(
		z.strictObject({
			name: z.string(),
			unit: z.string(),
			value: figure,
			reference: figure,
			ratio: figureOrNull,
		}),
	),
});

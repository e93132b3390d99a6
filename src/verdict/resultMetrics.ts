/**
 * The schema of the metrics within a result document. Each part is checked by the compiler against the metric's own
 * type, so that a figure added there and forgotten here does not compile.
 */
import { z } from 'zod';
import type {
	Colour,
	DelayVariation,
	DeliveredRate,
	FrameLedger,
	Freezes,
	FreshDelay,
	Gaps,
	GreyTracking,
	HarnessHealth,
	Metric,
	Metrics,
	Orientation,
	PatchReading,
	PictureAge,
	PictureLikeness,
	RateReading,
	ShareReading,
	WhiteBalance,
} from '../metrics/metric.ts';
import type { Systematic } from '../observations/records.ts';
import { metric } from './metricSchema.ts';
import { againstReference, fidelity, lensClearing, sharpness } from './resultPicture.ts';

/**
 * As a file holds it: results of earlier programs lack the largest cluster, and then it is not known. Nothing is put in its
 * place: a made-up one would make an old bound look better or worse than it was.
 */
type KeptShare = Omit<ShareReading, 'clusterRatio'> & { readonly clusterRatio?: number | undefined };
type Kept<T> = T extends ShareReading
	? KeptShare
	: T extends readonly unknown[]
		? T
		: T extends object
			? { readonly [K in keyof T]: Kept<T[K]> }
			: T;

export type ResultMetrics = Kept<Omit<Metrics, 'facts' | 'warnings'>>;

const figure = z.number();
const count = z.number().int().nonnegative();
const figureOrNull = figure.nullable();

export const systematicSchema: z.ZodType<Systematic> = z.strictObject({
	name: z.string(),
	halfWidthMs: figure,
	shape: z.enum(['rectangular', 'oneSided']),
	source: z.string(),
});

const shareReading: z.ZodType<KeptShare> = z.strictObject({
	limit: figure,
	shareRatio: figure,
	upperRatio: figureOrNull,
	lowerRatio: figureOrNull,
	noBoundReason: z.string().nullable(),
	effectiveCount: figure,
	clusterRatio: figure.optional(),
	observedMs: figure,
	shareIfReadLowRatio: figure,
	shareIfReadHighRatio: figure,
	centralShareRatio: figure,
});

const rateReading: z.ZodType<RateReading> = z.strictObject({
	count,
	observedMs: figure,
	perMin: figure,
	upperPerMin: figure,
	lowerPerMin: figure,
});

const freshDelay: z.ZodType<Kept<Metric<FreshDelay>>> = metric({
	meanMs: figure,
	minMs: figure,
	medianMs: figureOrNull,
	p95Ms: figureOrNull,
	maxMs: figure,
	medianUpperMs: figureOrNull,
	p95UpperMs: figureOrNull,
	uncertaintyMs: figure,
	count,
	overLimit: shareReading,
	overHalfSecond: shareReading,
});

const pictureAge: z.ZodType<Kept<Metric<PictureAge>>> = metric({
	meanMs: figure,
	medianMs: figureOrNull,
	p95Ms: figureOrNull,
	maxMs: figure,
	p95UpperMs: figureOrNull,
	shareOverLimitRatio: figure,
	overLimit: shareReading,
	count,
});

const delayVariation: z.ZodType<Metric<DelayVariation>> = metric({
	spreadMs: figure,
	spreadUpperMs: figureOrNull,
	spreadLowerMs: figureOrNull,
	pdvMedianMs: figure,
	pdvP95Ms: figure,
	pdvMaxMs: figure,
	ipdvMedianMs: figure,
	ipdvP95Ms: figure,
	interarrivalJitterMs: figure,
	interarrivalJitterMaxMs: figure,
	steps: z.array(z.strictObject({ atMs: figure, fromMs: figure, toMs: figure })),
	count,
});

const frames: z.ZodType<Metric<FrameLedger>> = metric({
	sent: count,
	presented: count,
	notDrawn: count,
	unreadable: count,
	overtaken: count,
	late: count,
	lost: count,
	repeated: count,
	outOfOrder: count,
	decoded: count,
	lostRatio: figure,
	lostUpperRatio: figure,
	lostLowerRatio: figure,
	lostEffectiveCount: figure,
	longestLossRun: count,
});

const freezes: z.ZodType<Metric<Freezes>> = metric({
	freezes: rateReading,
	pauses: rateReading,
	totalFreezeMs: figure,
	longestFreezeMs: figure,
	averagingRule: z.string(),
	cuts: count.nullable().optional(),
});

const gaps: z.ZodType<Metric<Gaps>> = metric({
	over200: rateReading,
	over500: rateReading,
	longestMs: figure,
});

const deliveredRate: z.ZodType<Kept<Metric<DeliveredRate>>> = metric({
	meanHz: figure,
	medianHz: figure,
	p5Hz: figure,
	sourceHz: figure,
	slowWindows: shareReading,
	windowCount: count,
	decodedShareRatio: figure,
});

const rgb = z.tuple([figure, figure, figure]);
const patchReading: z.ZodType<PatchReading> = z.strictObject({
	name: z.string(),
	role: z.string(),
	expectedRgb: rgb,
	seenRgb: rgb,
	deltaE00: figure,
});

const colour: z.ZodType<Metric<Colour>> = metric({
	medianDeltaE00: figure,
	p95DeltaE00: figure,
	maxDeltaE00: figure,
	medianUpper: figure,
	medianLower: figure,
	p95Upper: figure,
	p95Lower: figure,
	patches: z.array(patchReading),
	sampleCount: count,
	path: z.enum(['decoded', 'displayed']),
	displayedMedianDeltaE00: figureOrNull,
	namedFault: z.string().nullable(),
	faultsLookedFor: z.boolean(),
	unexplainedDeltaE00: figure.optional(),
});

const whiteBalance: z.ZodType<Metric<WhiteBalance>> = metric({
	chroma: figure,
	deltaUv: figure,
	redOverGreen: figure,
	blueOverGreen: figure,
	angleDeg: figure,
	patchName: z.string(),
});

const greyTracking: z.ZodType<Metric<GreyTracking>> = metric({
	toneSlope: figure,
	worstChroma: figure,
	monotonic: z.boolean(),
	neutralCount: count,
});

const likeness: z.ZodType<Metric<PictureLikeness>> = metric({
	medianPsnrDb: figureOrNull,
	worstPsnrDb: figureOrNull,
	medianSsim: figure,
	worstSsim: figure,
	ssimVariant: z.string(),
	sampleCount: count,
	evidence: z.array(z.strictObject({ frameNumber: count, file: z.string(), mismatchRatio: figure })),
});

const harness: z.ZodType<Metric<HarnessHealth>> = metric({
	latenessMedianMs: figure,
	latenessP95Ms: figure,
	latenessMaxMs: figure,
	lateSharePerLine: z.strictObject({ age: figure, delay: figure, rate: figure, gaps: figure }),
	busyMedianRatio: figureOrNull,
	busyMaxRatio: figureOrNull,
	clockBoundMs: figureOrNull,
});

const orientation: z.ZodType<Metric<Orientation>> = metric({
	shown: z.enum(['upright', 'turned', 'mirrored']),
	turnedDeg: z.number(),
	asMeant: z.boolean(),
	count,
});

export const resultMetricsSchema: z.ZodType<ResultMetrics> = z.strictObject({
	freshDelay,
	pictureAge,
	delayVariation,
	frames,
	freezes,
	gaps,
	deliveredRate,
	colour,
	whiteBalance,
	greyTracking,
	likeness,
	sharpness,
	fidelity: fidelity.exactOptional(),
	lensClearing: lensClearing.exactOptional(),
	againstReference: againstReference.exactOptional(),
	orientation,
	harness,
});

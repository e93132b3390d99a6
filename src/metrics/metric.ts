/**
 * The shapes of what metrics say. A figure is either measured, with its count, unit and uncertainty, or it is
 * `notMeasured` with a reason; nothing in between. Field names end in their unit. These names are the result document's.
 */
import type { Header, Systematic } from '../observations/records.ts';
import type { AgainstReference, Fidelity, LensClearing, Sharpness } from './pictureMetric.ts';

export type NotMeasured = {
	readonly kind: 'notMeasured';
	/** Stable, camelCase. */
	readonly reason: string;
	/** One sentence a person understands. */
	readonly explanation: string;
};
export type Metric<T> = ({ readonly kind: 'measured' } & T) | NotMeasured;

/** Data, not log lines: what was seen, and what to do about it. */
export type Warning = { readonly code: string; readonly seen: string; readonly advice: string };

/**
 * A share of time (or of content) beyond a limit, with what is needed to bound it. Verdict combines the two doubts:
 * the random one (upper, lower: the episode bound, 95 % one-sided, null when the run cannot give one) and the
 * systematic one (the same share read at the limit moved by 1.645 u).
 */
export type ShareReading = {
	readonly limit: number;
	readonly shareRatio: number;
	readonly upperRatio: number | null;
	readonly lowerRatio: number | null;
	/** Why there is no bound; null where there is one. */
	readonly noBoundReason: string | null;
	/** Number of independent readings this run is worth at the limit. */
	readonly effectiveCount: number;
	/** Largest cluster of time beyond the limit, as a share of the observed time. */
	readonly clusterRatio: number;
	readonly observedMs: number;
	/** Share beyond (limit - central shift - 1.645 u): how high the true share may be by the rig's systematics alone. */
	readonly shareIfReadLowRatio: number;
	/** Share beyond (limit - central shift + 1.645 u). */
	readonly shareIfReadHighRatio: number;
	/** Share beyond (limit - central shift): the reading that the bound is built on; equal to shareRatio when nothing is one-sided. */
	readonly centralShareRatio: number;
};

/** A rare event: count over observed time, with exact Poisson bounds (95 % one-sided each). */
export type RateReading = {
	readonly count: number;
	readonly observedMs: number;
	readonly perMin: number;
	readonly upperPerMin: number;
	readonly lowerPerMin: number;
};

export type FreshDelay = {
	/** Content-weighted mean: mean age less sum G^2 / (2 sum G). */
	readonly meanMs: number;
	readonly minMs: number;
	/** Null, both: films in which only one phase was seen (standingPhase.ts). */
	readonly medianMs: number | null;
	readonly p95Ms: number | null;
	readonly maxMs: number;
	/** One-sided 95 % bounds of the quantiles with the rig's systematics in them; null where the run gives none. */
	readonly medianUpperMs: number | null;
	readonly p95UpperMs: number | null;
	/** Expanded uncertainty (k = 2) of the mean, random part by batch means, systematics in quadrature. */
	readonly uncertaintyMs: number;
	readonly count: number;
	readonly overLimit: ShareReading;
	readonly overHalfSecond: ShareReading;
};

export type PictureAge = {
	readonly meanMs: number;
	/** Null, both: films in which only one phase was seen (standingPhase.ts). */
	readonly medianMs: number | null;
	readonly p95Ms: number | null;
	readonly maxMs: number;
	readonly p95UpperMs: number | null;
	readonly shareOverLimitRatio: number;
	readonly overLimit: ShareReading;
	/** Pictures on the curve. */
	readonly count: number;
};

export type DelayStep = { readonly atMs: number; readonly fromMs: number; readonly toMs: number };

export type DelayVariation = {
	/** P95 - P5 of fresh delay. */
	readonly spreadMs: number;
	/** Upper bound of P95 less lower bound of P5, 97.5 % each; null where the run gives none. */
	readonly spreadUpperMs: number | null;
	readonly spreadLowerMs: number | null;
	/** RFC 5481: delay less the least delay. */
	readonly pdvMedianMs: number;
	readonly pdvP95Ms: number;
	readonly pdvMaxMs: number;
	/** RFC 3393, neighbours' difference: median and P95 of its size. */
	readonly ipdvMedianMs: number;
	readonly ipdvP95Ms: number;
	/** RFC 3550 6.4.1, at the end of the run and its greatest value. */
	readonly interarrivalJitterMs: number;
	readonly interarrivalJitterMaxMs: number;
	readonly steps: readonly DelayStep[];
	readonly count: number;
};

export type FrameLedger = {
	readonly sent: number;
	readonly presented: number;
	readonly notDrawn: number;
	readonly unreadable: number;
	readonly overtaken: number;
	readonly late: number;
	readonly lost: number;
	readonly repeated: number;
	readonly outOfOrder: number;
	/** Frames that reached the viewer's decoder, readable or not. */
	readonly decoded: number;
	/** Lost and late over sent, one-sided Wilson bounds (95 %) at the effective size that loss runs leave. */
	readonly lostRatio: number;
	readonly lostUpperRatio: number;
	readonly lostLowerRatio: number;
	readonly lostEffectiveCount: number;
	readonly longestLossRun: number;
};

export type Freezes = {
	/** W3C freezes: interval >= max(3 avg, avg + 150 ms), avg over the 30 intervals before, the current one left out. */
	readonly freezes: RateReading;
	/** W3C pauses: over 5 s without a new picture. */
	readonly pauses: RateReading;
	readonly totalFreezeMs: number;
	readonly longestFreezeMs: number;
	readonly averagingRule: string;
	/** Of a recording: jumps of the card that its times do not show; null: the file is cut off. Left out: not looked for. */
	readonly cuts?: number | null | undefined;
};

export type Gaps = {
	readonly over200: RateReading;
	readonly over500: RateReading;
	readonly longestMs: number;
};

export type DeliveredRate = {
	readonly meanHz: number;
	readonly medianHz: number;
	readonly p5Hz: number;
	readonly sourceHz: number;
	/** Windows of 1 s with too few pictures (rateWindows.ts says how many): `limit` is that number. */
	readonly slowWindows: ShareReading;
	readonly windowCount: number;
	/** Decoded pictures over sent. */
	readonly decodedShareRatio: number;
};

export type PatchReading = {
	readonly name: string;
	readonly role: string;
	readonly expectedRgb: readonly [number, number, number];
	readonly seenRgb: readonly [number, number, number];
	readonly deltaE00: number;
};

export type Colour = {
	readonly medianDeltaE00: number;
	readonly p95DeltaE00: number;
	readonly maxDeltaE00: number;
	/** One-sided 95 % upper and lower bounds over the repeats. */
	readonly medianUpper: number;
	readonly medianLower: number;
	readonly p95Upper: number;
	readonly p95Lower: number;
	readonly patches: readonly PatchReading[];
	readonly sampleCount: number;
	/** Where the colours were taken: our own conversion of Y, U, V, or as the browser would display them. */
	readonly path: 'decoded' | 'displayed';
	/** The same on the browser's own conversion, where it was read. */
	readonly displayedMedianDeltaE00: number | null;
	readonly namedFault: string | null;
	readonly faultsLookedFor: boolean;
	/** Mean difference that can be seen and that no known fault explains; left out where there is none. */
	readonly unexplainedDeltaE00?: number | undefined;
};

export type WhiteBalance = {
	readonly chroma: number;
	readonly deltaUv: number;
	readonly redOverGreen: number;
	readonly blueOverGreen: number;
	readonly angleDeg: number;
	readonly patchName: string;
};

export type GreyTracking = {
	/** Slope of log luminance seen against expected; 1 = the same tone curve. */
	readonly toneSlope: number;
	readonly worstChroma: number;
	readonly monotonic: boolean;
	readonly neutralCount: number;
};

export type PictureLikeness = {
	/** Null when every sample is identical to its reference: PSNR has no value then. */
	readonly medianPsnrDb: number | null;
	readonly worstPsnrDb: number | null;
	readonly medianSsim: number;
	readonly worstSsim: number;
	readonly ssimVariant: string;
	readonly sampleCount: number;
	readonly evidence: readonly { frameNumber: number; file: string; mismatchRatio: number }[];
};

export type HarnessHealth = {
	/** Source's own lateness: shown less due. */
	readonly latenessMedianMs: number;
	readonly latenessP95Ms: number;
	readonly latenessMaxMs: number;
	/** Share of time in which the source itself was later than the age line's or the delay line's slack, or sent nothing for over 200 ms, over 500 ms. */
	readonly lateSharePerLine: {
		readonly age: number;
		readonly delay: number;
		readonly rate: number;
		readonly gaps: number;
	};
	readonly busyMedianRatio: number | null;
	readonly busyMaxRatio: number | null;
	readonly clockBoundMs: number | null;
};

export type RunFacts = {
	readonly header: Header;
	/** After warm-up, segments added, breaks between them not counted. */
	readonly observedMs: number;
	readonly warmUpMs: number;
	readonly segmentCount: number;
	readonly torn: boolean;
	/** The header's systematics and the clock's bound. */
	readonly systematics: readonly Systematic[];
	/** Sum of the one-sided terms' middles, in ms of delay: true = reading + centre + draw. */
	readonly systematicCentreMs: number;
	/** Standard uncertainty of that draw: rectangular half-widths over sqrt 3, in quadrature. */
	readonly systematicStandardMs: number;
	/** What an optical session still lacks, each as an order; left out for the other rigs. */
	readonly sessionMissing?: readonly string[];
};

/** How the viewer's picture lies against the card. */
export type Orientation = {
	/** A mirror image that is turned too is a mirror image. */
	readonly shown: 'upright' | 'turned' | 'mirrored';
	/** Clockwise, -180 to 180. */
	readonly turnedDeg: number;
	/** A person said that the kit is meant to show it so. */
	readonly asMeant: boolean;
	/** Looks at it. */
	readonly count: number;
};

/** Everything that metrics say of a run. Thresholds come from the criteria as plain numbers. */
export type Metrics = {
	readonly facts: RunFacts;
	readonly freshDelay: Metric<FreshDelay>;
	readonly pictureAge: Metric<PictureAge>;
	readonly delayVariation: Metric<DelayVariation>;
	readonly frames: Metric<FrameLedger>;
	readonly freezes: Metric<Freezes>;
	readonly gaps: Metric<Gaps>;
	readonly deliveredRate: Metric<DeliveredRate>;
	readonly colour: Metric<Colour>;
	readonly whiteBalance: Metric<WhiteBalance>;
	readonly greyTracking: Metric<GreyTracking>;
	readonly likeness: Metric<PictureLikeness>;
	readonly sharpness: Metric<Sharpness>;
	/** Left out where no picture's detail was read (runs before it existed, and rigs that read none). */
	readonly fidelity?: Metric<Fidelity>;
	/** Of clips of a smeared and flushed lens only. */
	readonly lensClearing?: Metric<LensClearing>;
	/** Where the run was set beside a reference run; it is laid into the run's own folder. */
	readonly againstReference?: Metric<AgainstReference>;
	readonly orientation: Metric<Orientation>;
	readonly harness: Metric<HarnessHealth>;
	readonly warnings: readonly Warning[];
};

/**
 * Delay and age over time for a chart, in bins of equal length. Decimated, yet no extreme is hidden: each bin keeps its
 * least and greatest. Times are ms from the start of the first segment.
 */
export type Series = {
	readonly bins: readonly {
		readonly fromMs: number;
		readonly toMs: number;
		/** Null where nothing was presented in the bin. */
		readonly delayMs: { readonly min: number; readonly median: number; readonly max: number } | null;
		/** Null where the bin lies outside every segment. */
		readonly ageMs: { readonly min: number; readonly max: number } | null;
		readonly notPresented: number;
	}[];
	/** Share of presented pictures (weighted by content gap) by delay; the last class holds everything above. */
	readonly delayClasses: readonly {
		readonly fromMs: number;
		readonly toMs: number;
		readonly shareRatio: number;
	}[];
};

/** What the criteria tell the metrics to count. */
export type Thresholds = {
	readonly ageLimitMs: number;
	readonly delayLimitMs: number;
	readonly halfSecondMs: number;
	readonly slowRateHz: number;
	/** The allowed share of the age and delay lines, for the quantile bounds (0.05). */
	readonly allowedRatio: number;
};

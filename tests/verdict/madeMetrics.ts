/** Metrics of made-up runs: a good verdict-length link run by default, with what a test is about laid over it. */
import type {
	Colour,
	DelayVariation,
	DeliveredRate,
	FrameLedger,
	Freezes,
	FreshDelay,
	Gaps,
	HarnessHealth,
	Metric,
	Metrics,
	NotMeasured,
	PictureAge,
	RateReading,
	RunFacts,
	ShareReading,
} from '../../src/metrics/metric.ts';
import type { Header } from '../../src/observations/records.ts';
import { poissonLower, poissonUpper } from '../../src/statistics/poissonRate.ts';

function madeHeader(over: Partial<Header> = {}): Header {
	return {
		kind: 'header',
		format: 'steerworthy-observations',
		version: 1,
		toolVersion: '0.1.0',
		runId: 'made-1',
		rig: 'link',
		subject: { kind: 'link', name: 'the tablet over WebSocket, air: clear', invented: false },
		place: 'the yard',
		joined: null,
		profile: 'verdict',
		startedAt: '2026-01-01T10:00:00Z',
		measuringPoints: { source: 'generated', viewer: 'presented' },
		viewerClock: 'pinged',
		source: { layout: 'link', widthPx: 1280, heightPx: 720, rateHz: 30, seed: 1, difficulty: 'easy' },
		path: { transport: 'websocket', codec: 'h264', bitrateKbps: 4000, keyEveryFrames: 30, air: null },
		displayPeriodMs: 16.667,
		lostAfterMs: 5000,
		systematics: [],
		patches: [],
		...over,
	};
}

/** No time over the limit, on a link steady enough for 1,200 independent readings in 310 s. */
export function madeShare(limit: number, over: Partial<ShareReading> = {}): ShareReading {
	const central = over.centralShareRatio ?? over.shareRatio ?? 0;
	return {
		limit,
		shareRatio: central,
		upperRatio: central + 0.0025,
		lowerRatio: Math.max(0, central - 0.0025),
		noBoundReason: null,
		effectiveCount: 1200,
		clusterRatio: 0.0005,
		observedMs: 310_000,
		shareIfReadLowRatio: central,
		shareIfReadHighRatio: central,
		centralShareRatio: central,
		...over,
	};
}

export function madeRate(count: number, observedMs = 310_000): RateReading {
	const perMin = 60_000 / observedMs;
	return {
		count,
		observedMs,
		perMin: count * perMin,
		upperPerMin: poissonUpper(count, 0.95) * perMin,
		lowerPerMin: poissonLower(count, 0.95) * perMin,
	};
}

export const unmeasured: NotMeasured = {
	kind: 'notMeasured',
	reason: 'notBuilt',
	explanation: 'this rig does not read it yet',
};

export function freshDelay(over: Partial<FreshDelay> = {}): Metric<FreshDelay> {
	return {
		kind: 'measured',
		meanMs: 92,
		minMs: 70,
		medianMs: 90,
		p95Ms: 118,
		maxMs: 150,
		medianUpperMs: 92.4,
		p95UpperMs: 121.3,
		uncertaintyMs: 2,
		count: 9300,
		overLimit: madeShare(200),
		overHalfSecond: madeShare(500),
		...over,
	};
}

export function pictureAge(over: Partial<PictureAge> = {}): Metric<PictureAge> {
	return {
		kind: 'measured',
		meanMs: 110,
		medianMs: 108,
		p95Ms: 141,
		maxMs: 190,
		p95UpperMs: 145.9,
		shareOverLimitRatio: 0,
		overLimit: madeShare(240),
		count: 9300,
		...over,
	};
}

export function delayVariation(over: Partial<DelayVariation> = {}): Metric<DelayVariation> {
	return {
		kind: 'measured',
		spreadMs: 40,
		spreadUpperMs: 46,
		spreadLowerMs: 35,
		pdvMedianMs: 20,
		pdvP95Ms: 45,
		pdvMaxMs: 80,
		ipdvMedianMs: 4,
		ipdvP95Ms: 12,
		interarrivalJitterMs: 5,
		interarrivalJitterMaxMs: 9,
		steps: [],
		count: 9300,
		...over,
	};
}

export function frames(over: Partial<FrameLedger> = {}): Metric<FrameLedger> {
	return {
		kind: 'measured',
		sent: 9300,
		presented: 9295,
		notDrawn: 3,
		unreadable: 0,
		overtaken: 0,
		late: 0,
		lost: 2,
		repeated: 0,
		outOfOrder: 0,
		decoded: 9298,
		lostRatio: 2 / 9300,
		lostUpperRatio: 0.0008,
		lostLowerRatio: 0.00005,
		lostEffectiveCount: 9300,
		longestLossRun: 1,
		...over,
	};
}

export function freezes(over: Partial<Freezes> = {}): Metric<Freezes> {
	return {
		kind: 'measured',
		freezes: madeRate(0),
		pauses: madeRate(0),
		totalFreezeMs: 0,
		longestFreezeMs: 0,
		averagingRule: 'the 30 intervals before',
		...over,
	};
}

export function gaps(over: Partial<Gaps> = {}): Metric<Gaps> {
	return { kind: 'measured', over200: madeRate(0), over500: madeRate(0), longestMs: 80, ...over };
}

export function deliveredRate(over: Partial<DeliveredRate> = {}): Metric<DeliveredRate> {
	return {
		kind: 'measured',
		meanHz: 29.98,
		medianHz: 30,
		p5Hz: 29,
		sourceHz: 30,
		slowWindows: madeShare(15, { effectiveCount: 310, upperRatio: 0.0096 }),
		windowCount: 310,
		decodedShareRatio: 0.9998,
		...over,
	};
}

export function colour(over: Partial<Colour> = {}): Metric<Colour> {
	return {
		kind: 'measured',
		medianDeltaE00: 0.8,
		p95DeltaE00: 1.9,
		maxDeltaE00: 2.4,
		medianUpper: 0.85,
		medianLower: 0.75,
		p95Upper: 2.0,
		p95Lower: 1.8,
		patches: [
			{
				name: 'N5',
				role: 'neutral',
				expectedRgb: [128, 128, 128],
				seenRgb: [127.4, 128, 129],
				deltaE00: 0.6,
			},
		],
		sampleCount: 155,
		path: 'decoded',
		displayedMedianDeltaE00: 1.1,
		namedFault: null,
		faultsLookedFor: false,
		...over,
	};
}

export function harness(over: Partial<HarnessHealth> = {}): Metric<HarnessHealth> {
	return {
		kind: 'measured',
		latenessMedianMs: 0.2,
		latenessP95Ms: 1.1,
		latenessMaxMs: 6,
		lateSharePerLine: { age: 0, delay: 0, rate: 0, gaps: 0 },
		busyMedianRatio: 0.3,
		busyMaxRatio: 0.6,
		clockBoundMs: 0.4,
		...over,
	};
}

type Over = Partial<Omit<Metrics, 'facts'>> & {
	readonly header?: Partial<Header>;
	readonly facts?: Partial<Omit<RunFacts, 'header'>>;
};

export function madeMetrics({ header = {}, facts = {}, ...over }: Over = {}): Metrics {
	return {
		facts: {
			header: madeHeader(header),
			observedMs: 310_000,
			warmUpMs: 5000,
			segmentCount: 1,
			torn: false,
			systematics: [],
			systematicCentreMs: 0,
			systematicStandardMs: 0.2,
			...facts,
		},
		freshDelay: freshDelay(),
		pictureAge: pictureAge(),
		delayVariation: delayVariation(),
		frames: frames(),
		freezes: freezes(),
		gaps: gaps(),
		deliveredRate: deliveredRate(),
		colour: colour(),
		whiteBalance: unmeasured,
		greyTracking: unmeasured,
		likeness: unmeasured,
		sharpness: unmeasured,
		orientation: unmeasured,
		harness: harness(),
		warnings: [],
		...over,
	};
}

/** A link over which every picture comes too late to steer by, and nothing else is wrong. */
export const tooLate = {
	pictureAge: pictureAge({ overLimit: madeShare(240, { centralShareRatio: 0.3 }) }),
};
/** Two pauses of more than five seconds: no continuous record. */
export const paused = { freezes: freezes({ pauses: madeRate(2), freezes: madeRate(2) }) };
/** So few colour samples that the bounds lie on both sides of the limit. */
export const colourOpen = { colour: colour({ medianUpper: 3.4, medianLower: 0.1 }) };

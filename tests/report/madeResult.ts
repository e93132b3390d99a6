/** A made result with figures chosen by hand, for the words and the layout only: no run gave them. */
import type { Metrics, NotMeasured, RateReading, Series, ShareReading } from '../../src/metrics/metric.ts';
import type { Systematic } from '../../src/observations/records.ts';
import type { ResultDocument, ResultRun } from '../../src/verdict/resultDocument.ts';
import type { ResultMetrics } from '../../src/verdict/resultMetrics.ts';
import type { Fitness, JudgedLine, Verdict } from '../../src/verdict/verdict.ts';

const share: ShareReading = {
	limit: 200,
	shareRatio: 0.0123,
	upperRatio: 0.0231,
	lowerRatio: 0.0051,
	noBoundReason: null,
	effectiveCount: 812.4,
	clusterRatio: 0.0006,
	observedMs: 310_000,
	shareIfReadLowRatio: 0.0142,
	shareIfReadHighRatio: 0.0101,
	centralShareRatio: 0.0123,
};

function rate(count: number, upperPerMin: number): RateReading {
	return { count, observedMs: 310_000, perMin: count / (310 / 60), upperPerMin, lowerPerMin: 0 };
}

const systematics: readonly Systematic[] = [
	{
		name: 'clock of the tablet',
		halfWidthMs: 0.9,
		shape: 'rectangular',
		source: 'half the least round trip',
	},
	{ name: 'way to the glass', halfWidthMs: 8.33, shape: 'oneSided', source: 'half a display period, twice' },
];

export const madeRun: ResultRun = {
	id: 'made-0001',
	rig: 'link',
	subject: { kind: 'link', name: 'the tablet in the browser over WebSocket, air: clear', invented: false },
	kit: null,
	place: 'the long barn, third box',
	joined: 'laptop as access point',
	profile: 'verdict',
	startedAt: '2026-03-04T09:15:00+01:00',
	measuringPoints: { source: 'generated', viewer: 'presented' },
	viewerClock: 'pinged',
	source: { layout: 'link', widthPx: 1280, heightPx: 720, rateHz: 30, seed: 7, difficulty: 'hard' },
	path: { transport: 'WebSocket', codec: 'H.264', bitrateKbps: 4000, keyEveryFrames: 30, air: 'clear' },
	displayPeriodMs: 16.67,
	lostAfterMs: 3000,
	observedMs: 310_000,
	warmUpMs: 5000,
	segmentCount: 1,
	torn: false,
	endedBy: 'runEnd',
	systematics,
	systematicCentreMs: 8.33,
	systematicStandardMs: 4.84,
};

const colourPatches: readonly [
	string,
	string,
	readonly [number, number, number],
	readonly [number, number, number],
	number,
][] = [
	['white', 'neutral', [243, 243, 243], [241, 242, 240], 0.61],
	['mid grey', 'neutral', [128, 128, 128], [127.4, 128.2, 128.1], 0.35],
	['black', 'neutral', [20, 20, 20], [21, 21, 22], 0.42],
	['red', 'primary', [200, 40, 40], [196, 44, 43], 1.58],
	['tissue pink', 'tissue', [200, 120, 110], [203, 118, 109], 1.22],
	['deep tissue red', 'tissue', [120, 40, 38], [124, 41, 40], 1.94],
];

export const madeMetrics: ResultMetrics = {
	freshDelay: {
		kind: 'measured',
		meanMs: 98.4,
		minMs: 61.2,
		medianMs: 94.7,
		p95Ms: 141.3,
		maxMs: 1204.6,
		medianUpperMs: 108.9,
		p95UpperMs: 163.2,
		uncertaintyMs: 10.6,
		count: 9213,
		overLimit: share,
		overHalfSecond: { ...share, limit: 500, shareRatio: 0.002, centralShareRatio: 0.002, upperRatio: 0.009 },
	},
	pictureAge: {
		kind: 'measured',
		meanMs: 118.2,
		medianMs: 112.4,
		p95Ms: 171.9,
		maxMs: 1310.2,
		p95UpperMs: 198.8,
		shareOverLimitRatio: 0.0141,
		overLimit: { ...share, limit: 240, shareRatio: 0.0141, centralShareRatio: 0.0141, upperRatio: 0.0262 },
		count: 9213,
	},
	delayVariation: {
		kind: 'measured',
		spreadMs: 66.8,
		spreadUpperMs: 79.1,
		spreadLowerMs: 58.4,
		pdvMedianMs: 33.5,
		pdvP95Ms: 80.1,
		pdvMaxMs: 1143.4,
		ipdvMedianMs: 6.2,
		ipdvP95Ms: 31.8,
		interarrivalJitterMs: 9.4,
		interarrivalJitterMaxMs: 88.2,
		steps: [{ atMs: 122_000, fromMs: 92.1, toMs: 131.4 }],
		count: 9213,
	},
	frames: {
		kind: 'measured',
		sent: 9300,
		presented: 9213,
		notDrawn: 31,
		unreadable: 2,
		overtaken: 14,
		late: 4,
		lost: 36,
		repeated: 3,
		outOfOrder: 14,
		decoded: 9260,
		lostRatio: 0.0043,
		lostUpperRatio: 0.0079,
		lostLowerRatio: 0.0022,
		lostEffectiveCount: 2411.5,
		longestLossRun: 9,
	},
	freezes: {
		kind: 'measured',
		freezes: rate(1, 0.9182),
		pauses: rate(0, 0.5798),
		totalFreezeMs: 1210,
		longestFreezeMs: 1210,
		averagingRule: 'average of the 30 intervals before, the current one left out',
	},
	gaps: { kind: 'measured', over200: rate(3, 1.5), over500: rate(1, 0.9182), longestMs: 1210 },
	deliveredRate: {
		kind: 'measured',
		meanHz: 29.7,
		medianHz: 30,
		p5Hz: 28,
		sourceHz: 30,
		slowWindows: { ...share, limit: 15, shareRatio: 0.0065, centralShareRatio: 0.0065, upperRatio: 0.0171 },
		windowCount: 310,
		decodedShareRatio: 0.9957,
	},
	colour: {
		kind: 'measured',
		medianDeltaE00: 0.92,
		p95DeltaE00: 1.87,
		maxDeltaE00: 1.94,
		medianUpper: 0.99,
		medianLower: 0.86,
		p95Upper: 1.96,
		p95Lower: 1.8,
		patches: colourPatches.map(([name, role, expectedRgb, seenRgb, deltaE00]) => ({
			name,
			role,
			expectedRgb,
			seenRgb,
			deltaE00,
		})),
		sampleCount: 62,
		path: 'decoded',
		displayedMedianDeltaE00: 1.02,
		namedFault: null,
		faultsLookedFor: false,
	},
	whiteBalance: {
		kind: 'measured',
		chroma: 0.84,
		deltaUv: 0.0011,
		redOverGreen: 0.991,
		blueOverGreen: 0.983,
		angleDeg: 0.6,
		patchName: 'white',
	},
	greyTracking: { kind: 'measured', toneSlope: 1.004, worstChroma: 0.9, monotonic: true, neutralCount: 6 },
	likeness: {
		kind: 'measured',
		medianPsnrDb: 38.2,
		worstPsnrDb: 31.4,
		medianSsim: 0.9731,
		worstSsim: 0.9124,
		ssimVariant: '8x8 blocks, stride 4',
		sampleCount: 62,
		evidence: [{ frameNumber: 4120, file: 'difference-4120.png', mismatchRatio: 0.031 }],
	},
	sharpness: { kind: 'notMeasured', reason: 'notBuilt', explanation: 'The link card has no slanted edge.' },
	orientation: {
		kind: 'notMeasured',
		reason: 'notAsked',
		explanation: 'The link rig cannot turn the picture.',
	},
	harness: {
		kind: 'measured',
		latenessMedianMs: 0.3,
		latenessP95Ms: 1.9,
		latenessMaxMs: 12.4,
		lateSharePerLine: { age: 0, delay: 0, rate: 0, gaps: 0 },
		busyMedianRatio: 0.31,
		busyMaxRatio: 0.72,
		clockBoundMs: 0.9,
	},
};

function line(
	id: string,
	parts: Partial<JudgedLine> & Pick<JudgedLine, 'label' | 'unit' | 'limit'>,
): JudgedLine {
	return {
		id,
		gates: ['steer'],
		required: ['steer'],
		reading: 0,
		bound: null,
		state: 'met',
		because: 'the bound keeps the limit',
		margin: null,
		source: 'XU14',
		strength: 'moderate',
		settleBySeconds: null,
		longerWillSettle: false,
		...parts,
	};
}

const madeLines: readonly JudgedLine[] = [
	line('age', {
		label: 'share of time with a picture older than 240 ms',
		unit: 'ratio',
		limit: 0.05,
		reading: 0.0141,
		bound: 0.0262,
		margin: 0.476,
	}),
	line('delay', {
		label: 'share of pictures, weighted by content, that came later than 200 ms',
		unit: 'ratio',
		limit: 0.05,
		reading: 0.0123,
		bound: 0.0231,
		margin: 0.538,
	}),
	line('half-second', {
		label: 'share of pictures that came later than 500 ms',
		unit: 'ratio',
		limit: 0.5,
		reading: 0.002,
		bound: 0.009,
		margin: 0.782,
		source: 'common practice, no source; ANV05 and FAB00 as context; binding in every criteria file',
		strength: 'moderate that it is bad, the number itself weak',
	}),
	line('variation', {
		label: 'spread of the delay, from its P5 to its P95',
		unit: 'ms',
		limit: 100,
		reading: 66.8,
		bound: 79.1,
		margin: 0.209,
		source: 'PAV11',
		strength: 'weak, conflicting (PAV10)',
	}),
	line('freezes', {
		label: 'freezes a minute',
		unit: 'perMin',
		limit: 0.6,
		reading: 0.1935,
		bound: 0.9182,
		state: 'undecided',
		because: 'one freeze was seen; the rate may lie on either side of the limit.',
		source: 'W3C definition (STATS); the limit is a proposal',
		strength: 'definition strong, limit weak',
		settleBySeconds: 180,
		longerWillSettle: true,
	}),
	line('moving-record', {
		label: 'share of the source’s pictures that were decoded, from a source of at least 24 a second',
		gates: ['record'],
		required: ['record'],
		unit: 'ratio',
		limit: 0.9,
		reading: 0.9957,
		bound: 0.9921,
		source: 'common practice, no source',
		strength: 'none',
	}),
	line('colour', {
		label: 'middle colour shift over the patches (CIEDE2000)',
		gates: ['record'],
		required: ['record'],
		unit: 'deltaE',
		limit: 3,
		reading: 0.92,
		bound: 0.99,
		source: 'dental acceptability',
		strength: 'weak',
	}),
	line('orientation', {
		label: 'picture upright, or as you confirmed it, and no mirror image',
		required: [],
		unit: 'none',
		limit: null,
		reading: null,
		state: 'notMeasured',
		because: 'the link rig cannot turn the picture',
		source: 'common practice',
		strength: 'none',
	}),
];

const ANSWERS: Readonly<Record<Fitness, Pick<Verdict, 'steer' | 'record' | 'headline' | 'order'>>> = {
	steering: {
		steer: 'yes',
		record: 'yes',
		headline: 'this link is fit for live steering if the scope and its app add no more than 41 ms',
		order: 'Nothing in the air against steering here; the scope’s own delay is not in this.',
	},
	recording: {
		steer: 'no',
		record: 'yes',
		headline: 'fit for recording only',
		order: 'Do not steer by this tablet; use a wired screen if you have one.',
	},
	unfit: { steer: 'no', record: 'no', headline: 'unfit', order: 'Do not start.' },
	undetermined: {
		steer: 'undetermined',
		record: 'yes',
		headline: 'not enough evidence yet; at least fit for recording',
		order: 'Treat as not fit to steer; do this next: a fresh run of 620 s.',
	},
};

export function madeResult(fitness: Fitness): ResultDocument {
	return {
		format: 'steerworthy-result',
		version: 1,
		toolVersion: '0.1.0',
		run: madeRun,
		metrics: madeMetrics,
		criteria: madeLines,
		criteriaSet: { name: 'standard', hash: '8c1f0a52d9e37b46', differsFromStandard: [] },
		warnings: [
			{
				code: 'busyMachine',
				seen: 'This computer was over 70 % busy for 12 s of the run.',
				advice: 'Close other programs and run again.',
			},
		],
		verdict: {
			fitness,
			...ANSWERS[fitness],
			subject:
				'the tablet in the browser over WebSocket: this tablet over this air, here; the scope and its app were not in the loop',
			roomLeftMs: fitness === 'steering' ? 41.2 : null,
			margin: 0.209,
			decidedBy: ['freezes'],
			settleBySeconds: fitness === 'undetermined' ? 180 : null,
			speaksFor:
				'speaks for disturbances up to about 2.5 s long; a rare one may have been missed: of such runs 5 in 100 miss one that comes about once in 103 s, and 60 in 100 one that comes about once in 10 min',
			criteria: { name: 'standard', hash: '8c1f0a52d9e37b46' },
		},
	};
}

/** The same run, of which nothing could be measured. */
export function resultOfNothing(): ResultDocument {
	const nothing: NotMeasured = {
		kind: 'notMeasured',
		reason: 'tooFewFrames',
		explanation: 'Only 12 pictures were seen; 200 are needed.',
	};
	const names = Object.keys(madeMetrics) as (keyof ResultMetrics)[];
	const metrics = Object.fromEntries(names.map((name) => [name, nothing])) as Omit<
		Metrics,
		'facts' | 'warnings'
	>;
	const lines = madeLines.map((l) => ({ ...l, reading: null, bound: null, state: 'notMeasured' as const }));
	return { ...madeResult('undetermined'), metrics, criteria: lines };
}

/** Bins with a quiet body, one stretch with no picture and one extreme. */
export const madeSeries: Series = {
	bins: Array.from({ length: 124 }, (_, i) => {
		const wave = 6 * Math.sin(i / 5) + (i > 60 ? 38 : 0);
		const stopped = i === 80;
		const spike = i === 81;
		return {
			fromMs: i * 2500,
			toMs: (i + 1) * 2500,
			delayMs: stopped
				? null
				: { min: 62 + wave, median: 92 + wave, max: spike ? 1204.6 : 128 + wave + (i % 7) * 5 },
			ageMs: { min: 64 + wave, max: stopped || spike ? 1310.2 : 162 + wave + (i % 7) * 5 },
			notPresented: stopped ? 36 : i % 11 === 0 ? 2 : 0,
		};
	}),
	delayClasses: Array.from({ length: 25 }, (_, i) => ({
		fromMs: i * 10,
		toMs: (i + 1) * 10,
		shareRatio: i === 24 ? 0.006 : Math.exp(-(((i - 9.4) / 2.6) ** 2) / 2) / 6.55,
	})),
};

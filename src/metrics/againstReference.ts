/**
 * Every measure of the picture beside the same measure of a reference run (the kit's own at acceptance, or a reference system recorded as
 * one): both as they are, and as a ratio. A measure that either of the two does not hold is left out. A ratio says how much, not whether it
 * matters; two runs of one kit differ as well, and how far is told by comparing sessions (verdict/comparison.ts), not here. What is counted from
 * the expected colours of the patches is set beside each other only where both runs expected the same: give the run as it was seen, not
 * as `besideReference` made it.
 */
import type { Metric, Metrics } from './metric.ts';
import type { AgainstReference, Fidelity } from './pictureMetric.ts';

type Reading = (metrics: Metrics) => number | null;
type Asked = {
	readonly name: string;
	readonly unit: string;
	readonly of: Reading;
	/** Counted from what the patches were expected to be. */
	readonly ofPatches?: true;
	/** A reference of less is nothing that could be shared: no ratio. Left out: 0 alone. */
	readonly floor?: number;
};

export function againstReference(metrics: Metrics, reference: Metrics): Metric<AgainstReference> {
	const { header } = reference.facts;
	const alike = expectedOf(metrics) === expectedOf(reference);
	const rows = [...MEASURES, ...linesOf(metrics), ...speedsOf(metrics), ...greysOf(metrics)].flatMap(
		({ name, unit, of, floor = 0, ofPatches = false }) => {
			if (ofPatches && !alike) return [];
			const value = of(metrics);
			const other = of(reference);
			if (value === null || other === null) return [];
			return [
				{
					name,
					unit,
					value,
					reference: other,
					ratio: Math.abs(other) <= floor || value * other < 0 ? null : value / other,
				},
			];
		},
	);
	return {
		kind: 'measured',
		runId: header.runId,
		subject: header.subject.name,
		startedAt: header.startedAt,
		place: header.place,
		light: metrics.facts.header.light ?? null,
		referenceLight: header.light ?? null,
		rows,
	};
}

/** The colours that the run's patches were expected to have. */
function expectedOf({ facts }: Metrics): string {
	return JSON.stringify(facts.header.patches.map(({ name, rgb }) => [name, rgb]));
}

function from<K extends keyof Metrics>(
	key: K,
	read: (measured: Extract<NonNullable<Metrics[K]>, { kind: 'measured' }>) => number | null | undefined,
): Reading {
	return (metrics) => {
		const metric = metrics[key] as Metric<object> | undefined;
		if (metric?.kind !== 'measured') return null;
		// The key names the metric's own type; measured was asked above.
		return read(metric as Extract<NonNullable<Metrics[K]>, { kind: 'measured' }>) ?? null;
	};
}

const picture = (read: (fidelity: Fidelity) => number | null | undefined): Reading => from('fidelity', read);

const MEASURES: readonly Asked[] = [
	{ name: 'pictures a second', unit: '/s', of: picturesHz },
	{
		name: 'colour shift, median',
		unit: 'CIEDE2000',
		floor: 0.2,
		ofPatches: true,
		of: from('colour', (m) => m.medianDeltaE00),
	},
	{
		name: 'colour shift, P95',
		unit: 'CIEDE2000',
		floor: 0.2,
		ofPatches: true,
		of: from('colour', (m) => m.p95DeltaE00),
	},
	{
		name: 'colour shift from the card as drawn, median',
		unit: 'CIEDE2000',
		ofPatches: true,
		of: picture((m) => m.fit?.medianBeforeDeltaE00),
	},
	{
		name: 'the same after the best exposure and white point',
		unit: 'CIEDE2000',
		floor: 0.2,
		ofPatches: true,
		of: picture((m) => m.fit?.medianAfterBothDeltaE00),
	},
	{ name: 'light', unit: 'times the card', ofPatches: true, of: picture((m) => m.fit?.exposureRatio) },
	{
		name: 'white balance, tint of the neutral patch',
		unit: 'C*ab',
		floor: 0.5,
		of: from('whiteBalance', (m) => m.chroma),
	},
	{ name: 'red over green', unit: '', of: from('whiteBalance', (m) => m.redOverGreen) },
	{ name: 'blue over green', unit: '', of: from('whiteBalance', (m) => m.blueOverGreen) },
	{ name: 'hue of the reds', unit: 'degrees', floor: 1, ofPatches: true, of: picture((m) => m.reds?.hueDeg) },
	{ name: 'chroma of the reds', unit: '', ofPatches: true, of: picture((m) => m.reds?.chromaRatio) },
	{ name: 'grey steps, slope', unit: '', ofPatches: true, of: from('greyTracking', (m) => m.toneSlope) },
	{ name: 'patches burnt out', unit: '', ofPatches: true, of: picture((m) => m.burntOut.length) },
	{ name: 'patches drowned', unit: '', ofPatches: true, of: picture((m) => m.drowned.length) },
	{ name: 'fine detail of the card, MTF50', unit: 'c/mm', of: cardDetail },
	{
		name: 'fine detail by the picture’s pixels, MTF50',
		unit: 'c/px',
		of: from('sharpness', (m) => m.mtf50CyPx),
	},
	{
		name: 'fine detail by the picture’s pixels, MTF10',
		unit: 'c/px',
		of: from('sharpness', (m) => m.mtf10CyPx),
	},
	...(['nearMtf50CyPerMm', 'nearMtf50CyPx'] as const).map((key) => ({
		name: 'fine detail nearer the middle, MTF50',
		unit: key === 'nearMtf50CyPx' ? 'c/px' : 'c/mm',
		of: centreOrEdge(key),
	})),
	...(['farMtf50CyPerMm', 'farMtf50CyPx'] as const).map((key) => ({
		name: 'fine detail towards the edge, MTF50',
		unit: key === 'farMtf50CyPx' ? 'c/px' : 'c/mm',
		of: centreOrEdge(key),
	})),
	{ name: 'overshoot', unit: 'of the step', floor: 0.01, of: from('sharpness', (m) => m.overshootRatio) },
	{ name: 'smallest line seen', unit: 'mm or px', of: picture((m) => m.smallestSeen?.width) },
	{
		name: 'smallest line whose redness is seen',
		unit: 'mm or px',
		of: picture((m) => m.smallestSeenByColour?.width),
	},
	{ name: 'blocks', unit: '', of: picture((m) => m.blockinessRatio) },
	{
		name: 'bleeding colour',
		unit: 'of a patch’s chroma',
		floor: 0.01,
		of: picture((m) => m.chromaBleedRatio),
	},
	{ name: 'light at the rim', unit: 'of the middle', of: picture((m) => m.rimLightRatio) },
	{ name: 'width in view', unit: 'mm', of: picture((m) => m.view?.widthMm) },
	{ name: 'field of view', unit: 'degrees', of: picture((m) => m.fieldOfViewDeg) },
	{ name: 'bend at the corner', unit: '', floor: 0.01, of: picture((m) => m.view?.bendRatio) },
	{ name: 'likeness, SSIM', unit: '', of: from('likeness', (m) => m.medianSsim) },
	{ name: 'likeness, PSNR', unit: 'dB', of: from('likeness', (m) => m.medianPsnrDb) },
	{ name: 'time for the lens to clear', unit: 'ms', of: from('lensClearing', (m) => m.repeats?.middleMs) },
	{
		name: 'earlier pictures shining through',
		unit: '',
		floor: 0.01,
		of: picture((m) => m.motion?.earlierRatio),
	},
	{
		name: 'pulse kept',
		unit: 'of its size',
		of: picture((m) => (m.motion?.pulse.kind === 'measured' ? m.motion.pulse.keptRatio : null)),
	},
];

/** Of a printed card by its millimetres, of a card read unscaled by its pixels. */
function centreOrEdge(key: string): Reading {
	return picture(({ centreAndEdge }) => new Map(Object.entries(centreAndEdge ?? {})).get(key));
}

/** What counts for what can be made out: pixels alone rise as the scope goes nearer or the camera has fewer of them. */
function cardDetail({ sharpness, fidelity }: Metrics): number | null {
	const view = fidelity?.kind === 'measured' ? fidelity.view : undefined;
	return sharpness.kind === 'measured' && view !== undefined ? sharpness.mtf50CyPx * view.pxPerMm : null;
}

/** Of a file and of a film its own cadence, which a dark view can slow; of a link what arrived. */
function picturesHz({ facts, deliveredRate }: Metrics): number | null {
	const { rig, source } = facts.header;
	if (rig === 'still') return null;
	if (rig === 'recording' || rig === 'optical') return source.rateHz;
	return deliveredRate.kind === 'measured' ? deliveredRate.meanHz : null;
}

function fidelityOf({ fidelity }: Metrics): Fidelity | null {
	return fidelity?.kind === 'measured' ? fidelity : null;
}

function linesOf(metrics: Metrics): Asked[] {
	return (fidelityOf(metrics)?.lines ?? []).flatMap(({ width, unit, axis }) => {
		const find = (m: Fidelity) =>
			m.lines.find((line) => line.width === width && line.unit === unit && line.axis === axis);
		return [
			{
				name: `lines of ${width} ${unit}, ${axis}: light`,
				unit: 'left',
				of: picture((m) => find(m)?.lumaRatio),
			},
			{
				name: `lines of ${width} ${unit}, ${axis}: colour`,
				unit: 'left',
				of: picture((m) => find(m)?.chromaRatio),
			},
		];
	});
}

function speedsOf(metrics: Metrics): Asked[] {
	return (fidelityOf(metrics)?.motion?.speeds ?? []).map(({ speedPx }) => ({
		name: `detail kept at ${speedPx} px a picture`,
		unit: 'of at rest',
		of: picture((m) => m.motion?.speeds.find((each) => each.speedPx === speedPx)?.detailKeptRatio),
	}));
}

/** Noise of each grey, by its name. */
function greysOf(metrics: Metrics): Asked[] {
	return (fidelityOf(metrics)?.noise ?? []).flatMap(({ patch }) => {
		const find = (m: Fidelity) => m.noise.find((each) => each.patch === patch);
		return [
			{ name: `${patch}: signal to noise`, unit: '', of: picture((m) => find(m)?.signalToNoiseRatio) },
			{
				name: `${patch}: noise from picture to picture`,
				unit: 'of white',
				of: picture((m) => find(m)?.temporalRatio),
			},
			// In one picture alone grain that moves and noise that stands are one: not to be set beside what stands in several.
			{
				name: `${patch}: standing noise`,
				unit: 'of white',
				of: picture((m) => (find(m)?.temporalRatio == null ? null : find(m)?.fixedPatternRatio)),
			},
			{
				name: `${patch}: grain of one picture`,
				unit: 'of white',
				of: picture((m) => (find(m)?.temporalRatio === null ? find(m)?.fixedPatternRatio : null)),
			},
			{
				name: `${patch}: rows that flicker together`,
				unit: 'of white',
				of: picture((m) => find(m)?.bandingRowsRatio),
			},
		];
	});
}

import { expect, test } from 'vitest';
import type { Raster } from '../../src/imaging/raster.ts';
import { againstReference } from '../../src/metrics/againstReference.ts';
import { besideReference } from '../../src/metrics/besideReference.ts';
import { measureRun } from '../../src/metrics/measureRun.ts';
import type { Metrics } from '../../src/metrics/metric.ts';
import { placeRun } from '../../src/observations/placeRun.ts';
import type { Header, ObservationRecord } from '../../src/observations/records.ts';
import type { Run } from '../../src/observations/run.ts';
import { referenceRows, slowedRows } from '../../src/report/referenceRows.ts';
import { runStill } from '../../src/rigs/still/stillRun.ts';
import { standardCriteria, thresholdsOf } from '../../src/verdict/criteria.ts';
import { judgeRun } from '../../src/verdict/judgeRun.ts';
import { cardPicture } from '../reading/madeCardPicture.ts';

const VIEW = { widthPx: 760, heightPx: 580, pxPerMm: 8.5, turnDeg: 4 };
/** What a scope's lamp and paper make of the card: no colour is as drawn. */
const LAMP = { ...VIEW, gain: [0.8, 0.7, 0.5] as [number, number, number], noiseCodes: 1 };

function runOf(raster: Raster): Run {
	const records: ObservationRecord[] = [];
	runStill(
		{
			...{ runId: 'made', toolVersion: '0', startedAt: '2026-01-01T00:00:00Z', place: null },
			...{ stills: [{ name: 'a still', raster }], against: 'nothing' },
			...{ distancesMm: null, lights: null, chart: null },
		},
		(record) => records.push(record),
	);
	return placeRun(records);
}

const reference = runOf(cardPicture(LAMP));
const thresholds = thresholdsOf(standardCriteria);
const measured = (run: Run): Metrics => measureRun(run, thresholds);

test('through a lens the reference run is what colours and edges are measured by, at any distance', () => {
	const same = measured(besideReference(runOf(cardPicture({ ...LAMP, turnDeg: -9 })), reference));
	if (same.colour.kind === 'notMeasured') throw new Error(same.colour.explanation);
	expect(same.colour.medianDeltaE00).toBeLessThan(0.5);
	expect(same.colour).toMatchObject({ faultsLookedFor: true, namedFault: null });
	// A card at five eighths of the size shows as many cycles a millimetre of what the lens makes of it as far as pixels allow.
	const soft = measured(besideReference(runOf(cardPicture({ ...LAMP, pxPerMm: 5 })), reference));
	if (soft.sharpness.kind === 'notMeasured') throw new Error(soft.sharpness.explanation);
	expect(Math.abs(soft.sharpness.ofReferenceRatio! / (5 / 8.5) - 1)).toBeLessThan(0.2);
});

test('a cast that came since the reference is named, and no colour is called good by another run', () => {
	const tinted = besideReference(runOf(cardPicture({ ...LAMP, gain: [0.8, 0.6, 0.5] })), reference);
	const metrics = measured(tinted);
	expect(metrics.colour).toMatchObject({ namedFault: expect.stringMatching(/^colour cast/) });
	expect(judgeRun(metrics, standardCriteria).verdict.record).toBe('no');
	const same = measured(besideReference(runOf(cardPicture(LAMP)), reference));
	// Two runs that agree may be wrong alike: this rig's own colour doubt is not known.
	expect(judgeRun(same, standardCriteria).verdict.record).toBe('undetermined');
});

test('a run whose card is known as drawn keeps that as its truth', () => {
	const known: Run = { ...reference, header: { ...reference.header, colourReference: 'drawn' } };
	expect(besideReference(known, reference)).toBe(known);
});

test('a reference with other patches, or none that were read, lends no colours', () => {
	const [first, ...others] = reference.header.patches;
	const renamed: Header = { ...reference.header, patches: [{ ...first!, name: 'another' }, ...others] };
	const run = runOf(cardPicture(LAMP));
	for (const other of [
		{ ...reference, header: renamed },
		{ ...reference, patches: [] },
		{ ...reference, header: { ...reference.header, transfer: 'hlg' as const } },
	])
		expect(measured(besideReference(run, other)).colour).toMatchObject({
			reason: 'noReference',
		});
});

test('every measure that both hold stands as it is and as a ratio', () => {
	const half = measured(runOf(cardPicture({ ...LAMP, pxPerMm: 7.6 })));
	const against = againstReference(half, measured(reference));
	if (against.kind === 'notMeasured') throw new Error(against.explanation);
	const row = (name: string) => against.rows.find((each) => each.name === name)!;
	expect(row('width in view').value / row('width in view').reference).toBeCloseTo(
		row('width in view').ratio!,
		9,
	);
	expect(Math.abs(row('width in view').ratio! / (8.5 / 7.6) - 1)).toBeLessThan(0.01);
	const names = against.rows.map(({ name }) => name);
	for (const asked of [
		/^colour shift from the card as drawn/,
		/best exposure and white point/,
		/^red over green/,
		/^chroma of the reds/,
		/^grey steps/,
		/^fine detail of the card, MTF50/,
		/^fine detail by the picture’s pixels, MTF10/,
		/towards the edge/,
		/^overshoot/,
		/^lines of 0.8 mm, across: light/,
		/^lines of 0.2 mm, down: colour/,
		/signal to noise$/,
		/^light at the rim/,
		/^bend at the corner/,
	])
		expect(names.some((name) => asked.test(name))).toBe(true);
	// As many pixels of detail, fewer of them to a millimetre of the card.
	expect(
		row('fine detail of the card, MTF50').ratio! / row('fine detail by the picture’s pixels, MTF50').ratio!,
	).toBeCloseTo(7.6 / 8.5, 2);
	// Nothing of what neither holds.
	expect(names).not.toContain('pulse kept');
	expect(names).not.toContain('pictures a second');
});

test('what is counted from expected colours stands beside its like only: both by the card as drawn', () => {
	const seen = runOf(cardPicture({ ...LAMP, gain: [0.4, 0.35, 0.25] }));
	const against = againstReference(measured(seen), measured(reference));
	if (against.kind === 'notMeasured') throw new Error(against.explanation);
	// Half the light, and the reds turned by the lamp as far as the reference's were.
	const ratioOf = (name: string) => against.rows.find((row) => row.name === name)!.ratio;
	expect(ratioOf('light')).toBeCloseTo(0.5, 2);
	expect(Math.abs(ratioOf('hue of the reds')! - 1)).toBeLessThan(0.2);
	expect(Math.abs(ratioOf('grey steps, slope')! - 1)).toBeLessThan(0.02);
	// Expected as the reference saw them, the same figures are of another kind, and left out.
	const beside = againstReference(measured(besideReference(seen, reference)), measured(reference));
	if (beside.kind === 'notMeasured') throw new Error(beside.explanation);
	const left = against.rows
		.map(({ name }) => name)
		.filter((name) => !beside.rows.some((row) => row.name === name));
	expect(left).toEqual([
		'colour shift from the card as drawn, median',
		'the same after the best exposure and white point',
		...[
			'light',
			'hue of the reds',
			'chroma of the reds',
			'grey steps, slope',
			'patches burnt out',
			'patches drowned',
		],
	]);
});

test('each line, grey and speed stands beside the very same of the reference, and nothing is a share of nothing', () => {
	const still = measured(reference);
	if (still.fidelity?.kind !== 'measured') throw new Error('not measured');
	const { fidelity } = still;
	const line = (unit: 'px' | 'mm', axis: 'across' | 'down', lumaRatio: number) => ({
		...{ width: 1, unit, axis, lumaRatio, chromaRatio: null, seenRatio: 1, seenByColourRatio: 0 },
	});
	const grey = (patch: string, signalToNoiseRatio: number) => ({
		...{ patch, meanRatio: 0.5, temporalRatio: null, fixedPatternRatio: 0.01, frozen: false },
		signalToNoiseRatio,
	});
	const moving = (slow: number, fast: number) => ({
		...{ picturesHz: 30, atRestMtf50CyPx: 0.4, earlierRatio: 0.3, pictureCount: 9 },
		pulse: { kind: 'notMeasured' as const, reason: 'tooShort', explanation: '' },
		speeds: [
			{ speedPx: 2, mtf50CyPx: 0.3, smearPx: null, shutterMs: null, detailKeptRatio: slow },
			{ speedPx: 6, mtf50CyPx: 0.3, smearPx: null, shutterMs: null, detailKeptRatio: fast },
		],
	});
	const withFidelity = (over: Partial<typeof fidelity>): Metrics => ({
		...still,
		fidelity: { ...fidelity, ...over },
	});
	const own = withFidelity({
		...{ lines: [line('mm', 'down', 0.6), line('px', 'across', 0.8)], noise: [grey('light', 30)] },
		...{ motion: moving(0.8, 0.4), chromaBleedRatio: 0.2 },
	});
	const other = withFidelity({
		lines: [
			line('mm', 'across', 0.1),
			line('px', 'down', 0.2),
			line('mm', 'down', 0.3),
			line('px', 'across', 1),
		],
		noise: [grey('dark', 5), grey('light', 60)],
		...{ motion: moving(1, 0.8), chromaBleedRatio: 0.005 },
	});
	const against = againstReference(own, other);
	if (against.kind === 'notMeasured') throw new Error(against.explanation);
	const ratioOf = (name: string) => against.rows.find((row) => row.name === name)!.ratio;
	expect(ratioOf('lines of 1 mm, down: light')).toBeCloseTo(2, 9);
	expect(ratioOf('lines of 1 px, across: light')).toBeCloseTo(0.8, 9);
	expect(ratioOf('light: signal to noise')).toBeCloseTo(0.5, 9);
	expect(ratioOf('detail kept at 2 px a picture')).toBeCloseTo(0.8, 9);
	expect(ratioOf('detail kept at 6 px a picture')).toBeCloseTo(0.5, 9);
	expect(ratioOf('earlier pictures shining through')).toBeCloseTo(1, 9);
	expect(ratioOf('bleeding colour')).toBeNull();
	const said = (name: string) => referenceRows(against).find(([asked]) => asked === name)!;
	expect(said('bleeding colour')[1]).toBe('too small');
	// One look here, several there: what stands is not the same thing.
	expect(against.rows.map(({ name }) => name)).toContain('light: grain of one picture');
	const several = withFidelity({ noise: [{ ...grey('light', 60), temporalRatio: 0.002 }] });
	const unlike = againstReference(own, several);
	const alike = againstReference(several, several);
	if (unlike.kind === 'notMeasured' || alike.kind === 'notMeasured') throw new Error('not measured');
	const noiseRows = (rows: typeof alike.rows) =>
		rows.map(({ name }) => name).filter((name) => /standing noise|grain of one/.test(name));
	expect(noiseRows(unlike.rows)).toEqual([]);
	expect(noiseRows(alike.rows)).toEqual(['light: standing noise']);
	expect(referenceRows(alike).find(([asked]) => asked === 'light: noise from picture to picture')![2]).toBe(
		'0.00200 against 0.00200 of white',
	);
	// To one side here, to the other there: no share of it.
	const reds = (hueDeg: number) => withFidelity({ reds: { ...fidelity.reds!, hueDeg } });
	const turned = againstReference(reds(-3), reds(6));
	if (turned.kind === 'notMeasured') throw new Error(turned.explanation);
	expect(referenceRows(turned).find(([asked]) => asked === 'hue of the reds')).toEqual([
		...['hue of the reds', 'the other way', '−3 against 6 degrees'],
	]);
	expect(said('patches burnt out')[1]).toBe('both 0');
	expect(said('light: signal to noise')[2]).toBe('30 against 60');
});

test('a camera that a dark view slows is told from two clips, by the words that the person said', () => {
	const still = measured(reference);
	const clip = (rateHz: number, light: Header['light']): Metrics => ({
		...still,
		facts: {
			...still.facts,
			header: {
				...still.facts.header,
				rig: 'recording',
				source: { ...still.facts.header.source, rateHz },
				...(light === undefined ? {} : { light }),
			},
		},
	});
	const said = (dim: Metrics, bright: Metrics) => {
		const against = againstReference(dim, bright);
		return against.kind === 'measured' ? slowedRows(against)[0]?.[1] : undefined;
	};
	expect(said(clip(12.5, 'dim'), clip(25, 'bright'))).toBe('yes: 25.0 pictures a second bright, 12.5 dim');
	expect(said(clip(25, 'bright'), clip(12.5, 'dim'))).toMatch(/^yes: 25.0/);
	expect(said(clip(12.5, 'dim'), clip(25, 'dim'))).toBeUndefined();
	expect(said(clip(24.8, 'dim'), clip(25, 'bright'))).toMatch(/^no/);
	expect(said(clip(12.5, undefined), clip(25, 'bright'))).toBeUndefined();
});

import { expect, test } from 'vitest';
import type { Fidelity, LensClearing, Sharpness } from '../../src/metrics/pictureMetric.ts';
import { fidelityRows } from '../../src/report/fidelityRows.ts';
import { fidelityPart, referencePart } from '../../src/report/htmlFidelity.ts';
import { madeResult } from './madeResult.ts';

const NO_EDGES = { kind: 'notMeasured', reason: 'noEdgeReading', explanation: '' } as const;
const NOTHING: Fidelity = {
	...{ fit: null, reds: null, burntOut: [], drowned: [], runTogether: [], lines: [], noise: [] },
	...{ smallestSeen: null, smallestSeenByColour: null, pictureCount: 3 },
	...{ blockinessRatio: null, chromaBleedRatio: null, rimLightRatio: null },
};

/** What is answered to the question that begins so; undefined where it is not asked. */
function said(asked: string, over: Partial<Fidelity>): string | undefined {
	const rows = fidelityRows({ sharpness: NO_EDGES, fidelity: { kind: 'measured', ...NOTHING, ...over } });
	return rows.find(([question]) => question.startsWith(asked))?.[1];
}

const reds = (hueDeg: number, chromaRatio: number) => ({
	reds: { hueDeg, worstHueDeg: hueDeg, chromaRatio, patchCount: 6 },
});

test('what was not measured is not asked', () => {
	expect(fidelityRows({ sharpness: NO_EDGES, fidelity: { kind: 'measured', ...NOTHING } })).toEqual([]);
});

test('reds that turned and paled are told by where they went', () => {
	const went = (hueDeg: number, chroma: number) => said('Where did the reds go', reds(hueDeg, chroma));
	expect(went(0.5, 1)).toBe('their hue is kept');
	expect(went(6, 0.8)).toBe('turned towards yellow, paler than they should be');
	expect(went(-6, 1.2)).toBe('turned towards violet, redder than they should be');
});

test('what a white balance would cure is told in what can be seen, and that it would cure nothing', () => {
	const fitted = (before: number, after: number) => ({
		...{ exposureRatio: 1, redOverGreen: 1, blueOverGreen: 1, medianAfterExposureDeltaE00: before },
		...{ p95BeforeDeltaE00: before, p95AfterBothDeltaE00: after },
		...{ medianBeforeDeltaE00: before, medianAfterBothDeltaE00: after },
	});
	const cure = (before: number, after: number) =>
		said('What would a white balance', { fit: fitted(before, after) });
	expect(cure(6, 0.4)).toMatch(/^colours would be off by 0.40 in place of 6.00/);
	expect(cure(0.6, 0.2)).toMatch(/^hardly anything: colours are off by 0.60/);
});

test('blocks and colour that runs over edges are told from where they begin to show', () => {
	expect(said('Are there blocks', { blockinessRatio: 1.1 })).toBe('none to speak of');
	expect(said('Are there blocks', { blockinessRatio: 1.5 })).toMatch(/^yes/);
	expect(said('Does colour run', { chromaBleedRatio: 0.02 })).toBe('no');
	expect(said('Does colour run', { chromaBleedRatio: 0.3 })).toBe('yes');
});

test('what is cut off at either end is named', () => {
	const ends = (over: Partial<Fidelity>) => said('Is anything cut off', over);
	expect(ends({ burntOut: ['white'], drowned: ['navy'] })).toBe('burnt out: white; drowned: navy');
	expect(ends({ runTogether: ['grey 30'] })).toBe('no longer told from the next lighter grey: grey 30');
});

const grey = (over: Partial<Fidelity['noise'][number]>) => ({
	...{ patch: 'grey', meanRatio: 0.2, temporalRatio: 0.01, fixedPatternRatio: 0.01 },
	...{ signalToNoiseRatio: 20, frozen: false },
	...over,
});

test('a picture is called frozen when no grey moves, and grain is told by how little of it there is', () => {
	const asked = 'How much does it grain';
	expect(said(asked, { noise: [grey({ frozen: true }), grey({ frozen: true })] })).toMatch(/frozen$/);
	expect(said(asked, { noise: [grey({ frozen: true }), grey({})] })).toBe(
		'a middle grey is 20 times its grain',
	);
	expect(said(asked, { noise: [grey({ signalToNoiseRatio: null })] })).toMatch(/^no grain/);
});

test('farther away, what is left of detail and how much stronger the grain is are both of the nearest', () => {
	const at = (distanceMm: number, detailRatio: number, signalRatio: number) => ({
		...{ distanceMm, mtf50CyPerMm: 2, signalToNoiseRatio: 30, detailRatio, signalRatio },
	});
	expect(said('At 80 mm', { distances: [at(40, 1, 1), at(80, 0.5, 0.25)] })).toMatch(
		/^50\.0\s% of the nearest’s fine detail, grain 4\.00 times as strong/,
	);
});

test('bands are told by which way they lie, and a light that wavers by itself is not called bands', () => {
	const asked = 'Do bands';
	const flicker = (bandingRowsRatio: number, bandingColumnsRatio: number, waveringRatio: number) =>
		said(asked, { noise: [grey({ bandingRowsRatio, bandingColumnsRatio, waveringRatio })] });
	expect(flicker(0.02, 0.001, 0)).toMatch(/^yes, bands across/);
	expect(flicker(0.001, 0.02, 0)).toMatch(/^yes, bands from top to bottom/);
	expect(flicker(0.0001, 0.0001, 0.02)).toMatch(/whole picture gets lighter and darker/);
	expect(flicker(0.0001, 0.0001, 0.0001)).toBe('no');
	expect(said(asked, { noise: [grey({})] })).toBeUndefined();
});

test('an edge with a rim was sharpened afterwards, and one without was not', () => {
	const sharpness = (overshootRatio: number, ofReferenceRatio: number | null): Sharpness => ({
		...{ mtf50CyPx: 0.25, mtf10CyPx: null, overshootRatio, referenceMtf50CyPx: null, ofReferenceRatio },
		...{ ofReferenceLowerRatio: null, ofReferenceUpperRatio: null, edges: [], pictureCount: 1 },
	});
	const rows = (overshoot: number, ratio: number | null) =>
		fidelityRows({ sharpness: { kind: 'measured', ...sharpness(overshoot, ratio) } });
	expect(rows(0, null)).toHaveLength(1);
	// Half of the contrast at a quarter cycle a pixel: lines of 2 px (computed).
	expect(rows(0, null)[0]![1]).toBe('half of the contrast is left for details of 2.0 px');
	const view = { pxPerMm: 10, widthMm: null, bendRatio: 0 };
	const printed = fidelityRows({
		sharpness: { kind: 'measured', ...sharpness(0, null) },
		fidelity: { kind: 'measured', ...NOTHING, view },
	});
	expect(printed[0]![1]).toBe('half of the contrast is left for details of 0.20 mm');
	expect(rows(0.12, 0.5)[0]![1]).toMatch(/^50\.0\s% of the reference’s fine detail is left/);
	expect(rows(0.12, 0.5)[1]![1]).toMatch(/^yes/);
});

test('detail across and down are told apart, from the least edge to the greatest', () => {
	const edge = (axis: 'across' | 'down', mtf50CyPx: number): Sharpness['edges'][number] => ({
		...{ place: 'a place', axis, mtf50CyPx, mtf10CyPx: null, overshootRatio: 0, ofReferenceRatio: null },
	});
	const said = (edges: Sharpness['edges']) => {
		const sharpness: Sharpness = {
			...{ mtf50CyPx: 0.25, mtf10CyPx: null, overshootRatio: 0, referenceMtf50CyPx: null, edges },
			...{
				ofReferenceRatio: null,
				ofReferenceLowerRatio: null,
				ofReferenceUpperRatio: null,
				pictureCount: 1,
			},
		};
		return fidelityRows({ sharpness: { kind: 'measured', ...sharpness } })[1]?.[1];
	};
	expect(said([edge('down', 0.2), edge('across', 0.31), edge('across', 0.3)])).toBe(
		'0.300 to 0.310 across, 0.200 down',
	);
	expect(said([edge('down', 0.2)])).toBeUndefined();
});

test('a lens that never cleared is not given a time', () => {
	const flush = (toNineTenthsMs: number | null) => ({
		...{ flushMs: 9000, flushFound: 'marked' as const, toNineTenthsMs, remainsRatio: 0.3, lowRatio: 0.2 },
	});
	const clearing: LensClearing = { flushes: [flush(null)], notToldCount: 0, repeats: null };
	const rows = fidelityRows({ sharpness: NO_EDGES, lensClearing: { kind: 'measured', ...clearing } });
	expect(rows[0]![1]).toBe('it never came back to nine tenths of clean');
	expect(rows[1]![1]).toMatch(/^never clear; 30\.0\s% of the clean contrast still missing/);
});

test('on the page a line that was seen is drawn whole, one that was not broken, each as wide as it is', () => {
	const line = (width: number, seenRatio: number): Fidelity['lines'][number] => ({
		...{ width, unit: 'mm', axis: 'across', lumaRatio: 0.4, chromaRatio: null },
		...{ seenRatio, seenByColourRatio: 0 },
	});
	const made = madeResult('steering');
	const fidelity = { kind: 'measured' as const, ...NOTHING, lines: [line(0.8, 1), line(0.2, 0.4)] };
	const { markup } = fidelityPart({ ...made, metrics: { ...made.metrics, fidelity } });
	const strokes = [...markup.matchAll(/stroke-width="([\d.]+)" stroke-dasharray="([^"]+)"/g)];
	expect(strokes.map(([, width, dashes]) => [width, dashes])).toEqual([
		['12.0', 'none'],
		['3.0', '3 9'],
	]);
});

test('beside a reference the page shows the measures, and single lines and greys where they are asked for', () => {
	const made = madeResult('steering');
	const row = (name: string) => ({ name, unit: '', value: 1, reference: 2, ratio: 0.5 });
	const against = (...names: readonly string[]) =>
		referencePart({
			...made,
			metrics: {
				...made.metrics,
				againstReference: {
					...{ kind: 'measured', runId: 'tower', subject: 'the tower', startedAt: '2026-01-01T00:00:00Z' },
					...{ place: null, light: null, referenceLight: null, rows: names.map(row) },
				},
			},
		}).markup;
	const [open = '', folded = ''] = against('light', 'grey 24: signal to noise').split('<details>');
	expect(open).toContain('light</th>');
	expect(open).not.toContain('grey 24');
	expect(folded).toContain('grey 24: signal to noise</th>');
	expect(against('light')).not.toContain('<details>');
});

import { expect, test } from 'vitest';
import { distanceFigures, fieldOfView } from '../../src/metrics/distances.ts';
import type { DetailSample } from '../../src/observations/run.ts';

// Geometry, computed in standards.md 6: r 15 mm at 10 mm and r 30 mm at 25 mm are 90 degrees; the window alone would say 112.62 or 100.39.
test('two distances give the field of view, wherever the pupil lies', () => {
	const near = { distanceMm: 10, halfWidthMm: 15 };
	const far = { distanceMm: 25, halfWidthMm: 30 };
	expect(fieldOfView([near, far])).toBeCloseTo(90, 10);
	expect(fieldOfView([near])).toBeNull();
	expect(fieldOfView([near, { ...far, halfWidthMm: 15 }])).toBeNull();
	expect(fieldOfView([])).toBeNull();
});

const seenAt = (distanceMm: number, mtf50CyPx: number, signalToNoiseRatio: number): DetailSample => ({
	...{ segment: 0, frameNumber: 0, atMs: 0, lines: [], blockinessRatio: null, chromaBleedRatio: null },
	rimLightRatio: null,
	edges: [
		{ place: 'a', axis: 'across', mtf50CyPx, mtf10CyPx: null, overshootRatio: 0, referenceMtf50CyPx: null },
	],
	noise: [
		{
			...{ patch: 'grey', meanRatio: 0.2, temporalRatio: null, fixedPatternRatio: 0.01, frozen: false },
			signalToNoiseRatio,
		},
	],
	seenFrom: { distanceMm, pxPerMm: 400 / distanceMm, halfWidthMm: distanceMm },
});

test('detail and signal farther away are shares of the nearest, detail by millimetres of the card', () => {
	const { distances } = distanceFigures([seenAt(80, 0.2, 10), seenAt(40, 0.2, 40), seenAt(80, 0.2, 10)]);
	expect(distances).toMatchObject([
		{ distanceMm: 40, mtf50CyPerMm: 2, detailRatio: 1, signalRatio: 1 },
		// As sharp by pixels, of which half as many fall on a millimetre.
		{ distanceMm: 80, mtf50CyPerMm: 1, detailRatio: 0.5, signalRatio: 0.25 },
	]);
});

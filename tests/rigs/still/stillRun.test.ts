import { expect, test } from 'vitest';
import { OutsideFailure } from '../../../src/failure.ts';
import { createRaster, type Raster } from '../../../src/imaging/raster.ts';
import { encodeJpeg, jpegFacts } from '../../../src/media/node/jpeg.ts';
import { encodePng } from '../../../src/media/node/png.ts';
import { measureRun } from '../../../src/metrics/measureRun.ts';
import { placeRun } from '../../../src/observations/placeRun.ts';
import type { ObservationRecord } from '../../../src/observations/records.ts';
import { detailPatches } from '../../../src/pattern/detailCard.ts';
import { flickerRows } from '../../../src/report/viewRows.ts';
import { stillOf } from '../../../src/rigs/still/stillPicture.ts';
import { runStill, type StillOptions } from '../../../src/rigs/still/stillRun.ts';
import { standardCriteria, thresholdsOf } from '../../../src/verdict/criteria.ts';
import { judgeRun } from '../../../src/verdict/judgeRun.ts';
import { cardPicture } from '../../reading/madeCardPicture.ts';

const VIEW = { widthPx: 760, heightPx: 580, pxPerMm: 8.5, turnDeg: 4 };

function judged(stills: readonly Raster[], options: Partial<StillOptions> = {}) {
	const records: ObservationRecord[] = [];
	const notes = runStill(
		{
			runId: 'made',
			toolVersion: '0',
			startedAt: '2026-01-01T00:00:00Z',
			place: null,
			stills: stills.map((raster, i) => ({ name: `still ${i + 1}`, raster })),
			against: 'nothing',
			distancesMm: null,
			lights: null,
			chart: null,
			...options,
		},
		(record) => records.push(record),
	);
	const metrics = measureRun(placeRun(records), thresholdsOf(standardCriteria));
	return { metrics, notes, ...judgeRun(metrics, standardCriteria) };
}

const clean = cardPicture(VIEW);

test('a still that never passed a lens is good as a record when it is as drawn', () => {
	const { metrics, verdict } = judged([clean], { against: 'drawn' });
	expect(metrics.colour).toMatchObject({ kind: 'measured', faultsLookedFor: true, namedFault: null });
	expect(verdict).toMatchObject({ record: 'yes', steer: 'notAsked' });
});

test('swapped colours are named, and make it no record', () => {
	const swapped = { ...clean, rgba: clean.rgba.slice() };
	for (let at = 0; at < swapped.rgba.length; at += 4)
		[swapped.rgba[at], swapped.rgba[at + 2]] = [swapped.rgba[at + 2]!, swapped.rgba[at]!];
	const { metrics, verdict } = judged([swapped], { against: 'drawn' });
	expect(metrics.colour).toMatchObject({ namedFault: 'red and blue swapped' });
	expect(verdict.record).toBe('no');
});

test('with nothing to compare with nothing is judged, yet the picture is measured', () => {
	const { metrics, verdict } = judged([cardPicture({ ...VIEW, gain: [0.8, 0.7, 0.5] })]);
	expect(metrics.colour).toMatchObject({ kind: 'notMeasured', reason: 'noReference' });
	expect(verdict.record).toBe('undetermined');
	if (metrics.fidelity?.kind !== 'measured') throw new Error('not measured');
	expect(metrics.fidelity.fit!.medianBeforeDeltaE00).toBeGreaterThan(5);
	expect(metrics.fidelity.fit!.medianAfterBothDeltaE00).toBeLessThan(0.7);
	expect(metrics.fidelity.fit!.redOverGreen).toBeCloseTo(0.8 / 0.7, 2);
	// The kit's own pixels: what a codec smears is told, and here nothing is.
	expect(metrics.fidelity.chromaBleedRatio).toBeLessThan(0.02);
});

test('against a reference still a softer one keeps less detail, and says so by its line', () => {
	const reference = { name: 'reference', raster: cardPicture({ ...VIEW, points: 3 }) };
	const same = judged([clean], { against: { reference } });
	const soft = judged([cardPicture({ ...VIEW, pxPerMm: 5 })], { against: { reference } });
	expect(same.metrics.sharpness).toMatchObject({ kind: 'measured' });
	if (same.metrics.sharpness.kind === 'measured')
		expect(same.metrics.sharpness.ofReferenceRatio).toBeGreaterThan(0.9);
	expect(soft.lines.find(({ id }) => id === 'detail')).toMatchObject({
		state: 'notMet',
		required: ['record'],
	});
	expect(soft.verdict.record).toBe('no');
});

test('the same still twice has no noise from picture to picture, and is called frozen', () => {
	const noisy = cardPicture({ ...VIEW, noiseCodes: 3 });
	const { metrics } = judged([noisy, noisy]);
	if (metrics.fidelity?.kind !== 'measured') throw new Error('not measured');
	expect(metrics.fidelity.noise.some(({ temporalRatio, frozen }) => temporalRatio === 0 && frozen)).toBe(
		true,
	);
});

/** Every second row of the picture's own lighter in every second picture, as a lamp against a rolling shutter makes bands. */
function banded(raster: Raster, i: number): Raster {
	const rgba = raster.rgba.slice();
	for (let row = 0; row < raster.heightPx; row++) {
		const gain = 1 + 0.04 * Math.sin(row / 5 + 2.1 * i);
		for (let at = 4 * row * raster.widthPx; at < 4 * (row + 1) * raster.widthPx; at++)
			if (at % 4 !== 3) rgba[at] = raster.rgba[at]! * gain;
	}
	return { ...raster, rgba };
}

test.each([4, 97])(
	'bands of a lamp lie along the picture’s rows, the card turned by %d degrees',
	(turnDeg) => {
		const view = { widthPx: 760, heightPx: 760, pxPerMm: 8.5, turnDeg };
		const noisy = [1, 2, 3, 4, 5].map((seed) => cardPicture({ ...view, noiseCodes: 1, seed }));
		const steady = judged(noisy).metrics.fidelity;
		const bands = judged(noisy.map(banded)).metrics.fidelity;
		if (steady?.kind !== 'measured' || bands?.kind !== 'measured') throw new Error('not measured');
		const middle = bands.noise[bands.noise.length >> 1]!;
		// 4 % of the code is about 9 % of the light at this grey, a sine's deviation is that over root 2.
		expect(middle.bandingRowsRatio! / middle.meanRatio).toBeGreaterThan(0.04);
		expect(middle.bandingColumnsRatio!).toBeLessThan(middle.bandingRowsRatio! / 3);
		expect(flickerRows(bands)[0]![1]).toMatch(/^yes, bands across/);
		expect(flickerRows(steady)[0]![1]).toBe('no');
	},
);

test('how much is in view, how the lens bends it and how sharp it is farther out are in the result', () => {
	const { metrics } = judged([cardPicture({ ...VIEW, bend: -0.12 })]);
	if (metrics.fidelity?.kind !== 'measured') throw new Error('not measured');
	const { view, centreAndEdge } = metrics.fidelity;
	expect(Math.abs(view!.bendRatio + 0.12)).toBeLessThan(0.02);
	expect(Math.abs(view!.pxPerMm / 8.5 - 1)).toBeLessThan(0.02);
	expect(centreAndEdge!.farRatio - centreAndEdge!.nearRatio).toBeGreaterThan(0.1);
	const straight = judged([cardPicture(VIEW)]).metrics.fidelity;
	if (straight?.kind !== 'measured') throw new Error('not measured');
	expect(Math.abs(straight.view!.widthMm! / (760 / 8.5) - 1)).toBeLessThan(0.01);
	expect(Math.abs(straight.centreAndEdge!.keptRatio - 1)).toBeLessThan(0.05);
	// The card fills nine tenths of this picture's width.
	expect(straight.centreAndEdge!.nearRatio).toBeLessThan(0.3);
	expect(straight.centreAndEdge!.farRatio).toBeGreaterThan(0.55);
	const soft = judged([softenedOutwards(cardPicture(VIEW))]).metrics.fidelity;
	if (soft?.kind !== 'measured') throw new Error('not measured');
	expect(soft.centreAndEdge!.keptRatio).toBeLessThan(0.8);
});

/** As a cheap lens does: the mean of five by five pixels mixed in, the more the farther out. */
function softenedOutwards(raster: Raster): Raster {
	const { widthPx, heightPx, rgba } = raster;
	const soft = createRaster(widthPx, heightPx);
	const corner = Math.hypot(widthPx, heightPx) / 2;
	const clamped = (place: number, count: number): number => Math.min(count - 1, Math.max(0, place));
	for (let y = 0; y < heightPx; y++)
		for (let x = 0; x < widthPx; x++) {
			const share = Math.hypot(x - widthPx / 2, y - heightPx / 2) / corner;
			for (let c = 0; c < 3; c++) {
				let sum = 0;
				for (let i = 0; i < 25; i++) {
					const row = clamped(y + Math.floor(i / 5) - 2, heightPx);
					sum += rgba[4 * (row * widthPx + clamped(x + (i % 5) - 2, widthPx)) + c]!;
				}
				const at = 4 * (y * widthPx + x) + c;
				soft.rgba[at] = (1 - share) * rgba[at]! + (share * sum) / 25;
			}
		}
	return soft;
}

test('of stills taken bright and dim, the noise of each is told apart and set side by side', () => {
	const SMALL = { ...VIEW, widthPx: 560, heightPx: 430, pxPerMm: 6.4 };
	const bright = [1, 2].map((seed) => cardPicture({ ...SMALL, noiseCodes: 1, seed }));
	const dim = [3, 4].map((seed) => cardPicture({ ...SMALL, noiseCodes: 4, seed, gain: [0.5, 0.5, 0.5] }));
	const { metrics } = judged([...bright, ...dim], { lights: ['bright', 'bright', 'dim', 'dim'] });
	if (metrics.fidelity?.kind !== 'measured') throw new Error('not measured');
	const [first, second] = metrics.fidelity.byLight!;
	expect([first!.light, first!.pictureCount, second!.light]).toEqual(['bright', 2, 'dim']);
	expect(second!.greyRatio! / first!.greyRatio!).toBeCloseTo(0.5, 1);
	expect(second!.signalToNoiseRatio!).toBeLessThan(first!.signalToNoiseRatio! / 2);
	expect(second!.temporalRatio).not.toBeNull();
	// Colours are the bright ones': a mean over two lights would be the colour of neither.
	expect(metrics.fidelity.fit!.exposureRatio).toBeCloseTo(1, 2);
});

test('at a quarter more distance the card gives a fifth less detail, and the field of view comes from both', () => {
	// A pinhole: 8.5 px/mm at 40 mm is a picture 760 px wide, 89.4 mm at 40 mm: 2 atan(44.7 / 40) = 96.4 degrees (geometry).
	const near = cardPicture({ ...VIEW, points: 6 });
	const far = cardPicture({ ...VIEW, pxPerMm: 8.5 / 1.25, points: 6 });
	const { metrics } = judged([far, near], { distancesMm: [50, 40] });
	if (metrics.fidelity?.kind !== 'measured') throw new Error('not measured');
	const { distances, fieldOfViewDeg } = metrics.fidelity;
	expect(distances!.map(({ distanceMm }) => distanceMm)).toEqual([40, 50]);
	expect(Math.abs(distances![1]!.detailRatio! * 1.25 - 1)).toBeLessThan(0.1);
	expect(Math.abs(fieldOfViewDeg! - 96.4)).toBeLessThan(1);
});

test('a mirror image and how far it is turned are told', () => {
	const mirrored = cardPicture({ ...VIEW, mirrored: true });
	const { notes } = judged([mirrored, mirrored, clean]);
	expect(notes[0]).toMatch(/^still 1 and the 1 after it: .*MIRROR IMAGE/);
	expect(notes.slice(1)).toEqual([
		expect.stringMatching(/^still 3: card found, turned by 4 degrees, 8.5 px/),
	]);
});

test('a chart of one’s own is read between its corners', () => {
	const patches = detailPatches.map(({ name, rgb }, i) => ({
		name,
		rgb,
		row: Math.floor(i / 8),
		column: i % 8,
	}));
	const view = { ...VIEW, turnDeg: 0 };
	const at = (x: number, y: number) => [759 / 2 + (x - 40) * 8.5, 579 / 2 + (y - 30) * 8.5] as const;
	const { metrics, notes } = judged([cardPicture({ ...view, noiseCodes: 2 })], {
		against: 'drawn',
		chart: {
			chart: { patches, rowCount: 4, columnCount: 8 },
			corners: [at(9, 9), at(36, 9), at(36, 27), at(9, 27)],
		},
	});
	expect(metrics.colour).toMatchObject({ kind: 'measured' });
	if (metrics.colour.kind === 'measured') expect(metrics.colour.maxDeltaE00).toBeLessThan(0.3);
	// Its greys tell noise; edges and lines are nobody's guess, and that is said.
	if (metrics.fidelity?.kind !== 'measured') throw new Error('not measured');
	expect(metrics.fidelity.noise).toHaveLength(8);
	expect(metrics.sharpness.kind).toBe('notMeasured');
	expect(notes[0]).toMatch(/gives colour, greys and noise. Fine detail, lines/);
});

function codeOf(bytes: Uint8Array): string {
	try {
		stillOf(bytes, 'a still');
		return 'read';
	} catch (failure) {
		return failure instanceof OutsideFailure ? failure.code : 'not outside';
	}
}

const small = { widthPx: 16, heightPx: 8, rgba: new Uint8ClampedArray(512).fill(200) };

test('PNG and JPEG are read; other files, deep, printing and torn ones are refused with what to do', () => {
	const png = Uint8Array.from(encodePng(small));
	const deep = png.slice();
	deep[24] = 16;
	const jpeg = Uint8Array.from(encodeJpeg(small, 90));
	const cmyk = jpeg.slice();
	const frame = jpeg.findIndex((byte, i) => byte === 0xff && jpeg[i + 1] === 0xc0);
	cmyk[frame + 9] = 4;
	const twelve = jpeg.slice();
	twelve[frame + 4] = 12;
	const heic = new TextEncoder().encode('\0\0\0\u0018ftypheic');
	expect(codeOf(png)).toBe('read');
	expect(codeOf(jpeg)).toBe('read');
	expect([deep, twelve, cmyk, heic, new TextEncoder().encode('GIF89a..............')].map(codeOf)).toEqual([
		'stillDeep',
		'stillDeep',
		'stillCmyk',
		'stillForeign',
		'stillForeign',
	]);
	expect(codeOf(jpeg.slice(0, jpeg.length >> 1))).toBe('jpegUnreadable');
});

test('a JPEG that asks to be turned says so', () => {
	const jpeg = encodeJpeg(small, 90);
	const exif = [
		0x45, 0x78, 0x69, 0x66, 0, 0, 0x4d, 0x4d, 0, 0x2a, 0, 0, 0, 8, 0, 1, 0x01, 0x12, 0, 3, 0, 0, 0, 1, 0, 6,
		0, 0, 0, 0, 0, 0,
	];
	const turned = Uint8Array.from([0xff, 0xd8, 0xff, 0xe1, 0, exif.length + 2, ...exif, ...jpeg.slice(2)]);
	expect(jpegFacts(turned)).toEqual({ bitsPerSample: 8, componentCount: 3, orientation: 6 });
	expect(stillOf(turned, 'a still').notes[0]).toMatch(/orientation 6/);
});

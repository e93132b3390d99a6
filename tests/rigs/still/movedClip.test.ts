import { expect, test } from 'vitest';
import type { ClipInfo, ClipSource } from '../../../src/imaging/clipFrame.ts';
import { lumaOf } from '../../../src/imaging/planes.ts';
import type { Raster } from '../../../src/imaging/raster.ts';
import { rasterToPlanes } from '../../../src/imaging/rasterToPlanes.ts';
import { measureRun } from '../../../src/metrics/measureRun.ts';
import { placeRun } from '../../../src/observations/placeRun.ts';
import type { ObservationRecord } from '../../../src/observations/records.ts';
import type { MovedLook } from '../../../src/reading/movedCard.ts';
import { fidelityRows } from '../../../src/report/fidelityRows.ts';
import { readMovedClip } from '../../../src/rigs/still/movedClip.ts';
import { runStill } from '../../../src/rigs/still/stillRun.ts';
import { standardCriteria, thresholdsOf } from '../../../src/verdict/criteria.ts';
import { cardPicture } from '../../reading/madeCardPicture.ts';

const raster = cardPicture({ widthPx: 560, heightPx: 430, pxPerMm: 6.4, noiseCodes: 1 });
const ENCODING = { matrix: '709', range: 'limited' } as const;

function standing(
	over: Partial<ClipInfo> = {},
	pictures: readonly Raster[] = Array(4).fill(raster),
): ClipSource {
	return {
		info: {
			...{ codec: 'made', widthPx: 560, heightPx: 430, bitDepth: 8, encoding: ENCODING, transfer: 'usual' },
			...{ timeBase: { num: 1, den: 25 }, turnedDeg: 0, mirrored: false, container: 'made' },
			...{ declaredCount: 4, declaredMs: 160 },
			...over,
		},
		async *frames() {
			for (const [ticks, picture] of pictures.entries()) {
				const planes = rasterToPlanes(picture, ENCODING);
				yield { ticks: 100 + ticks, luma: lumaOf(planes), planes: () => planes, damaged: false };
			}
		},
		notes: () => [],
		readBy: 'made',
		close: () => {},
	};
}

test('a clip in which the card only stands is refused with what to do, and an HDR one by its name', async () => {
	await expect(readMovedClip(standing(), 'a/made.mp4')).rejects.toMatchObject({
		code: 'stillNotMoved',
		message: expect.stringMatching(/^In made.mp4/),
		advice: expect.stringMatching(/still for a second, then move/),
	});
	await expect(readMovedClip(standing({ transfer: 'pq' }), 'made.mp4')).rejects.toMatchObject({
		code: 'stillHdr',
	});
});

test('a clip of the card held still and then moved gives looks at both, from its first picture on', async () => {
	const shown = [0, 0, 0, 0, 6, 12, 18].map((byPx) => {
		const { widthPx, heightPx, rgba } = raster;
		const moved: Raster = { widthPx, heightPx, rgba: rgba.slice() };
		moved.rgba.copyWithin(4 * byPx, 0);
		return moved;
	});
	const looks = await readMovedClip(standing({}, shown), 'made.mp4');
	const speeds = looks.map(({ atMs, edges }) => [atMs, Math.max(...edges.map(({ speedPx }) => speedPx))]);
	expect(speeds).toEqual([
		[40, 0],
		[80, 0],
		[160, expect.closeTo(6, 0)],
		[200, expect.closeTo(6, 0)],
	]);
});

test('beside the still, a card moved by hand tells detail and shutter at its speeds, and of a pulse why nothing', () => {
	const edges = (speedPx: number, mtf50CyPx: number, riseWidthPx: number) =>
		Array.from({ length: 6 }, () => ({ speedPx, mtf50CyPx, riseWidthPx }));
	const moved: MovedLook[] = [
		{ frameNumber: 1, atMs: 40, edges: edges(0, 0.3, 2) },
		// Of a rise of 2 px and a spread of 4 at 8 px a picture: half of the time between pictures (computed).
		{ frameNumber: 11, atMs: 440, edges: edges(8, 0.15, Math.hypot(2, 0.8 * 4)) },
	];
	const records: ObservationRecord[] = [];
	runStill(
		{
			...{ runId: 'made', toolVersion: '0', startedAt: '2026-01-01T00:00:00Z', place: null, moved },
			...{ stills: [{ name: 'a still', raster }], against: 'nothing' },
			...{ distancesMm: null, lights: null, chart: null },
		},
		(record) => records.push(record),
	);
	const run = placeRun(records);
	const { fidelity, sharpness } = measureRun(run, thresholdsOf(standardCriteria));
	if (fidelity?.kind !== 'measured' || fidelity.motion === undefined) throw new Error('nothing that moves');
	expect(fidelity.motion.picturesHz).toBeCloseTo(25, 6);
	expect(fidelity.motion.speeds).toMatchObject([{ speedPx: 8, detailKeptRatio: expect.closeTo(0.5, 6) }]);
	expect(fidelity.motion.speeds[0]!.shutterMs).toBeCloseTo(20, 6);
	expect(fidelity.motion.pulse).toMatchObject({ reason: 'movedByHand' });
	expect(fidelity.pictureCount).toBe(1);
	// The still's own edges are told as they are, those that move not among them.
	expect(sharpness).toMatchObject({ kind: 'measured', pictureCount: 1 });
	const asked = fidelityRows({ sharpness, fidelity }).map(([question]) => question);
	expect(asked).toContain('Detail kept at 8 px a picture?');
	expect(asked).not.toContain('Do earlier pictures shine through?');
});

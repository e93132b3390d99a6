import { expect, test } from 'vitest';
import type { ClipFrame, ClipInfo, ClipSource } from '../../../src/imaging/clipFrame.ts';
import { lumaOf } from '../../../src/imaging/planes.ts';
import { createRaster } from '../../../src/imaging/raster.ts';
import { rasterToPlanes } from '../../../src/imaging/rasterToPlanes.ts';
import { measureRun } from '../../../src/metrics/measureRun.ts';
import { placeRun } from '../../../src/observations/placeRun.ts';
import { fidelityRows } from '../../../src/report/fidelityRows.ts';
import { readLensClip } from '../../../src/rigs/still/lensClip.ts';
import { standardCriteria, thresholdsOf } from '../../../src/verdict/criteria.ts';
import { cardPicture } from '../../reading/madeCardPicture.ts';

const VIEW = { widthPx: 640, heightPx: 480, pxPerMm: 7, turnDeg: 3 };
const ENCODING = { matrix: '709', range: 'limited' } as const;
const clear = cardPicture(VIEW);
const RATE_HZ = 10;

/** Codes of a view without any detail: a lens full of gel. */
const GEL = 150;

/** So much of the clear view's contrast, in codes as the contrast of lines is told; 41 steps are made once each. */
const mixed = new Map<number, ClipFrame>();
function seenThrough(share: number): ClipFrame {
	const step = Math.round(share * 40);
	const kept = mixed.get(step);
	if (kept !== undefined) return kept;
	const raster = createRaster(VIEW.widthPx, VIEW.heightPx);
	const codes = Uint8Array.from({ length: 256 }, (_, code) => Math.round(GEL + (step / 40) * (code - GEL)));
	for (let at = 0; at < raster.rgba.length; at++)
		raster.rgba[at] = at % 4 === 3 ? 255 : codes[clear.rgba[at]!]!;
	const planes = rasterToPlanes(raster, ENCODING);
	const frame = { ticks: 0, luma: lumaOf(planes), planes: () => planes, damaged: false };
	mixed.set(step, frame);
	return frame;
}

function clipOf(shares: readonly number[], transfer: ClipInfo['transfer'] = 'usual'): ClipSource {
	return {
		info: {
			codec: 'made',
			widthPx: VIEW.widthPx,
			heightPx: VIEW.heightPx,
			bitDepth: 8,
			encoding: ENCODING,
			transfer,
			timeBase: { num: 1, den: RATE_HZ },
			turnedDeg: 0,
			mirrored: false,
			declaredCount: shares.length,
			declaredMs: null,
			container: 'made',
		},
		async *frames() {
			for (const [ticks, share] of shares.entries()) yield { ...seenThrough(share), ticks };
		},
		notes: () => [],
		readBy: 'made',
		close: () => {},
	};
}

const OPTIONS = {
	...{ runId: 'made', toolVersion: '0', startedAt: '2026-01-01T00:00:00Z', path: 'made.mp4', place: null },
	...{ gel: null, progress: () => {} },
};

/** Clean for 1 s; twice smeared to a tenth for 1 s, then back in a straight line over 2 s, and 1 s more. */
const cycle = [
	...Array<number>(RATE_HZ).fill(0.1),
	...Array.from({ length: 2 * RATE_HZ }, (_, i) => 0.1 + (0.9 * i) / (2 * RATE_HZ)),
	...Array<number>(RATE_HZ).fill(1),
];
const shares = [...Array<number>(RATE_HZ).fill(1), ...cycle, ...cycle];

async function clearingOf(flushedMs: readonly number[]) {
	const records = await readLensClip(clipOf(shares), { ...OPTIONS, smearedMs: [1000, 5000], flushedMs });
	return measureRun(placeRun(records), thresholdsOf(standardCriteria));
}

test('a lens that clears in a straight line over two seconds is nine tenths clear one picture beside 1.8 s, both times', async () => {
	const metrics = await clearingOf([2000, 6000]);
	if (metrics.lensClearing?.kind !== 'measured') throw new Error('not measured');
	const { flushes, repeats } = metrics.lensClearing;
	expect(flushes.map(({ flushFound }) => flushFound)).toEqual(['marked', 'marked']);
	for (const { toNineTenthsMs, remainsRatio, lowRatio } of flushes) {
		expect(Math.abs(toNineTenthsMs! - 1800)).toBeLessThan(1000 / RATE_HZ);
		expect(remainsRatio).toBeLessThan(0.02);
		expect(Math.abs(lowRatio - 0.1)).toBeLessThan(0.03);
	}
	expect(repeats).toMatchObject({ count: 2, neverCount: 0 });
	// A clip of one standing view: its seconds are no age, its pictures no freeze.
	for (const metric of [metrics.pictureAge, metrics.freezes, metrics.gaps, metrics.freshDelay])
		expect(metric).toMatchObject({ kind: 'notMeasured', reason: 'notThisRig' });
	const [asked, answer] = fidelityRows(metrics)[0]!;
	expect(asked).toBe('How fast does the lens clear after a flush?');
	expect(answer).toMatch(/^1\.[789]\d? s to nine tenths of clean$/);
});

test('a flush that nobody marked is found from the rise', async () => {
	const { lensClearing } = await clearingOf([]);
	if (lensClearing?.kind !== 'measured') throw new Error('not measured');
	expect(lensClearing.flushes.map(({ flushFound }) => flushFound)).toEqual(['found', 'found']);
	for (const [i, { flushMs }] of lensClearing.flushes.entries())
		expect(Math.abs(flushMs - (2000 + 4000 * i))).toBeLessThanOrEqual(300);
});

test('a clip without the card before the smear, and an HDR clip, say what to do', async () => {
	const gelOnly = readLensClip(clipOf([0, 0, 0, 0]), { ...OPTIONS, smearedMs: [300], flushedMs: [] });
	await expect(gelOnly).rejects.toMatchObject({ code: 'lensCardMissing' });
	const hdr = readLensClip(clipOf([1, 1], 'hlg'), { ...OPTIONS, smearedMs: [100], flushedMs: [] });
	await expect(hdr).rejects.toMatchObject({ code: 'lensClipForeign' });
});

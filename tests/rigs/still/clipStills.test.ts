import { expect, test } from 'vitest';
import { OutsideFailure } from '../../../src/failure.ts';
import type { ClipFrame, ClipInfo, ClipSource } from '../../../src/imaging/clipFrame.ts';
import { lumaOf } from '../../../src/imaging/planes.ts';
import { rasterToPlanes } from '../../../src/imaging/rasterToPlanes.ts';
import { besideReference } from '../../../src/metrics/besideReference.ts';
import { measureRun } from '../../../src/metrics/measureRun.ts';
import { placeRun } from '../../../src/observations/placeRun.ts';
import type { Run } from '../../../src/observations/run.ts';
import { type CardSeen, opticalRecords } from '../../../src/rigs/optical/opticalRecords.ts';
import { stillsOfClip } from '../../../src/rigs/still/clipStills.ts';
import { stillLooks } from '../../../src/rigs/still/stillLooks.ts';
import { readStillCard } from '../../../src/rigs/still/stillReading.ts';
import { drawnPatches } from '../../../src/rigs/still/stillRun.ts';
import { standardCriteria, thresholdsOf } from '../../../src/verdict/criteria.ts';
import { cardPicture } from '../../reading/madeCardPicture.ts';
import { filmed } from '../optical/filmedSession.ts';

const VIEW = { widthPx: 560, heightPx: 430, pxPerMm: 6.4, noiseCodes: 1 };
const ENCODING = { matrix: '709', range: 'limited' } as const;
const RATE_HZ = 10;

/** The tablet with the card on it, as a phone on a stand films it. */
function film(gain: readonly [number, number, number], over: Partial<ClipInfo> = {}): ClipSource {
	const frames = [1, 2].map((seed): ClipFrame => {
		const planes = rasterToPlanes(cardPicture({ ...VIEW, gain, seed }), ENCODING);
		return { ticks: 0, luma: lumaOf(planes), planes: () => planes, damaged: false };
	});
	return {
		info: {
			...{ codec: 'made', widthPx: 560, heightPx: 430, bitDepth: 8, encoding: ENCODING, transfer: 'usual' },
			...{ timeBase: { num: 1, den: RATE_HZ }, turnedDeg: 0, mirrored: false, container: 'made' },
			...{ declaredCount: 24, declaredMs: 2400 },
			...over,
		},
		async *frames() {
			for (let ticks = 0; ticks < 24; ticks++)
				yield { ...frames[ticks % 2]!, ticks, damaged: ticks % 2 === 0 && ticks > 12 };
		},
		notes: () => [],
		readBy: 'made',
		close: () => {},
	};
}

test('a clip is a dozen stills at most, spread over its length, none of them damaged; HDR is refused by its name', async () => {
	const stills = await stillsOfClip(film([1, 1, 1]), 'made.mp4');
	expect(stills.length).toBeGreaterThan(5);
	expect(stills.length).toBeLessThanOrEqual(12);
	expect(stills.at(-1)!.name).toBe('made.mp4 at 2.3 s');
	const hdr = stillsOfClip(film([1, 1, 1], { transfer: 'pq' }), 'made.mp4');
	await expect(hdr).rejects.toThrow(OutsideFailure);
	await expect(hdr).rejects.toMatchObject({ code: 'stillHdr', advice: expect.stringMatching(/HDR off/) });
});

async function filmedRun(gain: readonly [number, number, number]): Promise<Run> {
	const stills = (await stillsOfClip(film(gain), 'card.mp4')).slice(0, 3);
	const readings = stills.map((still) => readStillCard(still, null));
	const card: CardSeen = {
		patches: drawnPatches({ chart: null }),
		looks: (at) => stillLooks(readings, { distancesMm: null, lights: null, chart: null, edges: null, ...at }),
	};
	return placeRun(
		opticalRecords({
			...{ runId: 'made', toolVersion: '0', startedAt: '2026-01-01T00:00:00Z', kit: 'a kit' },
			...{ place: null, invented: false, profile: 'verdict', turnedAsMeant: false, light: null },
			...{ clips: [filmed(120, 1)], unread: [], card },
		}),
	);
}

test('the printed card on a filmed tablet says how true the picture is, its colours against a reference only', async () => {
	const thresholds = thresholdsOf(standardCriteria);
	const seen = await filmedRun([0.9, 0.7, 0.5]);
	const alone = measureRun(seen, thresholds);
	expect(alone.colour).toMatchObject({ reason: 'noReference' });
	expect(alone.sharpness).toMatchObject({ kind: 'measured', ofReferenceRatio: null });
	expect(alone.fidelity).toMatchObject({ kind: 'measured', pictureCount: 3 });
	// Of a film of the tablet nobody knows which smear is the kit's.
	expect(alone.fidelity).toMatchObject({ chromaBleedRatio: null });
	// The printed card stands: what movement costs is not told, and that is said.
	expect(alone.fidelity).toMatchObject({ motionUntold: { reason: 'throughALens' } });
	expect(alone.freshDelay.kind).toBe('measured');
	const reference = await filmedRun([0.9, 0.8, 0.6]);
	const beside = measureRun(besideReference(seen, reference), thresholds);
	expect(beside.colour).toMatchObject({ namedFault: expect.stringMatching(/^colour cast/) });
	if (beside.sharpness.kind === 'measured')
		expect(Math.abs(beside.sharpness.ofReferenceRatio! - 1)).toBeLessThan(0.05);
});

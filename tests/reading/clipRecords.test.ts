import { expect, test } from 'vitest';
import { measureRun } from '../../src/metrics/measureRun.ts';
import { placeRun } from '../../src/observations/placeRun.ts';
import { FATES, type Header, type ObservationRecord, recordSchemas } from '../../src/observations/records.ts';
import { formatRecord, parseRecord } from '../../src/observations/recordText.ts';
import { clipRecords, clipSystematics } from '../../src/reading/clipRecords.ts';
import { usualOpticalSpec } from '../../src/simulation/opticalSpec.ts';
import { madeHeader } from '../observations/madeRecords.ts';
import { type Judged, judgeMade, madeSpec } from './madeClip.ts';

const thresholds = {
	ageLimitMs: 240,
	delayLimitMs: 200,
	halfSecondMs: 500,
	slowRateHz: 15,
	allowedRatio: 0.05,
};
const START = { segment: 0, startMs: 0, firstPicture: 0 };

function runOf(clips: readonly Judged[], pictureHz = 30) {
	const header: Header = {
		...madeHeader,
		rig: 'optical',
		subject: { kind: 'kit', name: 'an invented kit', invented: true },
		measuringPoints: { source: 'light', viewer: 'light' },
		source: { ...madeHeader.source, layout: 'scope', rateHz: pictureHz },
		systematics: clips.flatMap(({ measured }) => clipSystematics(measured)).slice(0, 6),
	};
	const records: ObservationRecord[] = [header];
	let place: typeof START = START;
	for (const { measured } of clips) {
		const made = clipRecords(measured, place);
		records.push(...made.records);
		place = made.next;
	}
	records.push({ kind: 'end', atMs: place.startMs, reason: 'completed' });
	return placeRun(records.map((record) => parseRecord(formatRecord(record)) as ObservationRecord));
}

test('two clips make one run whose figures are the clips’ own', () => {
	const clips = [1, 2].map((seed) => judgeMade(madeSpec([60, 30, 240], seed, { durationMs: 12_000 })));
	const metrics = measureRun(runOf(clips), thresholds);
	expect(metrics.facts.segmentCount).toBe(2);
	if (metrics.pictureAge.kind !== 'measured' || metrics.freshDelay.kind !== 'measured')
		throw new Error('unmeasured');
	const truth = (pick: (each: Judged['truth']) => number) =>
		clips.reduce((sum, { truth: t }) => sum + pick(t) / 2, 0);
	expect(Math.abs(metrics.pictureAge.meanMs - truth((t) => t.meanAgeMs))).toBeLessThan(0.5);
	expect(Math.abs(metrics.pictureAge.p95Ms! - truth((t) => t.p95AgeMs))).toBeLessThan(1.5);
	expect(Math.abs(metrics.freshDelay.meanMs - truth((t) => t.freshDelayMs))).toBeLessThan(0.5);
	if (metrics.frames.kind !== 'measured') throw new Error('unmeasured');
	const lost = clips.reduce((sum, { measured }) => sum + (measured.pieces[0]!.lostSlots ?? 0), 0);
	expect(metrics.frames.lost).toBe(lost);
	expect(metrics.facts.systematicStandardMs).toBeGreaterThan(0);
});

test('an ordinary-rate clip tells age and freezes and keeps silent on the delay of each picture', () => {
	const link = { ...usualOpticalSpec.link, freezes: [{ fromMs: 12_000, forMs: 1500 }] };
	const clip = judgeMade(madeSpec([60, 30, 30], 3, { durationMs: 30_000, link }));
	expect(clip.measured.pieces[0]!.shown.curve.kind).toBe('notMeasured');
	expect(clipSystematics(clip.measured).map(({ name }) => name)).toContain('hidden peaks');
	const metrics = measureRun(runOf([clip]), thresholds);
	expect(metrics.freshDelay.kind).toBe('notMeasured');
	expect(metrics.delayVariation.kind).toBe('notMeasured');
	if (metrics.pictureAge.kind !== 'measured' || metrics.freezes.kind !== 'measured')
		throw new Error('unmeasured');
	expect(Math.abs(metrics.pictureAge.meanMs - clip.truth.meanAgeMs)).toBeLessThan(4);
	expect(Math.abs(metrics.pictureAge.shareOverLimitRatio - clip.truth.shareOver240Ratio)).toBeLessThan(0.005);
	expect(metrics.freezes.freezes.count).toBe(1);
	expect(Math.abs(metrics.freezes.longestFreezeMs - 1550)).toBeLessThan(80);
});

test('a record of ages has four numbers a row', () => {
	const record = {
		kind: 'ageSamples',
		segment: 0,
		pictures: 'settled',
		gapTermMs: 16.7,
		rows: [[1, 100, 0.5, 8.3]],
	};
	expect(recordSchemas.ageSamples.safeParse(record).success).toBe(true);
	expect(recordSchemas.ageSamples.safeParse({ ...record, rows: [[1, 100]] }).success).toBe(false);
});

test('pictures whose curve lies off the mean over all frames stand for no delay, and are not moved', () => {
	const { measured } = judgeMade(madeSpec([60, 30, 240], 1, { durationMs: 12_000 }));
	const [piece] = measured.pieces;
	const { curve } = piece!.shown;
	if (curve.kind !== 'curve') throw new Error('no curve');
	const movedBy = (offMs: number) => {
		const off = { ...curve, meanMs: piece!.meanAgeMs - offMs };
		const clip = { ...measured, pieces: [{ ...piece!, shown: { ...piece!.shown, curve: off } }] };
		const { records } = clipRecords(clip, START);
		const ages = records.find((record) => record.kind === 'ageSamples');
		const rows = records.flatMap((record) => (record.kind === 'presentations' ? record.rows : []));
		const seen = rows.filter(([, , , fate]) => fate === FATES.indexOf('presented'));
		return { pictures: ages?.pictures, movedMs: seen[0]![5]! - piece!.shown.pictures[0]!.shownMs };
	};
	expect(movedBy(0.5)).toEqual({ pictures: 'settled', movedMs: expect.closeTo(0.5, 6) });
	for (const offMs of [5, -5]) {
		expect(movedBy(offMs)).toEqual({ pictures: 'coarse', movedMs: 0 });
	}
});

import { expect, test } from 'vitest';
import { measureClip } from '../../src/reading/measureClip.ts';
import { type ShutterSeen, shutterLine } from '../../src/reading/shutter.ts';
import { inventedReading } from '../../src/rigs/optical/inventedFilm.ts';
import { opticalSignal } from '../../src/simulation/opticalSignal.ts';
import { opticalTruth } from '../../src/simulation/opticalTruth.ts';
import { madeMarker, madeSpec } from './madeClip.ts';

const READOUT_MS = 7;
/** From the card's middle to its low copy on the laptop's screen. */
const SCAN_OUT_MS = 3;

/** A film whose phone reads its rows in 7 ms; turned: everything stands upside down in its rows. */
function filmed(seed: number, turned: boolean) {
	const height = (ratio: number): number => (turned ? 1 - ratio : ratio);
	const at = { laptop: height(0.4), tablet: height(0.65), low: height(0.7) };
	const plain = madeSpec([60, 30, 120], seed, { durationMs: 12_000 });
	const phone = {
		...plain.phone,
		...{ readoutMs: READOUT_MS, laptopHeightRatio: at.laptop, tabletHeightRatio: at.tablet },
	};
	const spec = { ...plain, phone };
	const signal = opticalSignal(spec);
	// The low copy shows each tick later by the scan-out: as if its row were read so much sooner.
	const lowRow = at.low - SCAN_OUT_MS / READOUT_MS;
	const low = opticalSignal({ ...spec, phone: { ...phone, laptopHeightRatio: lowRow } }).laptop;
	const reading = inventedReading(spec, signal);
	const [tablet, laptop] = reading.tracks;
	const label = { copy: 'low', rateHz: 60, session: 5 } as const;
	const lowMarker = madeMarker('free', { label, sidePx: 40, heightRatio: at.low });
	const measured = measureClip({
		...reading,
		tracks: [
			{ ...tablet!, marker: { ...tablet!.marker, heightRatio: at.tablet } },
			{ ...laptop!, marker: { ...laptop!.marker, heightRatio: at.laptop } },
			{ marker: lowMarker, vectors: low, read: laptop!.read },
		],
	});
	if (measured.kind !== 'measured') throw new Error(measured.explanation);
	const { from, until } = measured.pieces[0]!.piece;
	const truth = opticalTruth(spec, signal.trueMs[from]!, signal.trueMs[until - 1]!);
	return { measured, errorMs: measured.pieces[0]!.meanAgeMs - truth.meanAgeMs };
}

test('a rolling shutter is within its line, cancels in two shots turned by 180 degrees, and is told by the two copies', () => {
	const shots = [filmed(1, false), filmed(2, true)];
	for (const { measured, errorMs } of shots) {
		const line = measured.budget.find(({ name }) => name === 'rolling shutter')!;
		expect(Math.abs(errorMs)).toBeGreaterThan(1.2);
		expect(Math.abs(errorMs)).toBeLessThan(line.halfWidthMs + 0.5);
	}
	expect(Math.abs(shots[0]!.errorMs + shots[1]!.errorMs) / 2).toBeLessThan(0.4);
	const seen = shots.map(({ measured }) => measured.shutter);
	const together = shutterLine(seen);
	expect(together.halfWidthMs).toBeLessThan(0.01);
	const told = Number(/readout of ([\d.]+) ms told/.exec(together.source)?.[1]);
	expect(Math.abs(told - READOUT_MS)).toBeLessThan(1);
});

test('one shot cannot tell the readout, and shots the same way round cancel nothing', () => {
	const copies = { apartRatio: 0.3, aheadMs: -0.9 };
	const shot: ShutterSeen = { apartRatio: 0.2, mostReadoutMs: 8, copies };
	expect(shutterLine([shot]).halfWidthMs).toBeCloseTo(1.6, 9);
	expect(shutterLine([shot, { ...shot, apartRatio: 0.1 }]).halfWidthMs).toBeCloseTo(1.6, 9);
	// Turned, though not evenly: a mean of 0.05 of the picture remains.
	expect(shutterLine([shot, { ...shot, apartRatio: -0.1 }]).halfWidthMs).toBeCloseTo(0.4, 9);
	// A readout told as 3 ms is taken as 4.75, a quarter and a millisecond more.
	const turned = { ...shot, apartRatio: -0.1, copies: { apartRatio: -0.3, aheadMs: -2.7 } };
	expect(shutterLine([shot, turned]).halfWidthMs).toBeCloseTo(0.05 * 4.75, 9);
});

test('which row is read, and what counts as the moment of a change, have lines of their own', () => {
	const { measured } = filmed(3, false);
	const widths = new Map(measured.budget.map(({ name, halfWidthMs }) => [name, halfWidthMs]));
	expect(widths.get('scan-out')).toBe(0);
	expect(widths.get('display response')).toBeCloseTo(1.24, 9);
	expect(measured.quotedFor).toMatch(/height of the marker on the tablet, 65 % down/);
	// A phone's crystal, 50 ppm of what is measured by it.
	expect(widths.get('clip slope')).toBeCloseTo(50e-6 * measured.pieces[0]!.meanAgeMs, 9);
});

test('of a laptop’s marker whose still cells could not be read nobody knows the row: it may be the low one', () => {
	const spec = madeSpec([60, 30, 120], 4, { durationMs: 6000 });
	const reading = inventedReading(spec, opticalSignal(spec));
	const [tablet, laptop] = reading.tracks;
	const unlabelled = { ...laptop!, marker: { ...laptop!.marker, label: null } };
	const measured = measureClip({ ...reading, tracks: [tablet!, unlabelled] });
	if (measured.kind !== 'measured') throw new Error(measured.explanation);
	const line = measured.budget.find(({ name }) => name === 'scan-out')!;
	expect(line.halfWidthMs).toBeCloseTo((0.35 * 1000) / 60, 1);
	expect(line.source).toMatch(/may be the low one/);
});

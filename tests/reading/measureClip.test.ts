import { expect, test } from 'vitest';
import { PAIRS } from '../../src/pattern/markerCode.ts';
import { measureClip } from '../../src/reading/measureClip.ts';
import { opticalSignal } from '../../src/simulation/opticalSignal.ts';
import { usualOpticalSpec } from '../../src/simulation/opticalSpec.ts';
import { opticalTruth } from '../../src/simulation/opticalTruth.ts';
import { quantileSorted, sortSamples } from '../../src/statistics/quantile.ts';
import { judgeMade, madeClip, madeMarker, madeSpec } from './madeClip.ts';

const EIGHT = [1, 2, 3, 4, 5, 6, 7, 8];
const mean = (values: readonly number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;

test.each([
	{ rates: [60, 30, 120] as const },
	{ rates: [120, 30, 120] as const },
	{ rates: [60, 25, 120] as const },
])('over drifting clocks the mean age is right within 0.3 ms, each clip within 1 ms: $rates', ({ rates }) => {
	const errors = EIGHT.map((seed) => judgeMade(madeSpec(rates, seed, { durationMs: 12_000 })).errorMs);
	expect(Math.abs(mean(errors))).toBeLessThan(0.3);
	expect(Math.max(...errors.map(Math.abs))).toBeLessThan(1);
});

test('at 240 frames a second a 60 Hz scope on a 60 Hz screen is read within 0.3 ms', () => {
	const errors = [1, 2, 3].map((seed) => judgeMade(madeSpec([60, 60, 240], seed)).errorMs);
	expect(Math.abs(mean(errors))).toBeLessThan(0.3);
});

test.each([{ rates: [120, 30, 30] as const }, { rates: [144, 60, 24] as const }])(
	'a fast screen filmed at an ordinary rate, several ticks a frame, is read in every frame: $rates',
	({ rates }) => {
		const { measured, errorMs } = judgeMade(madeSpec(rates, 3, { durationMs: 12_000 }));
		const [piece] = measured.pieces;
		expect(piece!.durationMs).toBeGreaterThan(11_000);
		expect(piece!.unreadRatio).toBeLessThan(0.02);
		expect(Math.abs(errorMs)).toBeLessThan(1.96 * piece!.budget.standardMs);
	},
);

test('in exact lock the error stays within the stated bound at nearly every phase', () => {
	const held = Array.from({ length: 20 }, (_, phase) => {
		const spec = madeSpec([60, 30, 120], phase + 50, { mode: 'lock', durationMs: 4000 });
		const { measured, errorMs } = judgeMade(spec);
		return Math.abs(errorMs) <= 1.65 * measured.pieces[0]!.budget.standardMs;
	});
	expect(held.filter(Boolean).length).toBeGreaterThanOrEqual(19);
});

test('exposures of a full frame and a full tick cure the lock', () => {
	for (let phase = 0; phase < 6; phase++) {
		const spec = madeSpec([60, 30, 120], phase + 90, { mode: 'lock', durationMs: 5000 });
		const long = {
			...spec,
			scope: { ...spec.scope, exposureMs: 33 },
			phone: { ...spec.phone, exposureMs: 8.2 },
		};
		expect(Math.abs(judgeMade(long).errorMs)).toBeLessThan(0.4);
	}
});

test('with lost pictures fresh delay by the content form is right, by half the mean hold it is not', () => {
	const clips = [1, 2, 3, 4].map((seed) => {
		const spec = madeSpec([120, 30, 120], seed, {
			durationMs: 12_000,
			link: { ...usualOpticalSpec.link, dropRatio: 0.08, lateRatio: 0 },
		});
		const { measured, truth } = judgeMade(spec);
		const piece = measured.pieces[0]!;
		const meanHoldMs = piece.durationMs / truth.shownPictures;
		return {
			content: piece.freshDelayMs - truth.freshDelayMs,
			half: piece.meanAgeMs - meanHoldMs / 2 - truth.freshDelayMs,
			lost: (piece.lostSlots ?? -1) - truth.lostSlots,
		};
	});
	expect(Math.abs(mean(clips.map(({ content }) => content)))).toBeLessThan(0.3);
	expect(mean(clips.map(({ half }) => half))).toBeGreaterThan(0.7);
	expect(clips.map(({ lost }) => lost)).toEqual([0, 0, 0, 0]);
});

test('the rebuilt curve tells P95 within 0.5 ms, the order statistic of frames’ ages is over 1.5 ms off', () => {
	const clips = [1, 2, 3, 4].map((seed) => {
		const { measured, truth } = judgeMade(madeSpec([60, 30, 240], seed));
		const { shown, samples } = measured.pieces[0]!;
		if (shown.curve.kind !== 'curve') throw new Error(shown.curve.explanation);
		const raw = quantileSorted(sortSamples(samples.map(({ ageMs }) => ageMs)), 0.95);
		return { curve: shown.curve.p95Ms! - truth.p95AgeMs, raw: raw - truth.p95AgeMs };
	});
	expect(Math.abs(mean(clips.map(({ curve }) => curve)))).toBeLessThan(0.5);
	expect(mean(clips.map(({ raw }) => raw))).toBeLessThan(-1.5);
});

test('the clock fit is refused where too little of the phase was seen, and the bound is wide then', () => {
	const locked = judgeMade(madeSpec([60, 30, 120], 3, { mode: 'lock', durationMs: 6000 })).measured
		.pieces[0]!;
	expect(locked.method).toBe('linear');
	expect(locked.budget.standardMs).toBeGreaterThan(1);
	const drifting = judgeMade(madeSpec([60, 30, 120], 3)).measured.pieces[0]!;
	expect(drifting.method).toBe('clockFit');
	expect(drifting.budget.standardMs).toBeLessThan(1);
});

test('where scope and screen keep step the percentiles are left untold and another refresh rate is asked for', () => {
	const told = (mode: 'lock' | 'drift') => {
		const { measured, errorMs } = judgeMade(madeSpec([60, 60, 120], 4, { mode }));
		const [piece] = measured.pieces;
		const { curve } = piece!.shown;
		if (curve.kind !== 'curve') throw new Error(curve.explanation);
		expect(Math.abs(errorMs)).toBeLessThan(1.96 * piece!.budget.standardMs);
		return { p95Ms: curve.p95Ms, warning: measured.warnings.find(({ code }) => code === 'phaseStands') };
	};
	const locked = told('lock');
	expect(locked.p95Ms).toBeNull();
	expect(locked.warning?.seen).toMatch(/known to 1\d ms and no better/);
	expect(locked.warning?.advice).toMatch(/another refresh rate/);
	const drifting = told('drift');
	expect(drifting.p95Ms).toBeGreaterThan(50);
	expect(drifting.warning).toBeUndefined();
});

test('where the scope’s phase could be fitted and the phone’s own stands, percentiles are left untold too', () => {
	const locked = judgeMade(madeSpec([60, 25, 120], 100_002, { mode: 'lock' })).measured.pieces[0]!;
	expect(locked).toMatchObject({
		method: 'clockFit',
		phaseStands: true,
		shown: { curve: { kind: 'curve', p50Ms: null, p95Ms: null } },
	});
	const drifting = judgeMade(madeSpec([60, 25, 120], 2)).measured.pieces[0]!;
	expect(drifting).toMatchObject({ method: 'clockFit', phaseStands: false });
});

test('pictures without a frame to themselves, all or a few, leave percentiles and losses unmeasured, and the mean age right', () => {
	for (const scopeHz of [60, 30]) {
		const { measured, errorMs } = judgeMade(madeSpec([60, scopeHz, 60], 2));
		const piece = measured.pieces[0]!;
		expect(piece.shown.curve).toMatchObject({ kind: 'notMeasured', reason: 'picturesUnsettled' });
		expect(piece.lostSlots).toBeNull();
		expect(Math.abs(errorMs)).toBeLessThan(1.96 * piece.budget.standardMs);
	}
});

test('a clip stretched eight times is told, and gives the same age', () => {
	const spec = madeSpec([60, 30, 240], 4, { durationMs: 8000 });
	const plain = judgeMade(spec).measured;
	const stretched = judgeMade({ ...spec, phone: { ...spec.phone, stretch: 8 } }).measured;
	expect(plain.said).toBeNull();
	expect(stretched.said).toBe('filmed at 240, stored at 30');
	expect(stretched.pieces[0]!.meanAgeMs).toBeCloseTo(plain.pieces[0]!.meanAgeMs, 3);
});

test('a clip with a ramp in it is used where it ran steadily', () => {
	const spec = madeSpec([60, 30, 240], 5, { durationMs: 9000 });
	const clip = madeClip(spec);
	// Three seconds at speed, slower and slower for one, then eight times slower.
	let atMs = 0;
	const fileMs = Float64Array.from(clip.fileMs, (trueMs) => {
		const factor = trueMs < 3000 ? 1 : trueMs < 4000 ? 1 + (7 * (trueMs - 3000)) / 1000 : 8;
		atMs += spec.phone.periodMs * factor;
		return atMs;
	});
	const measured = measureClip({ ...clip, fileMs });
	if (measured.kind !== 'measured') throw new Error(measured.explanation);
	expect(measured.pieces.map(({ piece }) => piece.stretch)).toEqual([1, 8]);
	expect(measured.warnings.map(({ code }) => code)).toContain('clipPartlyUsed');
	const { trueMs } = opticalSignal(spec);
	for (const { piece, meanAgeMs } of measured.pieces) {
		const truth = opticalTruth(spec, trueMs[piece.from]!, trueMs[piece.until - 1]!);
		expect(Math.abs(meanAgeMs - truth.meanAgeMs)).toBeLessThan(1.5);
	}
});

test('a clip whose speed never settles is refused by name', () => {
	const clip = madeClip(madeSpec([60, 30, 240], 6, { durationMs: 4000 }));
	const fileMs = Float64Array.from(clip.fileMs, (trueMs) => trueMs * (1.25 + trueMs / 6000));
	expect(measureClip({ ...clip, fileMs })).toMatchObject({ kind: 'notMeasured', reason: 'ramped' });
});

test('a tablet that could not be read at first makes no picture a whole turn of the count older', () => {
	const spec = madeSpec([60, 30, 120], 7, { durationMs: 8000 });
	const clip = madeClip(spec);
	const tracks = clip.tracks.map((track, i) => ({
		...track,
		read: track.read.map((read, frame) => (i === 0 && frame < 150 ? 0 : read)),
	}));
	const measured = measureClip({ ...clip, tracks });
	if (measured.kind !== 'measured') throw new Error(measured.explanation);
	const { trueMs } = opticalSignal(spec);
	const truth = opticalTruth(spec, trueMs[150]!, trueMs.at(-1)!);
	expect(Math.abs(measured.pieces[0]!.meanAgeMs - truth.meanAgeMs)).toBeLessThan(3);
});

test.each([
	{ tablet: 'stood', unread: false },
	{ tablet: 'could not be read', unread: true },
])(
	'after a tablet that $tablet for two thirds of a turn of the count its pictures are as young as before',
	({ unread }) => {
		const plain = madeSpec([120, 30, 60], 8, { durationMs: 46_000 });
		const freezes = unread ? [] : [{ fromMs: 4000, forMs: 20_000 }];
		const spec = { ...plain, link: { ...plain.link, freezes } };
		const clip = madeClip(spec);
		const { trueMs } = opticalSignal(spec);
		const isIn = (frame: number) => trueMs[frame]! > 4000 && trueMs[frame]! < 24_000;
		const tracks = clip.tracks.map((track, i) => ({
			...track,
			read: track.read.map((read, frame) => (unread && i === 0 && isIn(frame) ? 0 : read)),
		}));
		const measured = measureClip({ ...clip, tracks });
		if (measured.kind !== 'measured') throw new Error(measured.explanation);
		const { samples } = measured.pieces[0]!;
		const meanIn = (fromMs: number, untilMs: number) =>
			mean(samples.filter(({ atMs }) => atMs > fromMs && atMs < untilMs).map(({ ageMs }) => ageMs));
		expect(Math.abs(meanIn(25_000, 45_000) - meanIn(0, 3500))).toBeLessThan(5);
		// What was read last stands meanwhile, and grows older.
		expect(meanIn(22_000, 23_000)).toBeGreaterThan(18_000);
	},
);

test('the tick’s wrap from 4095 to 0 goes unnoticed', () => {
	const spec = madeSpec([60, 30, 120], 7, { durationMs: 8000 });
	const through = judgeMade({ ...spec, firstTick: 4000 });
	const apart = judgeMade({ ...spec, firstTick: 100 });
	expect(Math.abs(through.errorMs - apart.errorMs)).toBeLessThan(0.3);
});

test('a freeze of a second is in the mean age, and its pictures are counted as lost', () => {
	const link = {
		...usualOpticalSpec.link,
		dropRatio: 0,
		lateRatio: 0,
		freezes: [{ fromMs: 5000, forMs: 1000 }],
	};
	const { measured, truth, errorMs } = judgeMade(madeSpec([60, 30, 240], 8, { durationMs: 12_000, link }));
	const piece = measured.pieces[0]!;
	expect(Math.abs(errorMs)).toBeLessThan(1);
	expect(truth.lostSlots).toBeGreaterThan(25);
	expect(piece.lostSlots).toBe(truth.lostSlots);
	expect(Math.max(...piece.samples.map(({ ageMs }) => ageMs))).toBeGreaterThan(900);
});

test('wrong vectors in one frame of fifty change nothing', () => {
	const spec = madeSpec([60, 30, 120], 9, { durationMs: 10_000 });
	const clip = madeClip(spec);
	const [tablet, laptop] = clip.tracks;
	const clean = judgeMade(spec);
	for (let frame = 20; frame < clip.fileMs.length; frame += 50)
		for (let pair = 0; pair < PAIRS; pair++) {
			tablet!.vectors[frame * PAIRS + pair] = pair % 3 === 0 ? 0.9 : -0.9;
			laptop!.vectors[(frame - 7) * PAIRS + pair] = pair % 2 === 0 ? 0.9 : -0.9;
		}
	const measured = measureClip(clip);
	if (measured.kind !== 'measured') throw new Error(measured.explanation);
	expect(Math.abs(measured.pieces[0]!.meanAgeMs - clean.truth.meanAgeMs)).toBeLessThan(0.8);
	expect(measured.pieces[0]!.lostSlots).toBe(clean.truth.lostSlots);
});

test('a sound code of another time in one frame of fifty is believed in none', () => {
	const spec = madeSpec([60, 30, 120], 9, { durationMs: 10_000 });
	const clip = madeClip(spec);
	const clean = judgeMade(spec);
	const { vectors } = clip.tracks[0]!;
	const whole = vectors.slice();
	// What the tablet shows half a second later, long before it does: read as it stands it would take 10 ms off the mean age.
	for (let frame = 20; frame + 60 < clip.fileMs.length; frame += 50)
		vectors.set(whole.subarray((frame + 60) * PAIRS, (frame + 61) * PAIRS), frame * PAIRS);
	const measured = measureClip(clip);
	if (measured.kind !== 'measured') throw new Error(measured.explanation);
	const [piece] = measured.pieces;
	expect(Math.abs(piece!.meanAgeMs - clean.truth.meanAgeMs)).toBeLessThan(1.2);
	expect(Math.min(...piece!.samples.map(({ ageMs }) => ageMs))).toBeGreaterThan(40);
	expect(piece!.lostSlots).toBe(clean.truth.lostSlots);
});

test('a mirror image and a turned picture are told apart from an upright one', () => {
	const clip = madeClip(madeSpec([60, 30, 120], 10, { durationMs: 3000 }));
	const [tablet, laptop] = clip.tracks;
	const shownAs = (over: Partial<ReturnType<typeof madeMarker>>) => {
		const measured = measureClip({
			...clip,
			tracks: [{ ...tablet!, marker: { ...tablet!.marker, ...over } }, laptop!],
		});
		return measured.kind === 'measured' ? measured.orientation : measured;
	};
	expect(shownAs({ turnedDeg: 8 })).toMatchObject({ shown: 'upright' });
	expect(shownAs({ turnedDeg: -170 })).toMatchObject({ shown: 'turned', turnedDeg: -170 });
	const { pose } = tablet!.marker;
	expect(shownAs({ pose: { ...pose, mirrored: true } })).toMatchObject({ shown: 'mirrored' });
});

test('two markers of one screen, a still tablet and a clip of two seconds are refused by name', () => {
	const clip = madeClip(madeSpec([60, 30, 120], 11, { durationMs: 3000 }));
	const [tablet, laptop] = clip.tracks;
	const copy = { ...laptop!, marker: madeMarker('scope') };
	expect(measureClip({ ...clip, tracks: [copy, laptop!] })).toMatchObject({ reason: 'tabletMissing' });
	expect(measureClip({ ...clip, tracks: [laptop!] })).toMatchObject({ reason: 'markersUnreadable' });
	const still = new Float32Array(tablet!.vectors.length);
	for (let frame = 0; frame < clip.fileMs.length; frame++)
		still.set(tablet!.vectors.subarray(40 * PAIRS, 41 * PAIRS), frame * PAIRS);
	expect(measureClip({ ...clip, tracks: [{ ...tablet!, vectors: still }, laptop!] })).toMatchObject({
		reason: 'tabletFrozen',
	});
	const short = madeClip(madeSpec([60, 30, 120], 12, { durationMs: 700 }));
	expect(measureClip(short)).toMatchObject({ kind: 'notMeasured' });
});

test('a slow screen without a label never passes for slow motion', () => {
	// 30 refreshes a second: 60 Hz at half speed, were the label not asked.
	const spec = madeSpec([30, 25, 120], 5, { durationMs: 12_000 });
	const unlabelled = madeClip({ ...spec, laptop: { ...spec.laptop, labelHz: null } });
	expect(measureClip(unlabelled)).toMatchObject({ kind: 'notMeasured', reason: 'rateUnknown' });
	// A usual screen at the file's own speed is known by its pace.
	const usual = madeSpec([60, 30, 120], 5, { durationMs: 12_000 });
	const measured = measureClip(madeClip({ ...usual, laptop: { ...usual.laptop, labelHz: null } }));
	expect(measured).toMatchObject({ kind: 'measured', said: null });
});

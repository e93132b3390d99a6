import { expect, test } from 'vitest';
import { PAIRS } from '../../../src/pattern/markerCode.ts';
import { clipSystematics } from '../../../src/reading/clipRecords.ts';
import { measureClip } from '../../../src/reading/measureClip.ts';
import type { ClipReading } from '../../../src/reading/opticalTypes.ts';
import { opticalTruth } from '../../../src/simulation/opticalTruth.ts';
import { madeClip, madeSpec } from '../../reading/madeClip.ts';
import { filmed, goodLink, judgeFilmed } from './filmedSession.ts';

const fast = [1, 2, 3].map((seed) => filmed(120, seed));
const ordinary = filmed(30, 4);

test('a good kit gets its yes from three fast clips and a long one, and the record is asked for by name', () => {
	const { verdict, metrics } = judgeFilmed([...fast, ordinary]);
	expect(verdict).toMatchObject({ steer: 'yes', record: 'undetermined', fitness: 'steering' });
	expect(metrics.orientation).toMatchObject({ kind: 'measured', shown: 'upright' });
	expect(metrics.freshDelay).toMatchObject({ kind: 'measured' });
	expect(metrics.warnings.map(({ code }) => code)).not.toContain('filmSlow');
	expect(metrics.warnings.find(({ code }) => code === 'sessionFilmed')?.seen).toMatch(
		/count as 3 starts of the kit's app: .*more than half a minute apart cannot tell\.$/,
	);
});

test('what a session lacks is asked for by name, and keeps the answer open', () => {
	const withoutLong = judgeFilmed(fast);
	expect(withoutLong.verdict.steer).toBe('undetermined');
	expect(withoutLong.verdict.order).toMatch(
		/ordinary rate, in one go, for 320 s or more \(310 s must be left/,
	);
	const withTwo = judgeFilmed([...fast.slice(1), ordinary]);
	expect(withTwo.verdict.steer).toBe('undetermined');
	expect(withTwo.verdict.order).toMatch(/film 1 more at 120 or 240 frames a second.*\(2 of 3 are there\)/);
	expect(withTwo.metrics.warnings.map(({ code }) => code)).toContain('sessionMissing');
	// Sixty a second is no fast film: at most one picture in two would have a frame to itself.
	const slowFilms = judgeFilmed([...[7, 8, 9].map((seed) => filmed(60, seed)), ordinary]);
	expect(slowFilms.verdict.steer).toBe('undetermined');
	expect(slowFilms.verdict.order).toMatch(/\(0 of 3 are there\)/);
	const longOnly = judgeFilmed([ordinary]);
	expect(longOnly.verdict.steer).toBe('undetermined');
	// Pictures of a slow phone have no frame to themselves: no delay is made of them.
	expect(longOnly.metrics.freshDelay.kind).toBe('notMeasured');
	expect(longOnly.metrics.frames).toMatchObject({ kind: 'notMeasured', reason: 'cadenceUnstable' });
});

test('P95 of age told from frames’ ages, whose peaks a long exposure hides, is true within its doubt and under its bound', () => {
	const spec = madeSpec([60, 25, 60], 1, { link: goodLink, durationMs: 60_000 });
	const phone = { ...spec.phone, exposureMs: 0.99 * spec.phone.periodMs };
	const measured = measureClip(madeClip({ ...spec, phone }));
	if (measured.kind !== 'measured') throw new Error(measured.explanation);
	const film = { kind: 'clip', name: 'film.mp4', transfer: 'usual', measured, notes: [] } as const;
	const { pictureAge, facts } = judgeFilmed([film]).metrics;
	if (pictureAge.kind !== 'measured' || pictureAge.p95Ms === null) throw new Error('not told');
	const truth = opticalTruth(spec, 500, 59_500);
	const errorMs = pictureAge.p95Ms - truth.p95AgeMs;
	const doubtMs = 1.96 * measured.pieces[0]!.budget.standardMs;
	// A good exposure: the clocks are known well, and what the frames hide is more than that.
	expect(doubtMs).toBeLessThan(2);
	expect(errorMs).toBeLessThan(-2);
	expect(errorMs).toBeGreaterThan(-2 * facts.systematicCentreMs - doubtMs);
	expect(pictureAge.p95UpperMs).toBeGreaterThan(truth.p95AgeMs);
});

test('fast clips do not lend their length to the long one', () => {
	// Of 390 s in all, no clip at the ordinary rate has the 310 s that the spell rule asks for.
	const short = filmed(30, 5, { durationMs: 300_000 });
	const { verdict, metrics } = judgeFilmed([...fast, filmed(120, 6), short]);
	const filmedMs = metrics.facts.observedMs + 4 * 21_500;
	expect(filmedMs).toBeGreaterThan(310_000);
	expect(metrics.facts.observedMs).toBeLessThan(300_000);
	expect(verdict.steer).toBe('undetermined');
	expect(verdict.order).toMatch(/the longest has 299 s/);
});

test('a kit whose pictures come late, freeze or are a mirror image is not fit to steer', () => {
	const lateLink = { ...goodLink, delayMs: 260 };
	const late = [1, 2, 3].map((seed) => filmed(120, seed, { link: lateLink }));
	expect(judgeFilmed([...late, ordinary]).verdict).toMatchObject({ steer: 'no', decidedBy: ['delay'] });
	const freezes = Array.from({ length: 12 }, (_, i) => ({ fromMs: 10_000 + 25_000 * i, forMs: 1200 }));
	const freezing = judgeFilmed([...fast, filmed(30, 4, { link: { ...goodLink, freezes } })]);
	expect(freezing.verdict.steer).toBe('no');
	expect(freezing.verdict.decidedBy).toContain('gaps');
	const [first, ...others] = fast;
	const orientation = { shown: 'mirrored', turnedDeg: 0, mirrored: true } as const;
	const mirrored = { ...first!, measured: { ...first!.measured, orientation } };
	for (const turnedAsMeant of [false, true])
		expect(judgeFilmed([mirrored, ...others, ordinary], { turnedAsMeant }).verdict).toMatchObject({
			steer: 'no',
			decidedBy: ['orientation'],
		});
});

test('a turned picture waits for a person to say that it is meant so', () => {
	const orientation = { shown: 'turned', turnedDeg: 90, mirrored: false } as const;
	const turned = [...fast, ordinary].map((clip) => ({
		...clip,
		measured: { ...clip.measured, orientation },
	}));
	expect(judgeFilmed(turned).verdict).toMatchObject({ steer: 'undetermined', decidedBy: ['orientation'] });
	expect(judgeFilmed(turned, { turnedAsMeant: true }).verdict.steer).toBe('yes');
});

/** The tablet's marker hidden, or another picture in its place, in a fifth of the clip. */
function hidden(reading: ClipReading): ClipReading {
	const [tablet, laptop] = reading.tracks;
	const read = Uint8Array.from(tablet!.read);
	const vectors = Float32Array.from(tablet!.vectors);
	for (let frame = 0; frame < read.length; frame++)
		if (frame % 1500 >= 1200) {
			read[frame] = 0;
			vectors.fill(0, frame * PAIRS, (frame + 1) * PAIRS);
		}
	return { ...reading, tracks: [{ ...tablet!, read, vectors }, laptop!] };
}

test('time in which nobody could read the tablet is never left out as if it had been good', () => {
	const { verdict, metrics } = judgeFilmed([...fast, filmed(30, 4, { change: hidden })]);
	expect(verdict.steer).toBe('no');
	if (metrics.pictureAge.kind !== 'measured') throw new Error('not measured');
	expect(metrics.pictureAge.shareOverLimitRatio).toBeGreaterThan(0.17);
	expect(metrics.warnings.map(({ code }) => code)).toContain('tabletPartlyUnread');
	// In fast clips too: the delays of what was read do not move.
	const fastHidden = filmed(120, 1, { change: hidden });
	const judged = judgeFilmed([fastHidden, ...fast.slice(1), ordinary]);
	const whole = judgeFilmed([...fast, ordinary]);
	if (judged.metrics.freshDelay.kind !== 'measured' || whole.metrics.freshDelay.kind !== 'measured')
		throw new Error('not measured');
	expect(judged.metrics.freshDelay.medianMs).toBeGreaterThan(whole.metrics.freshDelay.medianMs! - 1);
});

test('of fast films of a scope without an even rate the losses are not measured, and named so', () => {
	const uneven = [1, 2].map((seed) => filmed(120, seed, { scopeJitterMs: 10 }));
	expect(judgeFilmed(uneven).metrics.frames).toMatchObject({
		kind: 'notMeasured',
		reason: 'cadenceUnstable',
	});
	expect(judgeFilmed(fast).metrics.frames).toMatchObject({ kind: 'measured' });
});

test('clips of two sessions, and clips that could not be read, are told', () => {
	const other = { ...fast[0]!, measured: { ...fast[0]!.measured, session: 6 } };
	const mixed = judgeFilmed([other, ...fast.slice(1), ordinary]);
	expect(mixed.verdict.steer).toBe('undetermined');
	expect(mixed.metrics.warnings.map(({ code }) => code)).toContain('sessionsMixed');
	const unread = [
		{ kind: 'notMeasured', reason: 'noMarkers', explanation: 'No marker was found.', name: 'x.mp4' },
	] as const;
	const warnings = judgeFilmed([...fast, ordinary], { unread }).metrics.warnings;
	// First, before what was asked for because of it.
	expect(warnings[0]).toEqual({
		code: 'clipLeftOut',
		seen: 'x.mp4 was left out.',
		advice: 'No marker was found.',
	});
});

test('how far the fast clips lie apart is part of the doubt, by Student’s t', () => {
	const { metrics } = judgeFilmed([...fast, ordinary]);
	const means = fast.map(({ measured }) => measured.pieces[0]!.freshDelayMs);
	const mean = (means[0]! + means[1]! + means[2]!) / 3;
	const sd = Math.sqrt(means.reduce((sum, value) => sum + (value - mean) ** 2, 0) / 2);
	const line = metrics.facts.systematics.find(({ name }) => name === 'between clips, fast clips')!;
	// t(0.95, 2) = 2.920 (published).
	expect(line.halfWidthMs / Math.sqrt(3)).toBeCloseTo((2.92 / 1.645) * (sd / Math.sqrt(3)), 2);
});

test('what each clip may be off by is in the header, widest of its kind, for the lines of its kind', () => {
	const { systematics } = judgeFilmed([...fast, ordinary]).metrics.facts;
	for (const [clips, films] of [
		[fast, ', fast clips'],
		[[ordinary], ', ordinary clip'],
	] as const) {
		const all = clips.flatMap(({ measured }) => clipSystematics(measured));
		for (const { name } of all) {
			const widest = Math.max(...all.filter((line) => line.name === name).map((line) => line.halfWidthMs));
			const told = systematics.find((line) => line.name === name + films);
			expect(told?.halfWidthMs).toBeCloseTo(widest, 9);
		}
	}
	expect(systematics.some(({ name }) => name === 'between clips, ordinary clip')).toBe(true);
});

test('three fast clips of ten seconds are no fast clips', () => {
	const short = [1, 2, 3].map((seed) => filmed(120, seed, { durationMs: 10_000 }));
	const { verdict } = judgeFilmed([...short, ordinary]);
	expect(verdict.steer).toBe('undetermined');
	expect(verdict.order).toContain('(0 of 3 are there)');
});

test('where scope and screen kept step in one of the films, median and P95 are not told, and a person reads why and what to do', () => {
	const standing = filmed(120, 21, { mode: 'lock' });
	const { metrics, records } = judgeFilmed([fast[0]!, standing, fast[1]!, ordinary]);
	const { freshDelay, pictureAge } = metrics;
	if (freshDelay.kind !== 'measured' || pictureAge.kind !== 'measured') throw new Error('unmeasured');
	expect(freshDelay).toMatchObject({ medianMs: null, p95Ms: null });
	// The mean stays, and the bounds, with the doubt of the phase in them.
	expect(freshDelay.p95UpperMs).toBeGreaterThan(freshDelay.meanMs);
	// Age is the ordinary film's, which saw every phase.
	expect(pictureAge.p95Ms).toBeGreaterThan(60);
	expect(metrics.warnings.find(({ code }) => code === 'phaseStands')).toMatchObject({
		seen: expect.stringMatching(/keep step.*half of the pictures and 19 in 20 of them.*is not told/),
		advice: expect.stringMatching(/another refresh rate.*film again/),
	});
	expect(records.some((record) => record.kind === 'presentations')).toBe(true);
	// Told once, however many films it is true of.
	const all = judgeFilmed([
		standing,
		{ ...standing, name: 'second.mp4' },
		{ ...standing, name: 'third.mp4' },
	]);
	const told = all.metrics.warnings.filter(({ code }) => code === 'phaseStands');
	expect(told.map(({ seen }) => seen)).toEqual([
		expect.stringMatching(/^clip-21\.mp4: .* is not told\. The same of second\.mp4, third\.mp4\.$/),
	]);
	const inStep = judgeFilmed([...fast, filmed(30, 24, { mode: 'lock', durationMs: 60_000 })]).metrics;
	expect(inStep.pictureAge).toMatchObject({ kind: 'measured', medianMs: null, p95Ms: null });
	expect(inStep.freshDelay).toMatchObject({ medianMs: expect.any(Number) });
	const free = judgeFilmed([...fast, ordinary]).metrics.freshDelay;
	expect(free.kind === 'measured' && free.p95Ms).toBeGreaterThan(60);
});

test('of a short film that saw one phase only median and P95 are not told either, and a longer film is asked for', () => {
	const { freshDelay, warnings } = judgeFilmed([filmed(120, 22, { mode: 'lock', durationMs: 9000 })]).metrics;
	expect(freshDelay).toMatchObject({ kind: 'measured', medianMs: null, p95Ms: null });
	const said = warnings.find(({ code }) => code === 'phaseUnseen');
	expect(said?.seen).toMatch(/in \d s only one phase.*median and P95\) is not told/);
	expect(said?.advice).toBe('Film 25 to 30 s in one go (320 s at the ordinary rate).');
	expect(warnings.some(({ code }) => code === 'phaseStands')).toBe(false);
});

test('one film of forty seconds, as a yard check offers where nothing else can be measured, can say no and never yes', () => {
	const film = (link: typeof goodLink) => judgeFilmed([filmed(30, 1, { durationMs: 40_000, link })]);
	expect(film(goodLink).verdict.steer).toBe('undetermined');
	expect(film({ ...goodLink, delayMs: 320 }).verdict.steer).toBe('no');
});

import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { picturesOfCodes } from '../../../src/rigs/recording/recordedPictures.ts';
import { type RecordingTimeline, recordingTimeline } from '../../../src/rigs/recording/recordingTimeline.ts';

type Frame = readonly [atMs: number, code: number | null];

function read(frames: readonly Frame[], givenHz: number | null = null): RecordingTimeline {
	const recorded = picturesOfCodes(
		frames.map(([at]) => at),
		frames.map(([, code]) => code),
	);
	const timeline = recordingTimeline(recorded, givenHz);
	if (timeline.kind !== 'timeline') throw new Error(timeline.seen);
	return timeline;
}

function count({ stretches }: RecordingTimeline, fate: string): number {
	return stretches.flatMap(({ slots }) => slots).filter((slot) => slot.fate === fate).length;
}

/** The card at 60 a second, every second tick recorded: 30 pictures a second, times true. */
const even = (length: number): Frame[] => Array.from({ length }, (_, i) => [(i * 1000) / 30, 100 + 2 * i]);

test('a clean recording has every slot filled, at the rate of the kit', () => {
	const timeline = read(even(300));
	expect(timeline).toMatchObject({
		cardHz: 60,
		cardHzFrom: 'usual',
		stretch: 1,
		stable: true,
		rateConverted: false,
	});
	expect(timeline.pictureHz).toBeCloseTo(30, 6);
	expect([count(timeline, 'presented'), count(timeline, 'lost')]).toEqual([300, 0]);
	expect(timeline.cuts).toEqual([]);
	expect(timeline.retiming.count).toBe(0);
});

test('pictures left out with their time are lost, to the picture, whichever they are', () => {
	fc.assert(
		fc.property(
			fc.uniqueArray(fc.integer({ min: 3, max: 296 }), { minLength: 1, maxLength: 30 }),
			(missing) => {
				const timeline = read(even(300).filter((_, i) => !missing.includes(i)));
				expect(count(timeline, 'lost')).toBe(missing.length);
				expect(count(timeline, 'presented')).toBe(300 - missing.length);
				expect(timeline.cuts).toEqual([]);
				expect(timeline.retiming.count).toBe(0);
			},
		),
		{ seed: 4, numRuns: 60 },
	);
});

test('a picture shown again in the place of a lost one is one lost and one repeated', () => {
	const lost = new Set([20, 77, 78, 150]);
	let kept = 0;
	const frames = even(300).map(([at, code], i): Frame => {
		if (!lost.has(i)) kept = code!;
		return [at, kept];
	});
	const timeline = read(frames);
	expect(count(timeline, 'lost')).toBe(4);
	expect(timeline.stretches.flatMap(({ repeatedAtMs }) => repeatedAtMs)).toHaveLength(4);
	expect(timeline.rateConverted).toBe(false);
	expect(timeline.retiming.count).toBe(0);
});

test('a frame that cannot be read is unreadable and not lost', () => {
	const timeline = read(even(300).map(([at, code], i): Frame => [at, i === 40 || i === 41 ? null : code]));
	expect([count(timeline, 'unreadable'), count(timeline, 'lost')]).toEqual([2, 0]);
	expect(timeline.unreadFrames).toBe(2);
});

test('two pictures that changed places are out of order once, and none is lost', () => {
	const frames = even(300);
	const codes = frames.map(([, code]) => code);
	[codes[50], codes[51]] = [codes[51]!, codes[50]!];
	const timeline = read(frames.map(([at], i): Frame => [at, codes[i]!]));
	expect(timeline.stretches.flatMap(({ outOfOrderAtMs }) => outOfOrderAtMs)).toHaveLength(1);
	expect([count(timeline, 'presented'), count(timeline, 'lost')]).toEqual([300, 0]);
});

test('lost pictures whose time was closed up are lost, and the file is named as timed anew', () => {
	const kept = even(300).filter((_, i) => ![60, 61, 140, 220].includes(i));
	const timeline = read(kept.map(([, code], i): Frame => [(i * 1000) / 30, code]));
	expect(count(timeline, 'lost')).toBe(4);
	expect(timeline.retiming.count).toBe(3);
	expect(timeline.retiming.closedUpMs).toBeCloseTo(4 * (1000 / 30), 0);
});

test('25 pictures a second stored as 30 are named as a converted rate, and none is lost', () => {
	const frames = Array.from({ length: 300 }, (_, i): Frame => [(i * 1000) / 30, Math.floor((i * 25) / 30)]);
	const timeline = read(frames);
	expect(timeline.rateConverted).toBe(true);
	expect(timeline.frameHz).toBeCloseTo(30, 1);
	expect(timeline.pictureHz).toBeCloseTo(25, 1);
	expect(count(timeline, 'lost')).toBe(0);
	expect(timeline.retiming.count).toBe(0);
});

test('repeats that come in bursts are the kit’s own trouble and no converted rate', () => {
	// Of every hundred pictures the last ten stand for two frames each.
	let code = 0;
	const frames = Array.from({ length: 330 }, (_, i): Frame => {
		const inBurst = i % 110 >= 90;
		if (!inBurst || i % 2 === 0) code += 2;
		return [(i * 1000) / 30, code];
	});
	expect(read(frames, 60).rateConverted).toBe(false);
});

test('a part left out without its time is a cut, and its pictures are not counted as lost', () => {
	const frames = even(600).filter((_, i) => i < 200 || i >= 320);
	const timeline = read(frames.map(([, code], i): Frame => [(i * 1000) / 30, code]));
	expect(timeline.cuts).toHaveLength(1);
	expect(timeline.cuts[0]!.jumpMs).toBeCloseTo(4000, -2);
	expect(timeline.stretches).toHaveLength(2);
	expect(count(timeline, 'lost')).toBe(0);
});

test('a jump back to what was shown long before is a cut too', () => {
	const frames = [...even(200), ...even(200)].map(([, code], i): Frame => [(i * 1000) / 30, code]);
	expect(read(frames).cuts).toHaveLength(1);
});

test('four seconds gone with their time are lost pictures and no cut', () => {
	const timeline = read(even(600).filter((_, i) => i < 200 || i >= 320));
	expect(timeline.cuts).toEqual([]);
	expect(count(timeline, 'lost')).toBe(120);
});

describe('slow motion', () => {
	test.each([2, 4, 8])('stored %i times slower is told from the known rate of the card', (stretch) => {
		const frames = Array.from(
			{ length: 400 },
			(_, i): Frame => [(i * 1000 * stretch) / 240, Math.floor(i / 4)],
		);
		const timeline = read(frames, 60);
		expect(timeline.stretch).toBe(stretch);
		expect(timeline.pictureHz).toBeCloseTo(60, 0);
	});
});

test('pictures that come at no rate of their own are not counted as lost or found', () => {
	let [at, code] = [0, 0];
	const steps = [1, 7, 2, 11, 3, 1, 9, 4, 13, 2, 6, 1, 15, 5];
	const frames = Array.from({ length: 200 }, (_, i): Frame => {
		const step = steps[(i * i + 3 * i) % steps.length]!;
		at += (step * 1000) / 60;
		code += step;
		return [at, code];
	});
	const timeline = read(frames, 60);
	expect(timeline.stable).toBe(false);
	expect(count(timeline, 'lost')).toBe(0);
});

test('a scope that films 25 a second off a 60 Hz screen fills every slot although its steps are uneven', () => {
	const frames = Array.from({ length: 500 }, (_, i): Frame => [i * 40, Math.floor((i * 60) / 25)]);
	const timeline = read(frames.filter((_, i) => i !== 123 && i !== 301));
	expect(timeline.stable).toBe(true);
	expect(timeline.pictureHz).toBeCloseTo(25, 1);
	expect(count(timeline, 'lost')).toBe(2);
});

test('a card that stands, and one that was hardly seen, are told by name', () => {
	const still = picturesOfCodes(
		even(100).map(([at]) => at),
		even(100).map(() => 7),
	);
	expect(recordingTimeline(still)).toMatchObject({ kind: 'noTimeline', reason: 'cardStands' });
	const few = picturesOfCodes([0, 33, 66], [1, 2, 3]);
	expect(recordingTimeline(few)).toMatchObject({ kind: 'noTimeline', reason: 'tooFewPictures' });
});

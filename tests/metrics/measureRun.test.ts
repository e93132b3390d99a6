import { expect, test } from 'vitest';
import { measureRun } from '../../src/metrics/measureRun.ts';
import type { Run } from '../../src/observations/run.ts';
import { createRandom } from '../../src/statistics/random.ts';
import {
	type MadeRun,
	madeClock,
	madeRun,
	madeSegment,
	standardThresholds,
	steadyFrames,
} from './madeRun.ts';

const measure = (run: Run) => measureRun(run, standardThresholds);

function codesOf(made: MadeRun): string[] {
	return measure(madeRun(made)).warnings.map(({ code }) => code);
}

const minute = [madeSegment({ warmUpUntilMs: 2000, endMs: 62_000 })];
const steady = steadyFrames(1550, () => 80);

test('observed time is what follows warm-up, segments added, breaks left out', () => {
	const again = steady.map((frame) => ({ ...frame, shownMs: frame.shownMs + 100_000, segment: 1 }));
	const segments = [
		...minute,
		madeSegment({ segment: 1, startMs: 100_000, warmUpUntilMs: 101_000, endMs: 162_000 }),
	];
	const { facts } = measure(madeRun({ frames: [...steady, ...again], segments }));
	expect(facts).toMatchObject({ observedMs: 121_000, warmUpMs: 3000, segmentCount: 2, torn: false });
});

test('systematics are one centre and one standard uncertainty', () => {
	const systematics = [
		{ name: 'clock', halfWidthMs: 3, shape: 'rectangular' as const, source: 'made' },
		{ name: 'way to the glass', halfWidthMs: 16, shape: 'oneSided' as const, source: 'made' },
	];
	const { facts } = measure(madeRun({ frames: steady, segments: minute, systematics }));
	expect(facts.systematicCentreMs).toBe(16);
	expect(facts.systematicStandardMs).toBeCloseTo(Math.sqrt((9 + 256) / 3), 9);
});

test('a link that presents nothing is measured as such, and nowhere as fine', () => {
	const metrics = measure(madeRun({ frames: steadyFrames(1550, () => null), segments: minute }));
	expect(metrics.freshDelay).toMatchObject({ reason: 'nothingPresented' });
	expect(metrics.delayVariation).toMatchObject({ reason: 'nothingPresented' });
	expect(metrics.pictureAge).toMatchObject({ kind: 'measured', shareOverLimitRatio: 1 });
	expect(metrics.frames).toMatchObject({ lostRatio: 1 });
	expect(metrics.freezes).toMatchObject({ pauses: { count: 1 } });
	expect(metrics.deliveredRate).toMatchObject({ meanHz: 0 });
});

test('what this rig does not read is named with its reason', () => {
	const metrics = measure(madeRun({ frames: steady, segments: minute }));
	expect(metrics.sharpness).toMatchObject({ kind: 'notMeasured', reason: 'noEdgeReading' });
	expect(metrics.orientation).toMatchObject({ kind: 'notMeasured', reason: 'notThisRig' });
	expect(metrics.colour).toMatchObject({ kind: 'notMeasured', reason: 'noPatches' });
});

test('an empty file is nothing observed, in every metric, and no failure', () => {
	const metrics = measure(madeRun({ frames: [], segments: [], endedBy: null }));
	for (const metric of [
		'freshDelay',
		'pictureAge',
		'frames',
		'freezes',
		'gaps',
		'deliveredRate',
		'harness',
	] as const)
		expect(metrics[metric].kind).toBe('notMeasured');
});

test('no figure of any run is other than a finite number or null', () => {
	const random = createRandom(8);
	for (const share of [0, 0.02, 0.3, 0.97, 1]) {
		const frames = steadyFrames(1550, () => (random.next() < share ? null : 50 + 100 * random.next()));
		const odd = JSON.stringify(measure(madeRun({ frames, segments: minute })), (_, value: unknown) => {
			if (typeof value === 'number' && !Number.isFinite(value)) throw new Error(`found ${value}`);
			return value;
		});
		expect(odd.length).toBeGreaterThan(0);
	}
});

test('a good run has nothing to warn of', () => {
	expect(codesOf({ frames: steady, segments: minute })).toEqual([]);
});

test('what was mended on reading is carried on, and a torn file says so', () => {
	const note = { code: 'tornLine', seen: 'The last line is cut.', advice: 'Nothing.' };
	expect(codesOf({ frames: steady, segments: minute, endedBy: null, readingNotes: [note] })).toEqual([
		'tornLine',
		'torn',
	]);
});

test.each<[string, Partial<MadeRun>]>([
	['runShort', { header: { profile: 'verdict' } }],
	['decodedOnly', { header: { measuringPoints: { source: 'generated', viewer: 'decoded' } } }],
	['noPictureAtFirst', { frames: steadyFrames(1550, (i) => (i < 60 ? null : 80)) }],
	['steppedBack', { frames: steadyFrames(1550, (i) => (i === 700 ? 200 : 80)) }],
	['harnessLate', { frames: steady.map((frame) => ({ ...frame, dueMs: frame.shownMs - 45 })) }],
	[
		'harnessBusy',
		{ harness: [0.95, 0.97].map((busyRatio) => ({ atMs: 0, busyRatio, loopDelayMs: null, encodeMs: null })) },
	],
	['clockBoundLarge', { segments: [{ ...minute[0]!, clock: madeClock(15) }] }],
	[
		'broken',
		{
			segments: [
				...minute,
				madeSegment({ segment: 1, startMs: 90_000, warmUpUntilMs: 95_000, endMs: 95_000 }),
			],
		},
	],
])('%s is warned of, with what to do', (code, over) => {
	const { warnings } = measure(madeRun({ frames: steady, segments: minute, ...over }));
	expect(warnings.map((warning) => warning.code)).toEqual([code]);
	expect(warnings[0]!.advice.length).toBeGreaterThan(10);
});

test('the same run gives the same figures, and rows in another order do too', () => {
	const random = createRandom(4);
	const frames = steadyFrames(1550, () => (random.next() < 0.05 ? null : 60 + 35 * random.next()));
	const run = madeRun({ frames, segments: minute });
	const once = measure(run);
	expect(measure(run)).toEqual(once);
	const shuffled = new (run.frames.constructor as new () => Run['frames'])();
	for (const row of [...run.frames].reverse()) shuffled.add(row);
	expect(measure({ ...run, frames: shuffled })).toEqual(once);
});

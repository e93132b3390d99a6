import { expect, test } from 'vitest';
import { segmentsForDelay, segmentsForTime, standingSegments } from '../../src/metrics/opticalSession.ts';
import type { SegmentPictures } from '../../src/metrics/presentedPictures.ts';
import { madeRun } from './madeRun.ts';

const pictures = [0, 1, 2].map(
	(segment): SegmentPictures => ({
		...{ segment, fromMs: 0, endMs: 1, originMs: 0, clockBoundMs: 0, sourcePeriodMs: 33 },
		...{ seenMs: new Float64Array(), shownMs: new Float64Array(), contentFrom: 0, contentUntil: 0 },
		...{ steppedBackCount: 0, coarseAges: [] },
	}),
);

function filmedRun(...codes: readonly string[]) {
	const events = codes.map((code, i) => ({
		...{ segment: 0, atMs: 0, frameNumber: null, code },
		detail: `${i} clip`,
	}));
	const run = madeRun({ frames: [], events, header: { rig: 'optical' } });
	const [segment] = run.segments;
	return {
		...run,
		segments: codes.map((_, number) => ({ ...segment!, segment: number })),
		events: run.events.map((event, number) => ({ ...event, segment: number })),
	};
}

const numbers = (segments: readonly SegmentPictures[]) => segments.map(({ segment }) => segment);

test('delay is told by the fast clips alone, age and freezes by the ordinary one alone', () => {
	const run = filmedRun('filmedFast', 'filmedOrdinary', 'filmedFast');
	expect(numbers(segmentsForDelay(run, pictures))).toEqual([0, 2]);
	expect(numbers(segmentsForTime(run, pictures))).toEqual([1]);
});

test('where all clips are of one kind, they speak for everything', () => {
	const run = filmedRun('filmedOrdinary', 'filmedOrdinary', 'filmedOrdinary');
	expect(numbers(segmentsForDelay(run, pictures))).toEqual([0, 1, 2]);
	expect(numbers(segmentsForTime(run, pictures))).toEqual([0, 1, 2]);
});

test('a film of which one piece saw one phase only stands as a whole, and no other film with it', () => {
	const run = filmedRun('filmedFast', 'filmedFast', 'filmedFast');
	const names = ['1 first', '1 first', '2 second'];
	const events = run.events.map((event, i) => ({ ...event, detail: names[i]! }));
	const stands = { ...events[0]!, code: 'phaseStands', detail: 'first: seen|advice' };
	expect([...standingSegments({ ...run, events: [...events, stands] })]).toEqual([0, 1]);
	const unseen = { ...events[2]!, code: 'phaseUnseen', detail: 'second: seen|advice' };
	expect([...standingSegments({ ...run, events: [...events, unseen] })]).toEqual([2]);
	expect([...standingSegments(run)]).toEqual([]);
});

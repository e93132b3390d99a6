import { expect, test } from 'vitest';
import { segmentsForDelay, segmentsForTime } from '../../src/metrics/opticalSession.ts';
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

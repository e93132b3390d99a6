import { expect, test } from 'vitest';
import { measureCompany } from '../../src/metrics/company.ts';
import { measureBreaks } from '../../src/metrics/linkBreaks.ts';
import { madeRun, madeSegment, steadyFrames } from './madeRun.ts';

const watching = (atMs: number, count: number) => ({
	...{ atMs, code: 'watching', frameNumber: null, segment: 0 },
	detail: `${count} besides the steering viewer`,
});

test('a run is told by how many looked on: each number with its own time, age and delay', () => {
	// 60 s of a picture each 40 ms: 50 ms late alone, 150 with one more, 450 with two; the first leaves again.
	const delayAt = (ms: number): number => (ms < 20_000 || ms >= 50_000 ? 50 : ms < 35_000 ? 150 : 450);
	const run = madeRun({
		frames: steadyFrames(1500, (i) => delayAt(i * 40)),
		events: [watching(20_000, 1), watching(35_000, 2), watching(50_000, 0)],
	});
	const rows = measureCompany(run, 240);
	expect(rows.map(({ others, seconds }) => [others, Math.round(seconds)])).toEqual([
		[0, 30],
		[1, 15],
		[2, 15],
	]);
	expect(rows.map(({ delayMedianMs }) => delayMedianMs)).toEqual(
		[50, 150, 450].map((ms) => expect.closeTo(ms, 6)),
	);
	// A picture is 50 ms old when it comes and 90 when the next one does.
	expect(rows[0]!.ageMeanMs).toBeLessThan(75);
	expect(rows[0]!.overLimitRatio).toBeLessThan(0.02);
	expect(rows[2]!.overLimitRatio).toBeGreaterThan(0.95);
});

test('a run in which nobody looked on says nothing of company, and neither do five seconds of it', () => {
	expect(measureCompany(madeRun({ frames: steadyFrames(500, () => 50) }), 240)).toEqual([]);
	const brief = madeRun({
		frames: steadyFrames(500, () => 50),
		events: [watching(10_000, 1), watching(13_000, 0)],
	});
	expect(measureCompany(brief, 240).map(({ others }) => others)).toEqual([0]);
});

test('a link that breaks and comes back in a new segment is one break with all of its length; a page put away is none', () => {
	const frames = [
		...steadyFrames(250, () => 50),
		...steadyFrames(250, () => 50).map((frame) => ({
			...frame,
			shownMs: frame.shownMs + 16_000,
			segment: 1,
		})),
	];
	const broken = (endedBy: string) =>
		measureBreaks(
			madeRun({
				frames,
				segments: [
					madeSegment({ endMs: 10_020, endedBy }),
					madeSegment({ segment: 1, startMs: 16_000, warmUpUntilMs: 19_000, endMs: 26_000 }),
				],
			}),
		);
	for (const lost of ['viewerLeft', 'viewerSilent'])
		expect(broken(lost)).toEqual([
			{ atMs: expect.closeTo(10_010, 6), lengthMs: expect.closeTo(6040, 6), steadyAfterMs: 0 },
		]);
	expect(broken('hidden')).toEqual([]);
});

test('a picture that stood while the link warmed up is no break; one that never came back is, for as long as was seen', () => {
	const frames = steadyFrames(500, (i) => (i > 20 && i < 70 ? null : i > 400 ? null : 50));
	const breaks = measureBreaks(
		madeRun({ frames, segments: [madeSegment({ warmUpUntilMs: 4000, endMs: 20_000 })] }),
	);
	expect(breaks).toEqual([
		{ atMs: expect.closeTo(16_050, 6), lengthMs: expect.closeTo(3950, 6), steadyAfterMs: null },
	]);
});

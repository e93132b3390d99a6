/** What a yard check says of what it found, of what it did not look for, and of what stands beside it. */
import { expect, test } from 'vitest';
import { candidateCauses } from '../../src/metrics/repeatCauses.ts';
import { renderYardPage } from '../../src/report/yardHtml.ts';
import { yardSections } from '../../src/report/yardWords.ts';
import { newYardSession, type YardReading, type YardSession } from '../../src/verdict/yardSession.ts';

const tablet = { system: 'Linux; Android; K', browser: 'Chrome Safari', displayHz: 60 };
const reading: YardReading = {
	...{
		overLimitRatio: 0.01,
		effectiveCount: 200,
		headline: 'undetermined',
		against: [],
		repeats: [],
		air: [],
	},
	delay: { medianMs: 60, p95Ms: 90, uncertaintyMs: 3 },
	...{ device: tablet, steer: 'undetermined', order: 'Wait.', company: [], breaks: [] },
};
const every = (periodS: number, falseAlarmRatio = 1e-3) => ({
	...{ periodS, periodUncertaintyS: 0.002 * periodS, falseAlarmRatio, strengthRatio: 0.2 },
	...{ bothWays: false, carriedBy: 'probes' as const },
});

let runs = 0;
const run = (place: number, changed: Partial<YardReading> = {}) => ({
	...{ place, runId: `r${++runs}`, state: 'done' as const, note: null },
	reading: { ...reading, ...changed },
});
const session = (changed: Partial<YardSession>): YardSession => ({
	...newYardSession('y', '2026-01-01T00:00:00Z'),
	places: ['door', 'arch'].map((name) => ({ name, distanceM: null, heightM: null })),
	...changed,
});
const told = (of: YardSession, title: string): string[] =>
	(yardSections(of, candidateCauses).find((section) => section.title === title)?.items ?? []).map((words) =>
		words.replace(/\s/g, ' '),
	);

test('where nothing could be looked for, nothing is called absent', () => {
	const none = session({ visits: [run(0, { repeats: null })] });
	expect(told(none, 'What repeats')).toEqual([expect.stringMatching(/^door: .*could not be looked for/)]);
	const partly = told(session({ visits: [run(0, { repeats: null }), run(1)] }), 'What repeats');
	expect(partly).toEqual([
		expect.stringMatching(/^door: .*could not be looked for/),
		expect.stringMatching(/^arch: nothing was seen to repeat/),
	]);
	const all = told(session({ visits: [run(0), run(1)] }), 'What repeats');
	expect(all).toEqual([expect.stringMatching(/^Nothing was seen to repeat\./)]);
});

test('what repeated in one visit is told though a later run at that place did not show it, with how often', () => {
	const seen = session({
		visits: [
			run(0, { repeats: [every(1.25, 1e-3)] }),
			run(1),
			run(0, { repeats: [every(1.2505, 1e-6), every(0.1024)] }),
		],
		verdictRuns: [run(0)],
	});
	const words = told(seen, 'What repeats');
	const [first, ...others] = words.filter((line) => line.includes('something repeats'));
	// The run that is surest of it gives the figures.
	expect(first).toMatch(
		/^door: something repeats every 1\.25 s .*seen in 2 of 3 runs, .*less than 1 in 10,000/,
	);
	expect(others).toEqual([expect.stringMatching(/every 0\.102 s .*seen in 1 of 3 runs/)]);
	expect(words.at(-1)).toMatch(/^arch: nothing was seen to repeat/);
});

test('a period that nothing known has is also told as the half or the multiple that it may be', () => {
	const causes = (periodS: number): string =>
		told(session({ visits: [run(0, { repeats: [every(periodS)] })] }), 'What repeats')
			.slice(1)
			.join(' ');
	// Halves and thirds of a fence's pulses, and three of them, as bench `periodicity` saw them told.
	for (const [periodS, part] of [
		[0.622, 'If this is half the true period, 1.24 s, it may be an electric'],
		[0.4697, 'If this is a third of the true period, 1.41 s, it'],
		[3.826, 'If this is three times the true period, 1.28 s, it'],
	] as const) {
		expect(causes(periodS)).toMatch(/^Nothing that we know of has this period/);
		expect(causes(periodS)).toContain(part);
		expect(causes(periodS)).toMatch(/an electric fence energiser; that was not identified/);
	}
	expect(causes(1.25)).toMatch(/^It may be an electric fence energiser; that was not identified/);
	expect(causes(1.25)).not.toContain('true period');
	const both = session({
		visits: [run(0, { repeats: [every(1.25, 1e-6)] }), run(0, { repeats: [every(0.6248)] })],
	});
	const words = told(both, 'What repeats');
	expect(words[3]).toBe('It is half the 1.25 s told for this place: most likely the same thing.');
	expect(words).toHaveLength(4);
});

test('an answer of yes names a no of the same place before it, and one of another place only beside it', () => {
	const yes = { steer: 'yes' as const, headline: 'fit' };
	const no = { steer: 'no' as const, headline: 'not fit' };
	const same = told(session({ verdictRuns: [run(0, no), run(0, yes)] }), 'May I steer?');
	expect(same[0]).toBe('door: fit');
	expect(same[2]).toContain('at this same place, said no');
	expect(same).toContain('Before it, door: not fit.');
	const other = told(session({ verdictRuns: [run(1, no), run(0, yes)] }), 'May I steer?').join(' ');
	expect(other).not.toContain('same place');
	expect(other).toContain('Before it, arch: not fit.');
});

test('the reading at home names its device: of the same kind, of another, or not known', () => {
	const home = {
		runId: 'kitchen',
		startedAt: '2026-01-01T08:00:00Z',
		medianMs: 40,
		p95Ms: 50,
		uncertaintyMs: 4,
	};
	const beside = (device: YardReading['device'], here: YardReading['device'] = tablet): string =>
		told(
			session({ home: { ...home, device }, verdictRuns: [run(0, { device: here })] }),
			'Beside the reading at home',
		)[1] ?? '';
	expect(beside(tablet)).toMatch(
		/^The reading at home is kitchen of 2026-01-01, read on the same kind of device/,
	);
	expect(beside(tablet)).toContain('Whether it was this very tablet a page cannot know');
	for (const other of [
		{ ...tablet, displayHz: 120 },
		{ ...tablet, system: 'Windows NT; Win64; x64' },
		{ ...tablet, browser: 'Node' },
	])
		expect(beside(other)).toContain('another kind of device: there ');
	expect(beside(null)).toMatch(/on which device it was read is not known/);
	expect(beside(tablet, null)).toMatch(/on which device this one was read is not known/);
});

test('visits made after an answer was shown are named as a further look', () => {
	const visits = [run(0), run(1), run(0), run(1), run(0), run(1)];
	const places = (shownAfter: number[]): string =>
		told(session({ visits, shownAfter }), 'The places').join(' ');
	expect(places([])).not.toContain('look 2');
	expect(places([4])).toContain('this is look 2');
});

test('the page to show or print states nothing that a run under way would make false', () => {
	const page = renderYardPage({ session: session({}), causesOf: candidateCauses, toolVersion: '0' });
	expect(page).not.toContain('Nothing of ours is sending any more');
	expect(page).toContain('stop any run: then nothing of ours is sending');
	expect(page.indexOf('Only then go on.')).toBeGreaterThan(page.indexOf('Move the tip'));
});

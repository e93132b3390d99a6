/** What a yard check says of what it found, of what it did not look for, and of what stands beside it. */
import { expect, test } from 'vitest';
import { candidateCauses } from '../../src/metrics/repeatCauses.ts';
import { answerFrame } from '../../src/report/yardAnswer.ts';
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
	...{
		device: tablet,
		steer: 'undetermined',
		order: 'Wait.',
		company: [],
		breaks: [],
		made: null,
		overTime: null,
	},
};
const every = (periodS: number, falseAlarmRatio = 1e-3) => ({
	...{ periodS, periodUncertaintyS: 0.002 * periodS, falseAlarmRatio, strengthRatio: 0.2 },
	...{ bothWays: false, carriedBy: 'probes' as const },
});

let runs = 0;
const run = (place: number, changed: Partial<YardReading> = {}) => ({
	...{ place, runId: `y-${++runs}-run`, state: 'done' as const, note: null },
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

test('a look at the answering place that says no after the answer stands in its stead, and one before it is named', () => {
	const yes = { steer: 'yes' as const, headline: 'fit' };
	const no = { steer: 'no' as const, headline: 'unfit', order: 'Do not start.' };
	const answered = [run(0, yes)];
	for (const later of [
		{ visits: [run(0, no)] },
		{ visits: [run(0)], enduranceRuns: [run(0, no)] },
	] as Partial<YardSession>[]) {
		const since = session({ verdictRuns: answered, ...later });
		const words = told(since, 'May I steer?');
		expect(words.slice(0, 2)).toEqual(['door: unfit', 'Do not start.']);
		expect(words.at(-1)).toBe('Before it, door: fit.');
		expect(answerFrame(since)).toBe('unfit');
		// The figures beside home are those of the run that answers.
		expect(words.join(' ')).not.toContain('its run began afresh');
	}
	const elsewhere = session({ verdictRuns: answered, visits: [run(1, no)], companyRuns: [run(0, no)] });
	expect(told(elsewhere, 'May I steer?')[0]).toBe('door: fit');
	expect(answerFrame(elsewhere)).toBe('steering');
	const before = session({ visits: [run(0, no)], verdictRuns: [run(0, yes)] });
	expect(told(before, 'May I steer?')[2]).toContain('at this same place, said no');
	expect(answerFrame(before)).toBe('steering');
});

test('an answer of an hour ago and more steers nobody, though its words are still told', () => {
	const yes = run(0, { steer: 'yes', headline: 'fit' });
	const old = session({ verdictRuns: [yes], staleRuns: [yes.runId] });
	expect(told(old, 'May I steer?').slice(0, 2)).toEqual([
		'door: measured an hour ago or more. Run again here before you steer by it.',
		'What it said then: fit. The air has had time to change.',
	]);
	expect(answerFrame(old)).toBe('undetermined');
	const again = session({
		verdictRuns: [yes, run(0, { steer: 'yes', headline: 'fit' })],
		staleRuns: [yes.runId],
	});
	expect(answerFrame(again)).toBe('steering');
	const visited = run(0);
	expect(told(session({ visits: [visited], staleRuns: [visited.runId] }), 'The places').join(' ')).toContain(
		'begin a new check',
	);
});

test('the answer names what was judged, when and how long, and a network that the kit does not send over', () => {
	const made = { subject: 'the tablet over WebRTC', startedAt: '2026-01-01T14:05:00Z', observedS: 330 };
	const over = (wifi: YardSession['wifi']): string =>
		told(session({ wifi, verdictRuns: [run(0, { made })] }), 'May I steer?').join(' ');
	expect(over('kit')).toContain('Judged: the tablet over WebRTC; 330 s observed, from 2026-01-01 14:05 UTC.');
	expect(over('kit')).not.toContain('laptop’s own network');
	expect(over('laptop')).toContain('measured over this laptop’s own network');
});

test('visits that say no rule their places out where no full run was made', () => {
	const no = { steer: 'no' as const, headline: 'unfit' };
	expect(told(session({ visits: [run(0, no), run(1)] }), 'May I steer?')).toEqual([
		expect.stringContaining('treat as not fit to steer'),
		'door, by two minutes: unfit.',
	]);
	expect(told(session({ visits: [run(0, no), run(0)] }), 'May I steer?')).toHaveLength(1);
});

test('a place that no run was made at is named as such, also where no visits were compared', () => {
	expect(told(session({ verdictRuns: [run(0)] }), 'The places')).toEqual(['arch: not measured.']);
	expect(told(session({ visits: [run(1)], verdictRuns: [run(0)] }), 'The places').join(' ')).not.toContain(
		'not measured',
	);
});

test('where nobody ever came a film is offered, and not where one run was made', () => {
	const nobody = { ...run(0), state: 'nothingMeasured' as const, reading: null };
	const film = told(session({ visits: [nobody, nobody] }), 'A film instead').join(' ');
	expect(film).toMatch(/^No run measured anything\. .*keeps its devices from one another/);
	expect(film).toContain('can only say no');
	for (const other of [session({ visits: [nobody, run(1)] }), session({})])
		expect(told(other, 'A film instead')).toEqual([]);
});

test('how losses lie is told: how many in a row, how often, how near to one another', () => {
	const way = {
		...{ way: 'toViewer' as const, carriedBy: 'probes' as const, sent: 6000, lostRatio: 0.012, pdvP95Ms: 9 },
		...{ burstCount: 3, longestBurstMs: 120, reordered: 0, closeLossRatio: 0.75 },
		gilbert: { meanBurst: 3.24, meanGap: 266.4 },
	};
	const air = (changed: object): string =>
		told(session({ visits: [run(0, { air: [{ ...way, ...changed }] })] }), 'The air').join(' ');
	expect(air({})).toContain(
		'Losses: 3.2 in a row on average, about once in 266 packets. 75.0 % of the lost ones lie within 16 of another.',
	);
	expect(air({ gilbert: null, closeLossRatio: null })).not.toMatch(/Losses|within 16/);
});

test('half an hour is told by its stretches, with what moved and a story, and where the picture stood', () => {
	const overTime = {
		minutes: 30,
		rows: [
			{ atMs: 0, delayMs: 40, ageMs: 60, lostRatio: 0, colour: 1 },
			{ atMs: 150_000, delayMs: null, ageMs: null, lostRatio: 1, colour: null },
		],
		changes: [{ quantity: 'delayMs' as const, atMs: 360_000, before: 40, after: 90 }],
	};
	const words = (reading: Partial<YardReading>): string =>
		told(session({ enduranceRuns: [run(0, reading)] }), 'Half an hour').join(' ');
	expect(words({ overTime })).toContain(
		'6:00 min: delay, median, from 40.0 ms to 90.0 ms. A story that would fit: heat or the battery.',
	);
	expect(words({ overTime })).toContain(
		'From 0:00 min: delay 40.0 ms, 60.0 ms old on average, 0.00 % lost, colour off by 1.0. From 2:30 min: no new picture, 100.0 % lost.',
	);
	expect(words({ overTime })).toContain('never stood still');
	expect(words({})).toContain('too short');
	// What repeated in it is looked for as in any run there.
	const repeating = session({ enduranceRuns: [run(0, { repeats: [every(1.25)] })] });
	expect(told(repeating, 'What repeats')[0]).toContain('door: something repeats every 1.25 s');
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
	const here = session({ home: { ...home, device: tablet }, verdictRuns: [run(0, { device: tablet })] });
	expect(told(here, 'Beside the reading at home')[2]).toContain(
		`here --kit RUN --link ${here.verdictRuns[0]?.runId} --home kitchen`,
	);
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

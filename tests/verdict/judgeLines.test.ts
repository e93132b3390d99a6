import { expect, test } from 'vitest';
import { combineUpper } from '../../src/statistics/guardBand.ts';
import { standardCriteria } from '../../src/verdict/criteria.ts';
import { judgeLines } from '../../src/verdict/judgeLines.ts';
import { judgeRun } from '../../src/verdict/judgeRun.ts';
import type { JudgedLine } from '../../src/verdict/verdict.ts';
import {
	colour,
	delayVariation,
	deliveredRate,
	frames,
	freezes,
	freshDelay,
	gaps,
	harness,
	madeMetrics,
	madeRate,
	madeShare,
	pictureAge,
	unmeasured,
} from './madeMetrics.ts';

type Over = Parameters<typeof madeMetrics>[0];

function line(id: string, over: Over = {}): JudgedLine {
	const found = judgeLines(madeMetrics(over), standardCriteria).find((judged) => judged.id === id);
	if (found === undefined) throw new Error(`no line ${id}`);
	return found;
}

const madeSharpness = {
	kind: 'measured',
	mtf50CyPx: 0.2,
	mtf10CyPx: 0.35,
	overshootRatio: 0,
	referenceMtf50CyPx: 0.22,
	ofReferenceRatio: 0.9,
	ofReferenceLowerRatio: null,
	ofReferenceUpperRatio: null,
	edges: [],
	pictureCount: 5,
} as const;

const over5 = { centralShareRatio: 0.2 };
const between = { centralShareRatio: 0.049 };
const noBound = { upperRatio: null, lowerRatio: null, noBoundReason: 'fewer than 59 independent readings' };

const cases: readonly (readonly [id: string, state: JudgedLine['state'], over: Over])[] = [
	['age', 'met', {}],
	['age', 'notMet', { pictureAge: pictureAge({ overLimit: madeShare(240, over5) }) }],
	['age', 'undecided', { pictureAge: pictureAge({ overLimit: madeShare(240, between) }) }],
	['age', 'undecided', { pictureAge: pictureAge({ overLimit: madeShare(240, noBound) }) }],
	['age', 'notMeasured', { pictureAge: unmeasured }],
	['delay', 'met', {}],
	['delay', 'notMet', { freshDelay: freshDelay({ overLimit: madeShare(200, over5) }) }],
	['delay', 'undecided', { freshDelay: freshDelay({ overLimit: madeShare(200, between) }) }],
	['delay', 'notMeasured', { freshDelay: unmeasured }],
	['half-second', 'met', { freshDelay: freshDelay({ overHalfSecond: madeShare(500, over5) }) }],
	[
		'half-second',
		'notMet',
		{ freshDelay: freshDelay({ overHalfSecond: madeShare(500, { centralShareRatio: 0.6 }) }) },
	],
	[
		'half-second',
		'undecided',
		{ freshDelay: freshDelay({ overHalfSecond: madeShare(500, { centralShareRatio: 0.499 }) }) },
	],
	['half-second', 'notMeasured', { freshDelay: unmeasured }],
	[
		'variation',
		'met',
		{ delayVariation: delayVariation({ spreadMs: 95, spreadUpperMs: 100, spreadLowerMs: 90 }) },
	],
	[
		'variation',
		'notMet',
		{ delayVariation: delayVariation({ spreadMs: 120, spreadUpperMs: 130, spreadLowerMs: 101 }) },
	],
	[
		'variation',
		'undecided',
		{ delayVariation: delayVariation({ spreadMs: 95, spreadUpperMs: 101, spreadLowerMs: 90 }) },
	],
	['variation', 'undecided', { delayVariation: delayVariation({ spreadUpperMs: null }) }],
	['variation', 'notMeasured', { delayVariation: unmeasured }],
	['rate', 'met', {}],
	['rate', 'notMet', { deliveredRate: deliveredRate({ slowWindows: madeShare(15, over5) }) }],
	['rate', 'undecided', { deliveredRate: deliveredRate({ slowWindows: madeShare(15, between) }) }],
	['rate', 'notMeasured', { deliveredRate: unmeasured }],
	['freezes', 'met', {}],
	['freezes', 'notMet', { freezes: freezes({ freezes: madeRate(9) }) }],
	['freezes', 'undecided', { freezes: freezes({ freezes: madeRate(1) }) }],
	['freezes', 'notMeasured', { freezes: unmeasured }],
	['gaps', 'met', {}],
	['gaps', 'notMet', { gaps: gaps({ over500: madeRate(9) }) }],
	['gaps', 'undecided', { gaps: gaps({ over500: madeRate(1) }) }],
	['gaps', 'notMeasured', { gaps: unmeasured }],
	['lost', 'met', {}],
	['lost', 'notMet', { frames: frames({ lostRatio: 0.2, lostUpperRatio: 0.25, lostLowerRatio: 0.15 }) }],
	['lost', 'undecided', { frames: frames({ lostRatio: 0.09, lostUpperRatio: 0.11, lostLowerRatio: 0.07 }) }],
	['lost', 'notMeasured', { frames: unmeasured }],
	['lost-record', 'met', {}],
	[
		'lost-record',
		'notMet',
		{ frames: frames({ lostRatio: 0.02, lostUpperRatio: 0.025, lostLowerRatio: 0.015 }) },
	],
	[
		'lost-record',
		'undecided',
		{ frames: frames({ lostRatio: 0.009, lostUpperRatio: 0.011, lostLowerRatio: 0.007 }) },
	],
	['lost-record', 'notMeasured', { frames: unmeasured }],
	['continuity', 'met', {}],
	['continuity', 'notMet', { freezes: freezes({ pauses: madeRate(1) }) }],
	['continuity', 'undecided', { freezes: freezes({ pauses: madeRate(0, 120_000) }) }],
	['continuity', 'notMeasured', { freezes: unmeasured }],
	['moving-record', 'met', { deliveredRate: deliveredRate({ decodedShareRatio: 0.9, sourceHz: 24 }) }],
	['moving-record', 'notMet', { deliveredRate: deliveredRate({ decodedShareRatio: 0.899 }) }],
	['moving-record', 'notMet', { deliveredRate: deliveredRate({ sourceHz: 20 }) }],
	['moving-record', 'undecided', { deliveredRate: deliveredRate({ sourceHz: Number.NaN }) }],
	['moving-record', 'notMeasured', { deliveredRate: unmeasured }],
	['colour', 'met', { colour: colour({ medianDeltaE00: 2.9, medianUpper: 3, medianLower: 2.8 }) }],
	['colour', 'notMet', { colour: colour({ medianDeltaE00: 4, medianUpper: 4.2, medianLower: 3.8 }) }],
	['colour', 'notMet', { colour: colour({ namedFault: 'wrong matrix', faultsLookedFor: true }) }],
	['colour', 'undecided', { colour: colour({ medianDeltaE00: 2.9, medianUpper: 3.1, medianLower: 2.8 }) }],
	['colour', 'notMeasured', { colour: unmeasured }],
	['colour-p95', 'met', { colour: colour({ p95DeltaE00: 5.8, p95Upper: 6, p95Lower: 5.6 }) }],
	['colour-p95', 'notMet', { colour: colour({ p95DeltaE00: 7, p95Upper: 7.4, p95Lower: 6.7 }) }],
	['colour-p95', 'undecided', { colour: colour({ p95DeltaE00: 5.8, p95Upper: 6.1, p95Lower: 5.6 }) }],
	['colour-p95', 'notMeasured', { colour: unmeasured }],
	['orientation', 'informs', {}],
	['detail', 'informs', {}],
];

test.each(cases)('the line %s is %s', (id, state, over) => {
	const judged = line(id, over);
	expect(judged.state).toBe(state);
	expect(judged.because).not.toBe('');
});

test.each([
	['met', { ofReferenceRatio: 0.9, ofReferenceLowerRatio: 0.81, ofReferenceUpperRatio: 0.99 }],
	['notMet', { ofReferenceRatio: 0.7, ofReferenceLowerRatio: 0.61, ofReferenceUpperRatio: 0.79 }],
	// The reading is enough, its bound is not.
	['undecided', { ofReferenceRatio: 0.85, ofReferenceLowerRatio: 0.79, ofReferenceUpperRatio: 0.91 }],
	['undecided', { ofReferenceRatio: 0.75, ofReferenceLowerRatio: 0.69, ofReferenceUpperRatio: 0.81 }],
	// One picture has no repeats, however fine it is.
	['undecided', { ofReferenceRatio: 0.95, ofReferenceLowerRatio: null, ofReferenceUpperRatio: null }],
	// Without a reference it is not asked at all.
	['informs', { ofReferenceRatio: null }],
] as const)('in stills the line of fine detail is %s', (state, over) => {
	const sharpness = { ...madeSharpness, ...over };
	const judged = line('detail', { header: { rig: 'still', profile: 'file' }, sharpness });
	expect(judged.state).toBe(state);
	if (state === 'met') expect(judged.bound).toBe(0.81);
});

test('a line that the rig does not ask informs, and says so', () => {
	const judged = line('age', { header: { rig: 'still', profile: 'file' } });
	expect(judged).toMatchObject({ state: 'informs', required: [] });
	expect(judged.because).toMatch(/^informs only; /);
});

test('no freeze in 310 s leaves up to 0.58 a minute open, which meets 0.6', () => {
	const judged = line('freezes');
	expect(judged.bound).toBeCloseTo((2.996 / 310) * 60, 3);
	expect(judged).toMatchObject({ state: 'met', limit: 0.6 });
});

test('no freeze in 120 s could still be up to 1.5 a minute, and three minutes more would settle it', () => {
	const judged = line('freezes', { freezes: freezes({ freezes: madeRate(0, 120_000) }) });
	expect(judged.bound).toBeCloseTo(1.498, 3);
	expect(judged).toMatchObject({ state: 'undecided', settleBySeconds: 180, longerWillSettle: true });
});

test('a long run asks 0.3 a minute: none in 620 s meets it, one leaves it undecided', () => {
	const long = { header: { profile: 'long' as const }, facts: { observedMs: 620_000 } };
	expect(line('freezes', { ...long, freezes: freezes({ freezes: madeRate(0, 620_000) }) })).toMatchObject({
		state: 'met',
		limit: 0.3,
	});
	const one = line('freezes', { ...long, freezes: freezes({ freezes: madeRate(1, 620_000) }) });
	expect(one.bound).toBeCloseTo((4.744 / 620) * 60, 3);
	expect(one.state).toBe('undecided');
});

test.each([
	[0, 2.996],
	[1, 4.744],
	[2, 6.296],
])('%i events in a minute bound the rate at %f', (count, upper) => {
	expect(line('gaps', { gaps: gaps({ over500: madeRate(count, 60_000) }) }).bound).toBeCloseTo(upper, 3);
});

test('a rate of freezes is not met by its lower bound, which is what the line shows then', () => {
	const judged = line('freezes', { freezes: freezes({ freezes: madeRate(9) }) });
	expect(judged.bound).toBeCloseTo(madeRate(9).lowerPerMin, 12);
	expect(judged.bound).toBeGreaterThan(0.6);
});

test('one pause over five seconds is no, however long the run', () => {
	const pauses = madeRate(1, 36_000_000);
	expect(pauses.lowerPerMin).toBeLessThan(0.3);
	expect(line('continuity', { freezes: freezes({ pauses }) }).state).toBe('notMet');
});

test('random and systematic doubt join in quadrature, not one after the other', () => {
	// Each alone stays within 5 %: 1 % + 3 %, and 1 % + 2.5 %. Added up they would not, in quadrature they do.
	const overLimit = madeShare(240, {
		centralShareRatio: 0.01,
		upperRatio: 0.04,
		lowerRatio: 0.002,
		shareIfReadLowRatio: 0.035,
		shareIfReadHighRatio: 0.001,
	});
	const judged = line('age', { pictureAge: pictureAge({ overLimit }) });
	expect(judged.bound).toBeCloseTo(0.01 + Math.hypot(0.03, 0.025), 12);
	expect(judged.state).toBe('met');
	const wider = line('age', {
		pictureAge: pictureAge({ overLimit: { ...overLimit, shareIfReadLowRatio: 0.04 } }),
	});
	expect(wider.bound).toBeCloseTo(
		combineUpper({ centralRatio: 0.01, randomUpperRatio: 0.04, ifLowRatio: 0.04 }),
		12,
	);
	expect(wider.state).toBe('undecided');
});

test('a steady delay of 190 ms is undecided at 200 ms when the rig’s doubt reaches over the limit', () => {
	// JCGM 106, computed in standards.md 3.4: 190 against 200 with u = 12 has a risk of 20 %; 176 one of 2.28 %.
	const steady = { shareRatio: 0, upperRatio: 0.0025, lowerRatio: 0 };
	const atMost = (shareIfReadLowRatio: number) =>
		line('delay', {
			freshDelay: freshDelay({ overLimit: madeShare(200, { ...steady, shareIfReadLowRatio }) }),
		});
	// 190 + 1.645 * 12 = 209.7: read low, every picture is late. 176 + 19.7 = 195.7: none is.
	expect(atMost(1)).toMatchObject({ state: 'undecided', longerWillSettle: false });
	expect(atMost(0).state).toBe('met');
});

test('bad spells rarer than the run can see: too short a run is undecided however good it looks', () => {
	// reg45 of estimators.md at 60 s, in the default profile: nothing seen, and nothing could have been.
	const shortShare = (limit: number) =>
		madeShare(limit, { observedMs: 60_000, effectiveCount: 240, upperRatio: 0.0125 });
	const over = {
		facts: { observedMs: 60_000 },
		pictureAge: pictureAge({ overLimit: shortShare(240) }),
		freshDelay: freshDelay({ overLimit: shortShare(200), overHalfSecond: shortShare(500) }),
	};
	for (const id of ['age', 'delay', 'variation']) {
		expect(line(id, over)).toMatchObject({ state: 'undecided', settleBySeconds: 240 });
	}
	expect(line('age', over).because).toContain('2.5 s');
	expect(line('half-second', over).state).toBe('met');
});

test('a run too short for its spells may still say no', () => {
	const overLimit = madeShare(240, { observedMs: 60_000, centralShareRatio: 0.3 });
	expect(line('age', { facts: { observedMs: 60_000 }, pictureAge: pictureAge({ overLimit }) }).state).toBe(
		'notMet',
	);
});

test('a brief run is long enough for the spells of 1 s that it vouches for', () => {
	const overLimit = madeShare(240, { observedMs: 118_000 });
	const brief = { header: { profile: 'brief' as const }, facts: { observedMs: 120_000 } };
	expect(line('age', { ...brief, pictureAge: pictureAge({ overLimit }) }).state).toBe('met');
	const shorter = pictureAge({ overLimit: { ...overLimit, observedMs: 117_999 } });
	expect(line('age', { ...brief, pictureAge: shorter }).state).toBe('undecided');
});

const late = (over: Partial<Record<'age' | 'delay' | 'rate' | 'gaps', number>>) =>
	harness({ lateSharePerLine: { age: 0, delay: 0, rate: 0, gaps: 0, ...over } });

test.each([
	['age', late({ age: 0.026 })],
	['delay', late({ delay: 0.026 })],
	['half-second', late({ delay: 0.26 })],
	['variation', late({ delay: 0.026 })],
	['rate', late({ rate: 0.026 })],
	['freezes', late({ age: 0.0011 })],
	['gaps', late({ gaps: 0.0026 })],
	['continuity', late({ gaps: 0.0162 })],
] as const)(
	'a harness that itself fills more than half of what %s allows leaves it undecided',
	(id, busy) => {
		expect(line(id, { harness: busy })).toMatchObject({
			state: 'undecided',
			because: expect.stringContaining('lateness'),
		});
		expect(line(id, { harness: unmeasured }).state).toBe('undecided');
	},
);

test('a harness late for less than half of what a line allows does not hold it up', () => {
	expect(line('age', { harness: late({ age: 0.024 }) }).state).toBe('met');
});

test('a pause that the harness’s own silence can account for is not held against the link', () => {
	const own = { freezes: freezes({ pauses: madeRate(1) }), harness: late({ gaps: 5100 / 310_000 }) };
	expect(line('continuity', own).state).toBe('undecided');
	expect(line('continuity', { ...own, harness: late({ gaps: 1000 / 310_000 }) }).state).toBe('notMet');
});

test('a share that was counted at another level than the criteria ask is not used', () => {
	const judged = line('age', { pictureAge: pictureAge({ overLimit: madeShare(300) }) });
	expect(judged.state).toBe('undecided');
	expect(judged.because).toContain('300');
	const slow = (limit: number) =>
		line('rate', { deliveredRate: deliveredRate({ slowWindows: madeShare(limit) }) }).state;
	expect([slow(13.4), slow(13.5), slow(15), slow(15.1)]).toEqual(['undecided', 'met', 'met', 'undecided']);
});

test.each([
	{ upperRatio: -0.01 },
	{ upperRatio: Number.NaN },
	{ upperRatio: 1.5 },
	{ centralShareRatio: Number.NaN },
	{ shareIfReadLowRatio: Number.NaN },
	{ lowerRatio: 0.5, centralShareRatio: 0, upperRatio: 0.001 },
	{ observedMs: 0 },
	{ observedMs: Number.NaN },
])('figures that cannot be shares of one run say nothing: %j', (broken) => {
	const judged = line('age', { pictureAge: pictureAge({ overLimit: madeShare(240, broken) }) });
	expect(judged.state).toBe('undecided');
	expect([judged.reading, judged.bound, judged.margin].every((x) => x === null || Number.isFinite(x))).toBe(
		true,
	);
});

test('the colour of a rig other than the link is never called met: its own doubt is not known', () => {
	expect(line('colour', { header: { rig: 'recording', profile: 'file' } }).state).toBe('undecided');
});

test('until faults are named, the colour line says that they were not looked for', () => {
	expect(line('colour').because).toContain('faults not looked for');
});

test('a file is a census: its lost pictures are counted, not estimated', () => {
	const file = { header: { rig: 'recording' as const, profile: 'file' as const } };
	const counted = frames({ lostRatio: 0.009, lostUpperRatio: 0.02, lostLowerRatio: 0.004 });
	expect(line('lost-record', { ...file, frames: counted })).toMatchObject({ state: 'met', bound: 0.009 });
});

test('a recording without a proper reference is not asked for its colour; one whose colour failed is', () => {
	const file = { header: { rig: 'recording' as const, profile: 'file' as const } };
	const none = { ...unmeasured, reason: 'noReference' };
	expect(line('colour', { ...file, colour: none }).state).toBe('informs');
	expect(line('colour', { ...file, colour: unmeasured }).state).toBe('notMeasured');
});

test('margins are told in the scale of their line, and only where there is a bound', () => {
	expect(line('age').margin).toBeCloseTo((0.05 - 0.0025) / 0.05, 12);
	expect(line('half-second').margin).toBeCloseTo((500 - 92.4) / 500, 12);
	expect(line('variation').margin).toBeCloseTo((100 - 46) / 100, 12);
	expect(line('freezes').margin).toBeNull();
	expect(line('age', { pictureAge: pictureAge({ overLimit: madeShare(240, noBound) }) }).margin).toBeNull();
	expect(line('half-second', { freshDelay: freshDelay({ medianUpperMs: null }) }).margin).toBeNull();
});

test.each([
	['upright', false, 'met'],
	['turned', false, 'undecided'],
	['turned', true, 'met'],
	['mirrored', false, 'notMet'],
	// Nobody can mean a mirror image.
	['mirrored', true, 'notMet'],
] as const)('through a lens a picture that is %s (meant so: %s) is %s', (shown, asMeant, state) => {
	const orientation = {
		kind: 'measured',
		shown,
		turnedDeg: shown === 'upright' ? 0 : 90,
		asMeant,
		count: 4,
	} as const;
	const filmed = { header: { rig: 'optical' }, orientation } as const;
	expect(line('orientation', filmed)).toMatchObject({ state, required: expect.arrayContaining(['steer']) });
	const { verdict } = judgeRun(madeMetrics(filmed), standardCriteria);
	if (state === 'notMet') expect(verdict.steer).toBe('no');
	else expect(verdict.steer).not.toBe('no');
});

test('a filmed run that does not say what its clips were is no whole session', () => {
	const orientation = { kind: 'measured', shown: 'upright', turnedDeg: 0, asMeant: false, count: 4 } as const;
	const subject = { kind: 'kit', name: 'the kit Alder', invented: false } as const;
	const filmed = { header: { rig: 'optical', subject }, orientation } as const;
	const said = madeMetrics({ ...filmed, facts: { sessionMissing: [] } });
	expect(judgeRun(said, standardCriteria).verdict.steer).toBe('yes');
	const silent = judgeRun(madeMetrics(filmed), standardCriteria).verdict;
	expect(silent.steer).toBe('undetermined');
	expect(silent.order).toContain('film a whole session');
});

test('losses in longer runs need more time to settle', () => {
	const open = { lostRatio: 0.006, lostUpperRatio: 0.02, lostLowerRatio: 0.003, sent: 9000 };
	const settle = (over: object) =>
		line('lost-record', { frames: frames({ ...open, lostEffectiveCount: 3000, ...over }) }).settleBySeconds;
	expect(settle({ longestLossRun: 9 })).toBe(240);
	expect(settle({ longestLossRun: 18 })).toBe(660);
	expect(settle({ longestLossRun: 9, lostEffectiveCount: 30_000 })).toBe(150);
});

test('a run whose largest cluster was long needs more time to settle', () => {
	const share = { effectiveCount: 60, centralShareRatio: 0.01, upperRatio: 0.08, lowerRatio: 0 };
	const settle = (clusterRatio: number) =>
		line('age', { pictureAge: pictureAge({ overLimit: madeShare(240, { ...share, clusterRatio }) }) })
			.settleBySeconds;
	expect(settle(0.02)!).toBeGreaterThan(settle(0.0005)!);
});

test('about how much longer follows n_req: 1 % over the limit needs 90 readings, 4.9 % none will settle', () => {
	const share = { effectiveCount: 60, centralShareRatio: 0.01, upperRatio: 0.08, lowerRatio: 0 };
	const settle = (over: object) =>
		line('age', { pictureAge: pictureAge({ overLimit: madeShare(240, { ...share, ...over }) }) });
	// 310 s * (90 / 60 - 1) = 155 s, rounded up to half a minute.
	expect(settle({})).toMatchObject({ state: 'undecided', settleBySeconds: 180, longerWillSettle: true });
	expect(settle({ centralShareRatio: 0.049 })).toMatchObject({
		settleBySeconds: null,
		longerWillSettle: false,
	});
	// 4 % needs 1332 readings: two hours here, told as twenty minutes or more.
	expect(settle({ centralShareRatio: 0.04 })).toMatchObject({ settleBySeconds: 1200 });
	expect(settle({ effectiveCount: 0, observedMs: 60_000 })).toMatchObject({ settleBySeconds: 270 });
});

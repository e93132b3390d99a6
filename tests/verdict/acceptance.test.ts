import { expect, test } from 'vitest';
import { renderAcceptanceHtml } from '../../src/report/acceptanceHtml.ts';
import { renderAcceptance } from '../../src/report/acceptanceText.ts';
import { createRandom } from '../../src/statistics/random.ts';
import { type Assessed, assessAcceptance } from '../../src/verdict/acceptance.ts';
import { type AcceptanceForm, blankForm, blanksOf, parseForm } from '../../src/verdict/acceptanceForm.ts';
import { type AcceptanceRecord, signOffObstacles } from '../../src/verdict/acceptanceRecord.ts';
import { comparedFigures } from '../../src/verdict/comparedLine.ts';
import { toleranceOf } from '../../src/verdict/tolerances.ts';
import { WELCH_EXAMPLE } from '../vectors/statisticsGroups.ts';

const DELAY = comparedFigures.find(({ path }) => path === 'freshDelay.p95Ms')!;
const COLOUR = comparedFigures.find(({ path }) => path === 'colour.medianDeltaE00')!;

function sessions(values: readonly number[], path = DELAY.path) {
	return values.map((value, i) => ({
		key: `session-${i}`,
		startedAt: `2026-01-0${i + 1}T10:00:00Z`,
		values: { [path]: value },
		systematicStandardMs: 0,
		answers: ['yes'] as const,
	}));
}

const whole: Assessed = {
	figures: [DELAY],
	reference: sessions([110, 112, 114]),
	now: sessions([111, 113, 112]),
	newPart: 'none',
	orientation: 'upright',
	wheelUpPictureUp: true,
	open: [],
	misoriented: [],
};
const assess = (over: Partial<Assessed>) => assessAcceptance({ ...whole, ...over });

test('a kit as it was before is acceptable, a better one is too and is called better', () => {
	expect(assess({}).outcome).toBe('acceptable');
	const better = assess({ now: sessions([80, 81, 82]) });
	expect(better.outcome).toBe('acceptable');
	expect(better.figures[0]?.note).toBe('better than before');
});

test('a kit plainly slower than its tolerance is not acceptable, one near it is left open', () => {
	expect(assess({ now: sessions([170, 171, 172]) })).toMatchObject({ outcome: 'notAcceptable' });
	expect(assess({ now: sessions([128, 132, 130]) }).outcome).toBe('notEnoughEvidence');
});

test('the bound is that of the worked example', () => {
	const figures = assess({
		reference: sessions(WELCH_EXAMPLE.first),
		now: sessions(WELCH_EXAMPLE.second),
	}).figures;
	expect(figures[0]?.worseByUpper).toBeCloseTo(WELCH_EXAMPLE.upper95, 3);
});

test('a mirror image or a wheel that goes the wrong way blocks every release', () => {
	expect(assess({ orientation: 'mirror' })).toMatchObject({ outcome: 'notAcceptable', blocked: true });
	expect(assess({ wheelUpPictureUp: false })).toMatchObject({ outcome: 'notAcceptable', blocked: true });
	expect(assess({ misoriented: ['a'] })).toMatchObject({ outcome: 'notAcceptable', blocked: true });
	expect(assess({ wheelUpPictureUp: null }).outcome).toBe('notEnoughEvidence');
	expect(assess({ orientation: null }).outcome).toBe('notEnoughEvidence');
});

test('a session outside the criteria is not acceptable however close to the reference', () => {
	const now = sessions([111, 113, 112]).map((one, i) => ({
		...one,
		answers: i === 1 ? ['no' as const] : one.answers,
	}));
	expect(assess({ now })).toMatchObject({ outcome: 'notAcceptable', blocked: false });
	const open = now.map((one) => ({ ...one, answers: ['undetermined' as const] }));
	expect(assess({ now: open }).outcome).toBe('notEnoughEvidence');
});

test('without earlier runs it is judged by the limits alone and says that this becomes the reference', () => {
	const first = assess({ reference: [] });
	expect(first).toMatchObject({ outcome: 'acceptable', against: 'limitsOnly', figures: [] });
	expect(first.reasons.join()).toContain('this becomes the reference');
});

test('with a new camera the old colour is shown and does not bind', () => {
	const colour = {
		figures: [COLOUR],
		reference: sessions([1, 1.1, 1.2], COLOUR.path),
		now: sessions([9, 9.1, 9.2], COLOUR.path),
	};
	expect(assess(colour).outcome).toBe('notAcceptable');
	const shown = assess({ ...colour, newPart: 'camera' });
	expect(shown.outcome).toBe('acceptable');
	expect(shown.figures[0]).toMatchObject({ state: 'shown', before: [1, 1.1, 1.2] });
});

test('three runs that happen to agree prove nothing rare: the number of events bounds how often it freezes', () => {
	const figure = comparedFigures.find(({ path }) => path === 'freezes.freezes.perMin')!;
	const runs = (perRun: number) =>
		sessions(
			[perRun, perRun, perRun].map((count) => count / 5),
			figure.path,
		).map((session) => ({
			...session,
			values: { ...session.values, 'freezes.freezes.observedMs': 300_000 },
		}));
	const same = assess({ figures: [figure], reference: runs(0), now: runs(0) });
	// Poisson: none in 15 min may still be 2.996 in 15 min.
	expect(same.figures[0]?.worseByUpper).toBeCloseTo(2.9957 / 15, 4);
	expect(same.outcome).toBe('acceptable');
	expect(assess({ figures: [figure], reference: runs(0), now: runs(2) }).outcome).toBe('notEnoughEvidence');
});

test('two sessions are never enough', () => {
	expect(assess({ now: sessions([111, 112]) }).outcome).toBe('notEnoughEvidence');
	// Nor where there is no reference whose figures would stay undecided.
	const first = assess({ reference: [], now: sessions([111, 112]) });
	expect(first.outcome).toBe('notEnoughEvidence');
	expect(first.reasons.join()).toContain('2 of the 3 sessions');
});

test('the rig’s doubt, one draw for all its sessions, is in the bound whatever their number', () => {
	const doubtful = (values: readonly number[], systematicStandardMs: number) =>
		sessions(values).map((one) => ({ ...one, systematicStandardMs }));
	const bound = (ms: number) =>
		assess({ reference: doubtful([110, 110, 110], ms), now: doubtful([110, 110, 110], ms) }).figures[0]
			?.worseByUpper;
	expect(bound(0)).toBe(0);
	// Two readings of 4 ms each, 95 % one-sided: 1.6449 times their root sum of squares.
	expect(bound(4)).toBeCloseTo(1.6449 * 4 * Math.SQRT2, 3);
});

test('of a figure that is better when higher, less is worse and more is better', () => {
	const figure = comparedFigures.find(({ path }) => path === 'deliveredRate.p5Hz')!;
	const rates = (now: readonly number[]) =>
		assess({
			figures: [figure],
			reference: sessions([29.9, 30, 30.1], figure.path),
			now: sessions(now, figure.path),
		});
	expect(rates([19.9, 20, 20.1]).outcome).toBe('notAcceptable');
	expect(rates([49.9, 50, 50.1]).figures[0]?.note).toBe('better than before');
});

test('a new camera frees the picture’s figures only: its delay is held against the old reference', () => {
	expect(assess({ newPart: 'camera', now: sessions([170, 171, 172]) }).outcome).toBe('notAcceptable');
});

test('tolerances follow the scatter of three set-ups within their least and most', () => {
	expect(toleranceOf(DELAY.path, [])?.value).toBe(30);
	expect(toleranceOf(DELAY.path, [110, 110.1, 110.2])?.value).toBe(20);
	expect(toleranceOf(DELAY.path, [107, 110, 113])?.value).toBeCloseTo(30, 10);
	expect(toleranceOf(DELAY.path, [80, 110, 140])?.value).toBe(60);
	expect(toleranceOf('likeness.medianSsim', [1, 1, 1])).toBeNull();
});

test('worse than the tolerance by a tenth is accepted in 5 of 100 cases or fewer, unchanged in 90 or more', () => {
	const random = createRandom(31);
	const draws = (mean: number, sd: number) => sessions([0, 1, 2].map(() => mean + sd * random.normal()));
	const simulations = 400;
	for (const sd of [2, 5]) {
		const accepted = { worse: 0, unchanged: 0 };
		for (let i = 0; i < simulations; i++) {
			const reference = draws(110, sd);
			const tolerance =
				toleranceOf(
					DELAY.path,
					reference.map(({ values }) => values[DELAY.path] ?? 0),
				)?.value ?? 0;
			const isAccepted = (mean: number) =>
				assess({ reference, now: draws(mean, sd) }).outcome === 'acceptable';
			if (isAccepted(110 + 1.1 * tolerance)) accepted.worse++;
			if (isAccepted(110)) accepted.unchanged++;
		}
		expect(accepted.worse / simulations).toBeLessThanOrEqual(0.05);
		expect(accepted.unchanged / simulations).toBeGreaterThanOrEqual(0.9);
	}
});

function filled(over: Partial<AcceptanceForm> = {}): AcceptanceForm {
	const form = blankForm();
	const said = Object.fromEntries(
		Object.entries(form).map(([key, value]) => [key, value === '' ? `some ${key}` : value]),
	) as unknown as AcceptanceForm;
	const check = { state: 'done', by: 'Ann', reference: '17' } as const;
	const checks = Object.fromEntries(
		Object.keys(form.checks).map((key) => [key, check]),
	) as AcceptanceForm['checks'];
	return {
		...said,
		returnedOn: '2026-03-01',
		orientation: 'upright',
		wheelUpPictureUp: true,
		decision: 'released',
		checks,
		...over,
	};
}

function record(over: Partial<AcceptanceForm>, acceptance = assess({})): AcceptanceRecord {
	return {
		format: 'steerworthy-acceptance',
		version: 1,
		toolVersion: '0.0.0',
		kit: 'lark',
		form: filled(over),
		invented: false,
		criteria: { name: 'gentle', hash: '0123', differsFromStandard: ['age: level 340 instead of 240'] },
		acceptance,
		referenceRuns: ['lark-0'],
		attempts: [
			{
				...{
					runId: 'try-1',
					startedAt: '2026-03-02T10:00:00Z',
					headline: 'unfit',
					failures: ['not met: age'],
				},
				...{ counted: true, sealSha256: 'ab'.repeat(32) },
			},
		],
		notEntered: [],
		earlier: [],
		signedAt: null,
	};
}

test('a whole form and an acceptable kit may be signed; each blank is named', () => {
	expect(signOffObstacles(record({}))).toEqual([]);
	expect(blanksOf(blankForm())).toHaveLength(15 + 1 + 6 + 1);
	expect(signOffObstacles(record({ releasedBy: ' ' })).join()).toContain('released by');
	expect(
		signOffObstacles(record({ decision: 'releasedWithRestrictions', restrictions: '' })).join(),
	).toContain('the restrictions');
});

test('an invented kit is signed off in no way, and "released" needs every test done or not applicable', () => {
	expect(signOffObstacles({ ...record({ decision: 'notReleased' }), invented: true }).join()).toContain(
		'invented',
	);
	const form = filled();
	const leak = { state: 'notDone', by: '', reference: '' } as const;
	const undone = (decision: AcceptanceForm['decision']) =>
		signOffObstacles(record({ decision, restrictions: 'dry work only', checks: { ...form.checks, leak } }));
	expect(undone('released').join()).toContain('not done: leak test');
	expect(undone('releasedWithRestrictions')).toEqual([]);
});

test('a mirrored picture can be refused or sent back, and released in no way', () => {
	const mirrored = assess({ orientation: 'mirror' });
	for (const decision of ['released', 'releasedWithRestrictions'] as const)
		expect(signOffObstacles(record({ decision }, mirrored)).join()).toContain('no release');
	expect(signOffObstacles(record({ decision: 'backToRepairer' }, mirrored))).toEqual([]);
	const open = assess({ now: sessions([111, 112]) });
	expect(signOffObstacles(record({}, open)).join()).toContain('needs an acceptable outcome');
	expect(signOffObstacles(record({ decision: 'releasedWithRestrictions' }, open))).toEqual([]);
});

test('a form with a mistake is named by its key', () => {
	const form = filled();
	expect(parseForm(JSON.stringify(form), 'form.json')).toEqual(form);
	expect(() => parseForm(JSON.stringify({ ...form, use: 'both' }), 'form.json')).toThrow(/"use"/);
	expect(() => parseForm(JSON.stringify({ ...form, returnedOn: 'May' }), 'form.json')).toThrow(/returnedOn/);
	expect(() => parseForm(JSON.stringify({ ...form, returnedOn: '2026-02-30' }), 'form.json')).toThrow(
		/a day as/,
	);
	expect(() => parseForm('{', 'form.json')).toThrow(/not JSON/);
	expect(() => parseForm(JSON.stringify({ ...form, version: 2 }), 'form.json')).toThrow(
		'form.json is of version 2; this program knows versions up to 1.',
	);
});

test('page and text tell every attempt, the tests left to others, and one line for the owner', () => {
	const told = record({ notes: '<i>x</i>' });
	const text = renderAcceptance(told, { columns: 90, glyphs: 'ascii' });
	const page = renderAcceptanceHtml(told);
	for (const shown of [text, page]) {
		expect(shown).toContain('try-1');
		expect(shown).toContain('not met: age');
		expect(shown).toContain('This checks the picture link, not the horse.');
		expect(shown).toContain('electrical safety test');
		expect(shown.replace(/\s+/g, ' ')).toContain('differs from standard: age: level 340 instead of 240');
	}
	expect(page).not.toContain('<i>x</i>');
	expect(page).toContain('frame-steering');
	const asRecord = renderAcceptanceHtml(record({ use: 'recording' }));
	expect(asRecord).toContain('frame-recording');
	expect(asRecord).toContain('NOT for steering');
});

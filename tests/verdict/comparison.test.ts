import { expect, test } from 'vitest';
import { renderComparisonHtml, renderSheetHtml } from '../../src/report/comparisonHtml.ts';
import { renderComparison, renderPlan } from '../../src/report/comparisonText.ts';
import { certainWords } from '../../src/report/comparisonWords.ts';
import { createRandom } from '../../src/statistics/random.ts';
import { type ComparedRun, comparability } from '../../src/verdict/comparable.ts';
import { comparedFigures } from '../../src/verdict/comparedLine.ts';
import { type Arm, compareFigure, isAlternated, sessionAnswer } from '../../src/verdict/comparison.ts';
import { buildComparison } from '../../src/verdict/comparisonDocument.ts';
import { blankSheet, parseSheet, tallySheets } from '../../src/verdict/handSheet.ts';
import { sessionPlan, shortRounds } from '../../src/verdict/sessionPlan.ts';

const AGE = comparedFigures[0]!;

/** Sessions on as many days; with `offset` hours the arms take turns. */
function arm(name: string, values: readonly number[], { offset = 0, systematicMs = 0 } = {}): Arm {
	return {
		name,
		sessions: values.map((value, day) => ({
			key: `${name}-${day}`,
			startedAt: `2026-01-${String(day + 1).padStart(2, '0')}T${String(10 + offset).padStart(2, '0')}:00:00Z`,
			values: { [AGE.path]: value },
			systematicStandardMs: systematicMs,
			...{ steer: 'yes' as const, record: 'yes' as const, margin: 0.25 },
		})),
	};
}

test('two kits far apart over three sessions each are told apart, the younger picture better', () => {
	const { pairs } = compareFigure(AGE, [arm('lark', [120, 122, 124]), arm('owl', [320, 318, 325])]);
	expect(pairs[0]).toMatchObject({ first: 'lark', second: 'owl', better: 'lark' });
	expect(pairs[0]?.difference).toBeCloseTo(199, 0);
});

test('scatter between sessions as wide as the difference leaves it open', () => {
	const { pairs } = compareFigure(AGE, [arm('lark', [100, 140, 120]), arm('owl', [130, 170, 150])]);
	expect(pairs[0]?.better).toBeNull();
	expect(pairs[0]?.halfWidth).toBeGreaterThan(30);
});

test('one session each shows both readings and judges nothing', () => {
	const { arms, pairs } = compareFigure(AGE, [arm('lark', [100]), arm('owl', [900])]);
	expect(arms.map(({ mean }) => mean)).toEqual([100, 900]);
	expect(pairs[0]).toMatchObject({
		better: null,
		halfWidth: null,
		because: 'one each: difference not judged',
	});
});

test('two sessions are too few, and no scatter at all gives no interval', () => {
	const two = compareFigure(AGE, [arm('lark', [100, 101]), arm('owl', [900, 901])]);
	expect(two.pairs[0]?.because).toMatch(/fewer than 3/);
	const none = compareFigure(AGE, [arm('lark', [0, 0, 0]), arm('owl', [0, 0, 0])]);
	expect(none.pairs[0]).toMatchObject({ better: null, halfWidth: null });
});

test('the rig’s own doubt can swallow a difference that the sessions show', () => {
	const arms = (systematicMs: number) => [
		arm('lark', [120, 121, 122], { systematicMs }),
		arm('owl', [140, 141, 142], { systematicMs }),
	];
	expect(compareFigure(AGE, arms(0)).pairs[0]?.better).toBe('lark');
	expect(compareFigure(AGE, arms(15)).pairs[0]?.better).toBeNull();
});

test('with more kits the rig’s doubt widens every interval too, for all pairs together', () => {
	const arms = ['lark', 'owl', 'wren', 'jay'].map((name, i) =>
		arm(name, [120, 120.001, 120.002], { offset: i, systematicMs: 10 }),
	);
	// Normal quantiles of 1 - 0.05/2 and of 1 - 0.05/6/2, printed in any table: 1.9600 and 2.6383.
	const halfWidth = (count: number) => compareFigure(AGE, arms.slice(0, count)).pairs[0]?.halfWidth;
	expect(halfWidth(2)).toBeCloseTo(1.96 * 10 * Math.SQRT2, 2);
	expect(halfWidth(4)).toBeCloseTo(2.6383 * 10 * Math.SQRT2, 2);
});

test('one kit measured wholly after the other is never ranked', () => {
	const early = arm('lark', [120, 122, 124]);
	const late: Arm = {
		name: 'owl',
		sessions: arm('owl', [320, 318, 325]).sessions.map((session) => ({
			...session,
			startedAt: session.startedAt.replace('2026-01', '2026-02'),
		})),
	};
	expect(isAlternated([early, late])).toBe(false);
	expect(isAlternated([early, arm('owl', [1, 2, 3], { offset: 2 })])).toBe(true);
	expect(compareFigure(AGE, [early, late]).pairs[0]).toMatchObject({ better: null });
});

test('kits that did not take turns are not ranked, and that hides no ranking of those that did', () => {
	const times = (name: string, values: readonly number[], days: readonly number[]): Arm => ({
		name,
		sessions: arm(name, values).sessions.map((session, i) => ({
			...session,
			startedAt: `2026-01-${String(days[i]).padStart(2, '0')}T10:00:00Z`,
		})),
	});
	const [lark, owl, moth] = [
		times('lark', [120, 122, 124], [1, 2, 4]),
		times('owl', [320, 318, 325], [3, 5, 6]),
		times('moth', [220, 218, 225], [1, 3, 5]),
	];
	const { pairs } = compareFigure(AGE, [lark, owl, moth]);
	expect(pairs.map(({ better }) => better)).toEqual([null, 'lark', 'moth']);
	expect(pairs[0]?.because).toContain('did not take turns');
});

test('one freeze in each of three runs against none is too few events, twelve are not', () => {
	const figure = comparedFigures.find(({ path }) => path === 'freezes.freezes.perMin')!;
	const counts = (name: string, perRun: readonly number[]): Arm => ({
		name,
		sessions: arm(name, [0, 0, 0]).sessions.map((session, i) => ({
			...session,
			// Runs are never quite of one length: the rates agree to four digits and no further.
			values: {
				[figure.path]: (perRun[i] ?? 0) / (5 + i / 1000),
				'freezes.freezes.observedMs': 60_000 * (5 + i / 1000),
			},
		})),
	});
	const none = counts('lark', [0, 0, 0]);
	expect(compareFigure(figure, [none, counts('owl', [1, 1, 1])]).pairs[0]).toMatchObject({
		better: null,
		because: 'too few events to tell them apart',
	});
	expect(compareFigure(figure, [none, counts('owl', [12, 12, 12])]).pairs[0]?.better).toBe('lark');
});

test('of four kits close together a wrong order is stated as certain in 1 of 100 comparisons or fewer', () => {
	const random = createRandom(77);
	const truths = [100, 101, 102, 103];
	let wrong = 0;
	const comparisons = 400;
	for (let i = 0; i < comparisons; i++) {
		const arms = truths.map((truth, k) =>
			arm(
				`kit-${k}`,
				[0, 1, 2].map(() => truth + 6 * random.normal()),
			),
		);
		const { pairs } = compareFigure(AGE, arms);
		if (pairs.some(({ second, better }) => better === second)) wrong++;
	}
	// One-sided 99 % allowance for chance at 1 %: 9 of 400.
	expect(wrong).toBeLessThanOrEqual(9);
});

const run: ComparedRun = {
	runId: 'a',
	rig: 'optical',
	subjectKind: 'kit',
	invented: false,
	measuringPoints: 'light to light',
	criteriaHash: '1',
	sourceRateHz: 30,
};

test('mixed rigs, subjects, measuring points and invented kits are refused, each with its reason', () => {
	const refusals = (over: Partial<ComparedRun>) => comparability([run, { ...run, ...over }]).refusals.join();
	expect(refusals({})).toBe('');
	expect(refusals({ rig: 'link' })).toContain('different rigs: link; optical');
	expect(refusals({ subjectKind: 'link' })).toContain('different subjects');
	expect(refusals({ measuringPoints: 'generated to decoded' })).toContain('different measuring points');
	expect(refusals({ invented: true })).toContain('invented');
});

test('other criteria leave out only what hangs on them', () => {
	const { refusals, figures, leftOut } = comparability([run, { ...run, criteriaHash: '2' }]);
	expect(refusals).toEqual([]);
	expect(leftOut.join()).toContain('different criteria');
	expect(figures.map(({ path }) => path)).toContain('pictureAge.p95Ms');
	expect(figures.map(({ path }) => path)).not.toContain('pictureAge.shareOverLimitRatio');
});

test('fine detail in cycles a pixel is told of one kit and never between two', () => {
	const paths = (betweenKits: boolean) =>
		comparability([run], { betweenKits }).figures.map(({ path }) => path);
	expect(paths(false)).toContain('sharpness.mtf50CyPx');
	expect(paths(true)).not.toContain('sharpness.mtf50CyPx');
});

test('a difference that is told apart and too small to act on is called little', () => {
	const { pairs } = compareFigure(AGE, [arm('lark', [120, 120.5, 121]), arm('owl', [130, 130.5, 131])]);
	expect(pairs[0]).toMatchObject({ better: 'lark', slight: true });
	expect(
		certainWords({
			...document(),
			figures: [compareFigure(AGE, [arm('a', [1, 2, 3]), arm('b', [9, 8, 10])])],
		}),
	).toEqual(['how old the picture is, 19 times in 20: a is better than b (by little).']);
});

test('one no among a session’s runs is a no, and one yes settles what the others left open', () => {
	expect(sessionAnswer(['yes', 'no', 'undetermined'])).toBe('no');
	expect(sessionAnswer(['undetermined', 'yes'])).toBe('yes');
	expect(sessionAnswer(['undetermined'])).toBe('undetermined');
	expect(sessionAnswer([])).toBe('notAsked');
});

test('the short form keeps to 25 min of hands-on, which is three rounds for two kits and one for four', () => {
	expect([2, 3, 4, 6].map(shortRounds)).toEqual([3, 2, 1, 1]);
	const plan = renderPlan(sessionPlan(['a', 'b', 'c'], 2), {
		columns: 80,
		glyphs: 'ascii',
		handsOnMin: 4,
		runMin: 6,
	});
	expect(plan.replace(/\s+/g, ' ')).toContain('no difference is judged');
});

test('every kit begins a round in its turn, and every second round runs backwards', () => {
	const plan = sessionPlan(['a', 'b', 'c'], 3).map(({ arm: name }) => name);
	expect(plan.join('')).toBe('abcbaccab');
	expect(() => sessionPlan(['a'], 3)).toThrow(RangeError);
	expect(() => sessionPlan([...'abcdefghi'], 3)).toThrow(RangeError);
});

test('a sheet is filled in by better, same or worse, and a mistake is named by its key', () => {
	const sheet = blankSheet('lark', 'Ann');
	expect(parseSheet(JSON.stringify(sheet), 'sheet.json')).toEqual(sheet);
	const wrong = { ...sheet, answers: { ...sheet.answers, light: { than: 'great', note: '' } } };
	expect(() => parseSheet(JSON.stringify(wrong), 'sheet.json')).toThrow(/answers\.light\.than/);
	expect(() => parseSheet('{', 'sheet.json')).toThrow(/not JSON/);
	expect(() => parseSheet(JSON.stringify({ ...sheet, version: 2 }), 'sheet.json')).toThrow(
		'sheet.json is of version 2; this program knows versions up to 1.',
	);
});

function document(sheets = [blankSheet('lark', 'Ann')]) {
	return buildComparison({
		toolVersion: '0.0.0',
		by: 'kit',
		subject: 'optical, kit, light to light',
		invented: false,
		criteria: ['standard, 01: nothing differs from standard.'],
		arms: [arm('lark', [120, 122, 124]), arm('<b>owl</b>', [320, 318, 325], { offset: 1 })],
		figures: comparedFigures,
		leftOut: [],
		sheets,
	});
}

test('the by-hand sheet is counted beside the figures and changes none', () => {
	const sheet = blankSheet('lark', 'Ann');
	const filled = { ...sheet, answers: { ...sheet.answers, light: { than: 'worse' as const, note: 'dim' } } };
	const told = document([filled]);
	expect(told.figures).toEqual(document([]).figures);
	expect(tallySheets([filled], 'lark').find(({ item }) => item === 'light')).toMatchObject({
		counts: { better: 0, same: 0, worse: 1 },
		notes: ['Ann: dim'],
	});
	expect(renderComparisonHtml(told)).toContain('1 worse; Ann: dim');
	expect(told.byHand[0]?.people).toEqual(['Ann (day not written down, against a scope not written down)']);
	expect(document([blankSheet('larc', 'Ann')]).leftOut.join()).toContain('on larc, which is none of these');
});

test('text and page end with what was not tested, and a name is never markup', () => {
	const text = renderComparison(document(), { columns: 80, glyphs: 'ascii' });
	expect(text).toContain('19 times in 20: lark is better than <b>owl</b>.');
	expect(text).toContain('- lark: steer: yes in 3 of 3; record: yes in 3 of 3');
	expect(text.split('WHAT WE DID NOT TEST')[1]).toContain('no diagnosis');
	for (const line of text.split('\n')) expect(line.length).toBeLessThanOrEqual(80);
	const page = renderComparisonHtml(document());
	expect(page).not.toContain('<b>owl');
	expect(page.lastIndexOf('What we did not test')).toBeGreaterThan(page.lastIndexOf('How it was compared'));
	expect(page).not.toMatch(/<script|https?:\/\//);
	expect(renderSheetHtml(blankSheet('lark', 'Ann'))).toContain('bag to first picture');
});

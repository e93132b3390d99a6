import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { renderHtml } from '../../src/report/html.ts';
import { type ResultDocument, resultSchema } from '../../src/verdict/resultDocument.ts';
import type { Fitness } from '../../src/verdict/verdict.ts';
import { madeMetrics, madeResult, madeRun, madeSeries, resultOfNothing } from './madeResult.ts';

const noSeries = { bins: [], delayClasses: [] };
const FAKE_SCRIPT = 'globalThis.Chart = function Chart() {};';

function page(result: ResultDocument, chartScript = FAKE_SCRIPT): string {
	return renderHtml({ result, series: madeSeries, chartScript, evidence: [] });
}

/** What a reader sees: no scripts, no styles, no tags. */
function visible(html: string): string {
	return html
		.replace(/<(script|style)[\s\S]*?<\/\1>/g, ' ')
		.replace(/<[^>]*>/g, ' ')
		.replace(/\s+/g, ' ');
}

test('the made result is a result document', () => {
	for (const fitness of ['steering', 'recording', 'unfit', 'undetermined'] as const)
		expect(resultSchema.parse(madeResult(fitness))).toEqual(madeResult(fitness));
	expect(() => resultSchema.parse(resultOfNothing())).not.toThrow();
});

test('the page names no address outside itself', () => {
	const evidence = [{ file: 'd.png', dataUri: 'data:image/png;base64,AAAA', caption: 'difference' }];
	const html = renderHtml({ result: madeResult('steering'), series: madeSeries, chartScript: '', evidence });
	expect(html).not.toMatch(/https?:|\/\/[a-z]/i);
	expect(html).not.toMatch(/<(link|iframe|object|embed|base|form)\b|@import|url\((?!#fate-)/i);
	expect(html).toContain('default-src &#39;none&#39;');
	for (const [, value] of html.matchAll(/\b(?:src|href)="([^"]*)"/g))
		expect(value).toMatch(/^data:image\/png/);
});

test('each headline has the frame that carries its meaning', () => {
	const frames: Record<Fitness, RegExp> = {
		steering: /\.frame-steering \{ border: \d+px double/,
		recording: /\.frame-recording \{ border: \d+px solid/,
		unfit: /\.frame-unfit \{[^}]*repeating-linear-gradient/,
		undetermined: /\.frame-undetermined \{ border: \d+px dotted/,
	};
	for (const fitness of Object.keys(frames) as Fitness[]) {
		const html = page(madeResult(fitness));
		expect(html).toContain(`class="frame frame-${fitness}"`);
		expect(html).toMatch(frames[fitness]);
	}
});

test('a hostile name stays text wherever it is shown', () => {
	const hostile = `</title></script><script>alert(1)</script><img src=x onerror="alert(2)">'"&\u202e`;
	const made = madeResult('unfit');
	if (madeMetrics.colour.kind !== 'measured') throw new Error('the made colour is measured');
	const patches = madeMetrics.colour.patches.map((patch) => ({ ...patch, name: hostile }));
	const result: ResultDocument = {
		...made,
		toolVersion: hostile,
		run: {
			...madeRun,
			id: hostile,
			place: hostile,
			joined: hostile,
			startedAt: hostile,
			endedBy: hostile,
			systematics: [{ name: hostile, halfWidthMs: 1, shape: 'rectangular', source: hostile }],
		},
		metrics: {
			...madeMetrics,
			colour: { ...madeMetrics.colour, patches, namedFault: hostile },
			orientation: { kind: 'notMeasured', reason: hostile, explanation: hostile },
		},
		criteria: made.criteria.map((line) => ({ ...line, label: hostile, because: hostile, source: hostile })),
		criteriaSet: { name: hostile, hash: hostile, differsFromStandard: [hostile] },
		warnings: [{ code: hostile, seen: hostile, advice: hostile }],
		verdict: { ...made.verdict, headline: hostile, order: hostile, subject: hostile, speaksFor: hostile },
	};
	const html = renderHtml({
		result,
		series: madeSeries,
		chartScript: FAKE_SCRIPT,
		evidence: [{ file: hostile, dataUri: 'data:image/png;base64,AAAA', caption: hostile }],
	});
	const harmless = page(madeResult('unfit'));
	expect(html).not.toContain('alert(1)</script>');
	expect(html).not.toContain('<img src=x');
	expect(html).not.toContain('\u202e');
	expect(html.match(/<script/g)?.length).toBe(harmless.match(/<script/g)?.length);
	expect(html.match(/<img/g)?.length).toBe(1);
	expect(html).toContain('&lt;script&gt;alert(1)');
});

test('what was not read and decides nothing stands after what does; a printed card has no rate and no seed', () => {
	const made = madeResult('unfit');
	const [first, ...rest] = made.criteria;
	const idle = {
		...first!,
		label: 'idle line',
		required: [],
		reading: null,
		bound: null,
		state: 'informs' as const,
	};
	const open = { ...first!, label: 'open line', reading: null, bound: null, state: 'notMeasured' as const };
	const html = page({
		...made,
		criteria: [idle, open, ...rest],
		run: { ...madeRun, source: { ...madeRun.source, layout: 'detail' } },
	});
	const table = html.slice(html.indexOf('The lines it was held against'));
	expect(table.indexOf('open line')).toBeGreaterThan(0);
	expect(table.indexOf('open line')).toBeLessThan(table.indexOf(rest[0]!.label));
	for (const { label } of rest.filter(({ required }) => required.length > 0))
		expect(table.indexOf('idle line')).toBeGreaterThan(table.indexOf(label));
	expect(html).toContain('detail, 1280 × 720<');
	expect(html).not.toContain('seed 7');
});

test('of stills no time is told, for none passed; of a film of them it is', () => {
	const still = { ...madeRun, rig: 'still' as const, observedMs: 0 };
	const told = page({ ...madeResult('unfit'), run: still });
	expect(told).toContain('stills: no time passes in them');
	expect(told).toContain('Stills: ');
	expect(told).not.toContain('Over 0');
	expect(page({ ...madeResult('unfit'), run: { ...still, observedMs: 2000 } })).toContain('Over 2');
});

test('the chart script is carried inside, and cannot end its own element', () => {
	const html = page(madeResult('steering'), 'const s = "</script><!-- <b>";');
	expect(html).toContain('<script>const s = "\\x3C/script>\\x3C!-- <b>";</script>');
});

test('evidence that is not a PNG inside the page is refused', () => {
	for (const dataUri of [
		'evidence/d.png',
		'data:text/html;base64,AAAA',
		'data:image/png;base64,AA"onload=',
	]) {
		const evidence = [{ file: 'd.png', dataUri, caption: 'difference' }];
		const parts = { result: madeResult('steering'), series: noSeries, chartScript: '', evidence };
		expect(() => renderHtml(parts)).toThrow(RangeError);
	}
});

test('without scripts every figure that judges is still on the page', () => {
	const words = visible(page(madeResult('steering'), '')).replace(/\u202f/g, ' ');
	for (const figure of [
		'98.4 ms',
		'give or take 10.6 ms',
		'141.3 ms',
		'171.9 ms',
		'1.41 %',
		'2.62 %',
		'79.1 ms',
	])
		expect(words).toContain(figure);
	expect(words).toContain('scripts are off');
});

test('a run of which nothing was measured still makes a whole page', () => {
	const html = renderHtml({
		result: resultOfNothing(),
		series: noSeries,
		chartScript: FAKE_SCRIPT,
		evidence: [],
	});
	const words = visible(html);
	expect(words).toContain('not measured: too few frames');
	expect(words).toContain('Nothing was shown in this run');
	expect(words).not.toMatch(/NaN|undefined|Infinity|\[object/);
	expect(html).not.toContain('<canvas');
});

test('the word for light at both ends is used only where both ends are light', () => {
	const made = madeResult('steering');
	expect(page(made).toLowerCase()).not.toContain('glass-to-glass');
	const lit = {
		...made,
		run: { ...madeRun, measuringPoints: { source: 'light', viewer: 'light' } as const },
	};
	expect(page(lit)).toContain('glass-to-glass');
	expect(page(lit)).toContain('delay, scope to screen');
	const half = {
		...made,
		run: { ...madeRun, measuringPoints: { source: 'light', viewer: 'decoded' } as const },
	};
	expect(page(half)).not.toContain('glass-to-glass');
});

test('an invented subject is called so in the frame', () => {
	const run = { ...madeRun, subject: { kind: 'kit', name: 'Grey Heron', invented: true } } as const;
	const html = page({ ...madeResult('steering'), run });
	expect(html.slice(html.indexOf('class="frame'), html.indexOf('</h1>'))).toContain('INVENTED');
	expect(visible(page(madeResult('steering')))).not.toContain('INVENTED');
});

test('all the cautions stand in the report', () => {
	const words = visible(page(madeResult('steering'))).replace(/&#39;|’/g, "'");
	for (const caution of [
		'not a medical device',
		'never in the animal',
		'never between two horses',
		'Leak test first',
		"not into anyone's eyes",
		'never lens on glass',
		'Do not coil the tube tightly',
		'test card flickers',
		'kicking reach',
		'no mains in the wet',
		"Never switch off someone's fence",
		'move the wheel slightly',
		'never against resistance',
		'battery',
		'none was done with a flexible endoscope in a horse',
	])
		expect(words).toContain(caution);
});

test('no red, amber or green in the style of the page', () => {
	const style = page(madeResult('steering')).match(/<style>([\s\S]*?)<\/style>/)?.[1] ?? '';
	expect(style.length).toBeGreaterThan(1000);
	expect(style).not.toMatch(/\b(red|green|amber|orange|gold|yellow|lime)\b/i);
	for (const [, hex] of style.matchAll(/#([0-9a-f]{6})\b/g)) {
		const [r, g, b] = [0, 2, 4].map((at) => Number.parseInt(hex!.slice(at, at + 2), 16)) as [
			number,
			number,
			number,
		];
		expect(Math.max(r - Math.max(g, b), g - Math.max(r, b)), `#${hex}`).toBeLessThan(48);
	}
});

test('the real chart library fits inside and brings no script element of its own', () => {
	const script = readFileSync('node_modules/chart.js/dist/chart.umd.min.js', 'utf8');
	const html = page(madeResult('steering'), script);
	expect(html).toContain('Chart.js v4');
	expect(html.match(/<\/script>/g)).toHaveLength(3);
});

test('each of the six classes is drawn as widely as it is common, and none is out of sight', () => {
	const html = page(madeResult('steering'));
	const bar = html.slice(html.indexOf('<svg class="bar"'));
	const widths = [...bar.matchAll(/<rect x="[\d.]+%" width="([\d.]+)%"/g)].map((match) => Number(match[1]));
	expect(widths).toHaveLength(6);
	expect(widths.reduce((sum, width) => sum + width, 0)).toBeCloseTo(100, 1);
	expect(Math.min(...widths)).toBeGreaterThan(0.5);
	expect(widths[0]).toBeGreaterThan(95);
});

import { expect, test } from 'vitest';
import type { Series } from '../../src/metrics/metric.ts';
import { type Chart, runCharts } from '../../src/report/chartConfig.ts';
import { madeSeries } from './madeResult.ts';

type Drawn = {
	label: string;
	data: { x: number; y: number | null }[];
	pointRadius?: number[];
	borderDash?: number[];
};

const limits = { delayMs: 200, ageMs: 240 };

function charts(series: Series): Record<string, Chart> {
	return Object.fromEntries(runCharts(series, limits, 'delay').map((chart) => [chart.id, chart]));
}

function drawn(chart: Chart | undefined): Record<string, Drawn> {
	const { datasets } = JSON.parse(JSON.stringify(chart?.config['data'])) as { datasets: Drawn[] };
	return Object.fromEntries(datasets.map((dataset) => [dataset.label, dataset]));
}

test('the greatest and least of every bin are drawn, whatever the spread', () => {
	const lines = drawn(charts(madeSeries)['chart-delay']);
	expect(Math.max(...lines['greatest']!.data.map((point) => point.y ?? 0))).toBe(1204.6);
	expect(lines['greatest']!.data).toHaveLength(madeSeries.bins.length);
	expect(lines['least']!.data.map((point) => point.y)).toEqual(
		madeSeries.bins.map((bin) => bin.delayMs?.min ?? null),
	);
});

test('a bin with nothing on either side of it is drawn as a point, for it has no line', () => {
	const bin = (i: number, max: number | null): Series['bins'][number] => ({
		fromMs: i * 1000,
		toMs: (i + 1) * 1000,
		delayMs: max === null ? null : { min: 50, median: 60, max },
		ageMs: null,
		notPresented: 0,
	});
	const series = {
		bins: [bin(0, 70), bin(1, 70), bin(2, null), bin(3, 900), bin(4, null)],
		delayClasses: [],
	};
	const { greatest } = drawn(charts(series)['chart-delay']);
	expect(greatest!.pointRadius).toEqual([0, 0, 0, 3, 0]);
});

test('the limit is a dashed line at its own value and is named with its unit', () => {
	const lines = drawn(charts(madeSeries)['chart-delay']);
	expect(lines['limit 200 ms']!.data.map((point) => point.y)).toEqual([200, 200]);
	expect(lines['limit 200 ms']!.borderDash).not.toEqual([]);
	expect(drawn(charts(madeSeries)['chart-age'])['limit 240 ms']!.data[0]!.y).toBe(240);
	expect(drawn(charts(madeSeries)['chart-spread'])['limit 200 ms']!.data.map((point) => point.x)).toEqual([
		200, 200,
	]);
});

test('every axis has a title with its unit, and every chart says what it shows', () => {
	for (const chart of Object.values(charts(madeSeries))) {
		const { scales } = chart.config['options'] as { scales: { x: Axis; y: Axis } };
		expect(scales.x.title.text).toMatch(/, (minutes|seconds|ms)$/);
		expect(scales.y.title.text).toMatch(/, (ms|%)$|^pictures$/);
		expect(chart.says.length).toBeGreaterThan(20);
		expect(chart.keys.length).toBeGreaterThan(0);
	}
});
type Axis = { title: { text: string }; max?: number };

test('the limit is within the drawing though no picture came near it', () => {
	const series = { bins: [], delayClasses: [{ fromMs: 0, toMs: 10, shareRatio: 1 }] };
	const chart = charts(series)['chart-spread']!;
	expect((chart.config['options'] as { scales: { x: Axis } }).scales.x.max).toBe(200);
});

test('configurations are plain data: text and back changes nothing', () => {
	for (const chart of Object.values(charts(madeSeries)))
		expect(JSON.parse(JSON.stringify(chart.config))).toEqual(chart.config);
});

test('a run with nothing in it has no charts', () => {
	expect(runCharts({ bins: [], delayClasses: [] }, limits, 'delay')).toEqual([]);
});

/**
 * What the charts show, as plain data for chart.js: delay and picture age over time with the least and greatest of every
 * bin, pictures that were not shown, and how delay is spread, each with its limit. Computes nothing: bins come decimated
 * from metrics, with no extreme left out.
 */
import type { Series } from '../metrics/metric.ts';
import {
	axis,
	BAND,
	band,
	chartOptions,
	limitLabel,
	limitLine,
	line,
	PLUM,
	type Point,
	type Settings,
	TEAL,
} from './chartPieces.ts';
import { formatTrimmed } from './numbers.ts';

export type ChartKey = { readonly label: string; readonly mark: 'line' | 'band' | 'dashed' | 'bar' };
export type Chart = {
	readonly id: string;
	readonly title: string;
	/** Said under the chart. */
	readonly says: string;
	/** What each mark is; the page draws these itself, for a legend of chart.js leaves the dashes out. */
	readonly keys: readonly ChartKey[];
	readonly config: Settings;
};
type ChartLimits = { readonly delayMs: number | null; readonly ageMs: number | null };

/** Under three minutes an axis in seconds reads better than one in minutes. */
const MINUTES_FROM_MS = 180_000;

/** Charts of a run; none where nothing was observed. `delayWords`: the plain name of delay for this run's measuring points. */
export function runCharts(series: Series, limits: ChartLimits, delayWords: string): Chart[] {
	const time = timeScale(series);
	const charts: Chart[] = [];
	if (series.bins.some((bin) => bin.delayMs !== null))
		charts.push(delayChart(time, limits.delayMs, delayWords));
	if (series.bins.some((bin) => bin.ageMs !== null)) charts.push(ageChart(time, limits.ageMs));
	if (series.bins.some((bin) => bin.notPresented > 0)) charts.push(missingChart(time));
	if (series.delayClasses.length > 0) charts.push(spreadChart(series.delayClasses, limits.delayMs));
	return charts;
}

type Bin = Series['bins'][number];
type TimeScale = {
	readonly title: string;
	readonly end: number;
	/** One point a bin, at its middle. */
	readonly points: (read: (bin: Bin) => number | null) => Point[];
};

function timeScale({ bins }: Series): TimeScale {
	const endMs = bins.at(-1)?.toMs ?? 0;
	const inMinutes = endMs >= MINUTES_FROM_MS;
	const unitMs = inMinutes ? 60_000 : 1000;
	return {
		title: `time into the run, ${inMinutes ? 'minutes' : 'seconds'}`,
		end: endMs / unitMs,
		points: (read) => bins.map((bin) => ({ x: (bin.fromMs + bin.toMs) / 2 / unitMs, y: read(bin) })),
	};
}

function delayChart(time: TimeScale, limitMs: number | null, delayWords: string): Chart {
	const least = time.points((bin) => bin.delayMs?.min ?? null);
	const middle = time.points((bin) => bin.delayMs?.median ?? null);
	const greatest = time.points((bin) => bin.delayMs?.max ?? null);
	return {
		id: 'chart-delay',
		title: `${delayWords}, over time`,
		says: 'Nothing is left out: the band holds every picture of its stretch of time. A break is a stretch with no new picture.',
		keys: [
			{ label: 'middle picture', mark: 'line' },
			{ label: 'least to greatest', mark: 'band' },
			...limitKeys(limitMs),
		],
		config: overTime(time, 'delay, ms', [
			line('middle picture', middle, { colour: TEAL, width: 2.5, dash: [] }),
			...band(least, greatest),
			...levelLine(time, limitMs),
		]),
	};
}

function ageChart(time: TimeScale, limitMs: number | null): Chart {
	const least = time.points((bin) => bin.ageMs?.min ?? null);
	const greatest = time.points((bin) => bin.ageMs?.max ?? null);
	return {
		id: 'chart-age',
		title: 'how old the picture is, over time',
		says: 'The band runs from the youngest to the oldest that the picture was in each stretch of time. It rises while the picture stands still.',
		keys: [{ label: 'youngest to oldest', mark: 'band' }, ...limitKeys(limitMs)],
		config: overTime(time, 'age of the picture, ms', [...band(least, greatest), ...levelLine(time, limitMs)]),
	};
}

function limitKeys(limitMs: number | null): ChartKey[] {
	return limitMs === null ? [] : [{ label: limitLabel(limitMs), mark: 'dashed' }];
}

function levelLine(time: TimeScale, limitMs: number | null): Settings[] {
	return limitLine(limitMs, (y) => [
		{ x: 0, y },
		{ x: time.end, y },
	]);
}

function overTime(time: TimeScale, yTitle: string, datasets: readonly Settings[]): Settings {
	const options = chartOptions(axis(time.title, { max: time.end }), axis(yTitle));
	return { type: 'line', data: { datasets }, options };
}

function missingChart(time: TimeScale): Chart {
	const bars = {
		label: 'not shown',
		data: time.points((bin) => bin.notPresented),
		backgroundColor: PLUM,
		borderColor: PLUM,
		borderWidth: 1,
	};
	return {
		id: 'chart-missing',
		title: 'pictures sent and not shown, over time',
		says: 'How many of the pictures sent in each stretch of time were never shown.',
		keys: [{ label: 'not shown', mark: 'bar' }],
		config: {
			type: 'bar',
			data: { datasets: [bars] },
			options: chartOptions(axis(time.title, { max: time.end, offset: false }), axis('pictures')),
		},
	};
}

/** A stepped outline and not bars, so that classes of any width stand at their true edges. */
function spreadChart(classes: Series['delayClasses'], limitMs: number | null): Chart {
	const outline = classes.map((c) => ({ x: c.fromMs, y: c.shareRatio * 100 }));
	const openFromMs = classes.at(-1)!.fromMs;
	const end = openFromMs + lastWidthMs(classes);
	const shape = line('share of pictures', [...outline, { x: end, y: 0 }], {
		colour: TEAL,
		width: 2,
		dash: [],
	});
	const tallest = Math.max(...outline.map((point) => point.y));
	const limit = limitLine(limitMs, (x) => [
		{ x, y: 0 },
		{ x, y: tallest },
	]);
	return {
		id: 'chart-spread',
		title: 'how delay is spread',
		says: `Share of the pictures shown in each class of delay. The last class, from ${formatTrimmed(openFromMs)} ms, holds everything above it.`,
		keys: [{ label: 'share of pictures', mark: 'line' }, ...limitKeys(limitMs)],
		config: {
			type: 'line',
			data: { datasets: [{ ...shape, stepped: 'before', fill: 'origin', backgroundColor: BAND }, ...limit] },
			options: chartOptions(
				axis('delay, ms', { min: Math.min(0, outline[0]!.x), max: Math.max(end, limitMs ?? end) }),
				axis('share of pictures, %'),
			),
		},
	};
}

/** The last class has no upper edge of its own; it is drawn no wider than the one before. */
function lastWidthMs(classes: Series['delayClasses']): number {
	const widthsMs = classes.slice(-2).map((c) => c.toMs - c.fromMs);
	return Math.min(...widthsMs);
}

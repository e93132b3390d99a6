/** Figures, charts, the ledger of pictures, colour and likeness, as sections of the page. */
import type { Series } from '../metrics/metric.ts';
import type { Fate } from '../observations/records.ts';
import type { ResultDocument } from '../verdict/resultDocument.ts';
import type { Chart, ChartKey } from './chartConfig.ts';
import { type FateRow, fateRows, lossWords } from './facts.ts';
import { figureRows } from './figures.ts';
import {
	dataElement,
	html,
	joinHtml,
	nothing,
	paragraph,
	type SafePiece,
	section,
	table,
} from './htmlParts.ts';
import { formatNumber, formatShare } from './numbers.ts';
import { EXACT_NAMES, notMeasuredWords } from './words.ts';

export function figuresPart({ metrics, run }: ResultDocument): SafePiece {
	const rows = figureRows(metrics, run.measuringPoints).map((row) => [
		html`${row.name}<span class="exact">${row.exact}</span>`,
		row.value,
		row.beside,
	]);
	return section('figures', 'The figures', [
		table(
			'Plain name, exact name below it; the figure; and what belongs with it.',
			[{ title: 'what' }, { title: 'figure' }, { title: 'with it' }],
			rows,
		),
		wordsPart(),
	]);
}

/** The exact name of every plain word, folded away. */
function wordsPart(): SafePiece {
	const rows = EXACT_NAMES.map(([plain, exact]) => html`<div><dt>${plain}</dt><dd>${exact}</dd></div>`);
	return html`<details><summary>What the words mean exactly</summary><dl>${joinHtml(rows)}</dl></details>`;
}

/** Places for the charts and their data; each says in words what it shows, for a page without scripts too. */
export function chartsPart(charts: readonly Chart[], series: Series): SafePiece {
	if (charts.length === 0)
		return section('charts', 'Over time', [
			paragraph('Nothing was shown in this run, so there is nothing to draw.'),
		]);
	const figures = charts.map(
		(chart) => html`<figure class="chart">
<h3>${chart.title}</h3>
<div class="plot"><canvas id="${chart.id}" role="img" aria-label="${chart.title}: ${chart.says}"></canvas><span class="unscripted">This chart is drawn by a script inside this page, and scripts are off. The figures below say the same in numbers.</span></div>
<ul class="keys">${joinHtml(chart.keys.map(keyItem))}</ul>
<figcaption>${chart.says}</figcaption>
</figure>`,
	);
	const data = charts.map(({ id, config }) => ({ id, config }));
	return section('charts', 'Over time', [...figures, classTable(series), dataElement('chart-data', data)]);
}

const KEY_DRAWING: Readonly<Record<ChartKey['mark'], SafePiece>> = {
	line: html`<path d="M0 7H44" stroke="#0b4f54" stroke-width="3"/>`,
	band: html`<rect width="44" height="14" fill="#cfcdc8"/><path d="M0 1H44" stroke="#2b2b2b"/><path d="M0 13H44" stroke="#2b2b2b" stroke-dasharray="1 3"/>`,
	dashed: html`<path d="M0 7H44" stroke="#5b2a4e" stroke-width="3" stroke-dasharray="10 6"/>`,
	bar: html`<rect x="18" width="8" height="14" fill="#5b2a4e"/>`,
};

function keyItem({ label, mark }: ChartKey): SafePiece {
	return html`<li><svg aria-hidden="true">${KEY_DRAWING[mark]}</svg>${label}</li>`;
}

function classTable({ delayClasses }: Series): SafePiece {
	if (delayClasses.length === 0) return nothing;
	const rows = delayClasses
		.filter((c) => c.shareRatio > 0)
		.map((c, i, all) => [
			i === all.length - 1 && c === delayClasses.at(-1)
				? `${formatNumber(c.fromMs)} ms and over`
				: `${formatNumber(c.fromMs)} to ${formatNumber(c.toMs)} ms`,
			formatShare(c.shareRatio),
		]);
	return html`<details><summary>How delay is spread, as a table</summary>${table(
		'Share of the pictures shown, by delay.',
		[{ title: 'delay' }, { title: 'share', numeric: true }],
		rows,
	)}</details>`;
}

export function framesPart({ metrics }: ResultDocument): SafePiece {
	const { frames } = metrics;
	const title = 'What happened to each picture';
	if (frames.kind === 'notMeasured') return section('frames', title, [paragraph(lossWords(frames))]);
	const rows = fateRows(frames);
	const body = table(
		`Each picture sent is in exactly one class; together they are the ${formatNumber(frames.sent)} sent.`,
		[{ title: 'class' }, { title: 'pictures', numeric: true }],
		rows.map((row) => [html`${key(row.fate)}${row.words}`, formatNumber(row.count)]),
	);
	return section('frames', title, [fateBar(rows, frames.sent), body, paragraph(lossWords(frames))]);
}

/** Line patterns, so that the classes differ on a black-and-white print. */
const FATE_PATTERN: Readonly<Record<Fate, SafePiece>> = {
	presented: html`<rect width="8" height="8" fill="#0b4f54"/>`,
	notDrawn: html`<rect width="8" height="8" fill="#fff"/><path d="M0 4H8" stroke="#0b4f54" stroke-width="2"/>`,
	unreadable: html`<rect width="8" height="8" fill="#fff"/><circle cx="4" cy="4" r="1.8" fill="#242220"/>`,
	overtaken: html`<rect width="8" height="8" fill="#bbb5a8"/>`,
	late: html`<rect width="8" height="8" fill="#fff"/><path d="M4 0V8" stroke="#5b2a4e" stroke-width="3"/>`,
	lost: html`<rect width="8" height="8" fill="#fff"/><path d="M-2 2L2 -2M0 8L8 0M6 10L10 6" stroke="#242220" stroke-width="2.5"/>`,
};

/** Per cent of the bar: a class with pictures in it is drawn at least this wide, so that none is out of sight. */
const LEAST_WIDTH = 0.6;

function fateBar(rows: readonly FateRow[], sent: number): SafePiece {
	const patterns = rows.map(
		({ fate }) =>
			html`<pattern id="fate-${fate}" width="8" height="8" patternUnits="userSpaceOnUse">${FATE_PATTERN[fate]}</pattern>`,
	);
	const present = rows.filter((row) => row.count > 0);
	const widths = present.map((row) => Math.max(LEAST_WIDTH, (row.count / sent) * 100));
	const whole = widths.reduce((sum, width) => sum + width, 0);
	let left = 0;
	const parts = present.map(({ fate }, i) => {
		const width = (widths[i]! / whole) * 100;
		const part = html`<rect x="${left.toFixed(3)}%" width="${width.toFixed(3)}%" height="64" fill="url(#fate-${fate})" stroke="#242220"/>`;
		left += width;
		return part;
	});
	return html`<svg class="bar" role="img" aria-label="the classes below as one bar"><defs>${joinHtml(patterns)}</defs>${joinHtml(parts)}</svg>`;
}

function key(fate: Fate): SafePiece {
	return html`<svg class="key" aria-hidden="true"><rect width="34" height="20" fill="url(#fate-${fate})"/></svg>`;
}

type Rgb = readonly [number, number, number];

export function colourPart({ metrics }: ResultDocument): SafePiece {
	const { colour } = metrics;
	const title = 'Colour: expected beside seen';
	if (colour.kind === 'notMeasured')
		return section('colour', title, [paragraph(`${notMeasuredWords(colour.reason)}. ${colour.explanation}`)]);
	const rows = colour.patches.map((patch) => [
		patch.name,
		swatch(patch.expectedRgb, patch.seenRgb),
		rgbWords(patch.expectedRgb),
		rgbWords(patch.seenRgb),
		formatNumber(patch.deltaE00, 2),
	]);
	const path =
		colour.path === 'decoded'
			? 'converted by the bench from the decoded Y, U, V'
			: 'as the browser displayed them';
	return section('colour', title, [
		table(
			`Left half expected, right half seen, ${path}; mean of ${formatNumber(colour.sampleCount)} pictures. This screen is not a colour standard: go by the figures.`,
			[
				{ title: 'patch' },
				{ title: 'expected | seen' },
				{ title: 'expected R G B', numeric: true },
				{ title: 'seen R G B', numeric: true },
				{ title: 'colour shift (CIEDE2000)', numeric: true },
			],
			rows,
		),
		paragraph(faultWords(colour)),
	]);
}

function faultWords(colour: {
	namedFault: string | null;
	faultsLookedFor: boolean;
	unexplainedDeltaE00?: number | undefined;
	displayedMedianDeltaE00: number | null;
}): string {
	const { namedFault, faultsLookedFor, unexplainedDeltaE00: unexplained } = colour;
	const none =
		unexplained === undefined
			? 'none found'
			: `none known fits; a mean shift of ${formatNumber(unexplained, 2)} stays unexplained`;
	const fault = `Named fault: ${namedFault ?? (faultsLookedFor ? none : 'faults not looked for')}.`;
	const displayed = colour.displayedMedianDeltaE00;
	return displayed === null
		? fault
		: `${fault} As displayed by the browser: middle shift ${formatNumber(displayed, 2)}.`;
}

function swatch(expected: Rgb, seen: Rgb): SafePiece {
	return html`<svg class="swatch" aria-hidden="true"><rect width="42" height="34" fill="${rgbFill(expected)}"/><rect x="42" width="42" height="34" fill="${rgbFill(seen)}"/></svg>`;
}

function rgbFill(rgb: Rgb): string {
	return `rgb(${rgb.map((code) => Math.min(255, Math.max(0, Math.round(code)))).join(',')})`;
}

function rgbWords(rgb: Rgb): string {
	return rgb.map((code) => formatNumber(code)).join(' ');
}

export type Evidence = { readonly file: string; readonly dataUri: string; readonly caption: string };

export function evidencePart(evidence: readonly Evidence[], { metrics }: ResultDocument): SafePiece {
	const { likeness } = metrics;
	const words =
		likeness.kind === 'notMeasured'
			? `${notMeasuredWords(likeness.reason)}. ${likeness.explanation}`
			: `SSIM ${likeness.ssimVariant}: middle ${formatNumber(likeness.medianSsim, 4)}, worst ${formatNumber(likeness.worstSsim, 4)}, over ${formatNumber(likeness.sampleCount)} pictures compared with the card drawn again.`;
	const pictures = evidence.map(evidenceFigure);
	return section('likeness', 'Likeness, and pictures as evidence', [paragraph(words), ...pictures]);
}

/** Only a PNG carried inside the page: an address would reach outside it. */
function evidenceFigure({ file, dataUri, caption }: Evidence): SafePiece {
	if (!/^data:image\/png;base64,[A-Za-z0-9+/=]*$/.test(dataUri))
		throw new RangeError(`evidence ${file} must be a PNG as a base64 data URI, got ${dataUri.slice(0, 40)}`);
	return html`<figure class="picture"><img src="${dataUri}" alt="${caption}"><figcaption>${caption} (${file})</figcaption></figure>`;
}

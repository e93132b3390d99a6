/**
 * A result as one page that needs nothing from outside: it opens from a disk with no network, carries its charts' script,
 * its style and its pictures, and prints on A4 in black and white. Its own rule (content security policy) forbids it to
 * fetch anything.
 */
import type { Series } from '../metrics/metric.ts';
import type { ResultDocument } from '../verdict/resultDocument.ts';
import { runCharts } from './chartConfig.ts';
import { fidelityPart, referencePart } from './htmlFidelity.ts';
import {
	chartsPart,
	colourPart,
	type Evidence,
	evidencePart,
	figuresPart,
	framesPart,
} from './htmlFigures.ts';
import {
	againPart,
	budgetPart,
	cautionsPart,
	harnessPart,
	sourcesPart,
	warningsPart,
} from './htmlGrounds.ts';
import { handPart } from './htmlHand.ts';
import { html, joinHtml, type SafePiece, scriptElement, styleElement } from './htmlParts.ts';
import { answerPart, decidedPart, judgedPart, linesPart } from './htmlVerdict.ts';
import { PAGE_STYLE } from './style.ts';
import { delayName, startedWords } from './words.ts';

type ReportParts = {
	readonly result: ResultDocument;
	readonly series: Series;
	/** Text of chart.js that sets a global `Chart`. */
	readonly chartScript: string;
	/** PNG pictures of the run, as base64 data URIs; anything else throws `RangeError`. */
	readonly evidence: readonly Evidence[];
};

/** Draws every chart of the page; with no chart script the words in its place stay. */
const DRAW_SCRIPT = `
if (typeof Chart === 'function') {
	for (const { id, config } of JSON.parse(document.getElementById('chart-data')?.textContent ?? '[]')) {
		const canvas = document.getElementById(id);
		new Chart(canvas, config);
		canvas.parentElement.classList.add('drawn');
	}
	addEventListener('beforeprint', () => {
		for (const chart of Object.values(Chart.instances)) chart.resize();
	});
}
`;

const POLICY = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:";

export function renderHtml({ result, series, chartScript, evidence }: ReportParts): string {
	const charts = runCharts(series, lineLimits(result), delayName(result.run.measuringPoints));
	const sections = [
		decidedPart(result),
		judgedPart(result),
		linesPart(result),
		warningsPart(result),
		chartsPart(charts, series),
		figuresPart(result),
		framesPart(result),
		colourPart(result),
		fidelityPart(result),
		referencePart(result),
		evidencePart(evidence, result),
		handPart(result),
		budgetPart(result),
		harnessPart(result),
		cautionsPart(),
		sourcesPart(),
		againPart(result),
	];
	return `<!doctype html>\n${page(result, sections, chartScript).markup}\n`;
}

function page(result: ResultDocument, sections: readonly SafePiece[], chartScript: string): SafePiece {
	const { run, verdict } = result;
	return html`<html lang="en-GB">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${POLICY}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>${run.id}: ${verdict.headline}</title>
${styleElement(PAGE_STYLE)}
</head>
<body>
<header class="masthead"><strong>steerworthy</strong><span>${run.place ?? 'place not given'}</span><span>${startedWords(run.startedAt)}</span><span>${run.id}</span></header>
<div class="sheet">
${answerPart(result)}
<main>
${joinHtml(sections)}
</main>
</div>
${scriptElement(chartScript)}
${scriptElement(DRAW_SCRIPT)}
</body>
</html>`;
}

/** The limits that the charts draw: those the metrics were read against. */
function lineLimits({ metrics }: ResultDocument): { delayMs: number | null; ageMs: number | null } {
	const { freshDelay, pictureAge } = metrics;
	return {
		delayMs: freshDelay.kind === 'measured' ? freshDelay.overLimit.limit : null,
		ageMs: pictureAge.kind === 'measured' ? pictureAge.overLimit.limit : null,
	};
}

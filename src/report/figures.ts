/**
 * The key figures of a result as rows of words, for text and page alike: plain name, exact name, figure with its unit and
 * its limit or uncertainty. Nothing is computed here; a metric that was not measured says so and why.
 */
import type { Metric, RateReading } from '../metrics/metric.ts';
import type { ResultRun } from '../verdict/resultDocument.ts';
import type { ResultMetrics } from '../verdict/resultMetrics.ts';
import { fidelityRows } from './fidelityRows.ts';
import { motionRows } from './motionRows.ts';
import {
	formatDuration,
	formatMs,
	formatNumber,
	formatPerMin,
	formatShare,
	formatTrimmed,
} from './numbers.ts';
import { delayName, notMeasuredWords } from './words.ts';

type FigureRow = {
	readonly name: string;
	readonly exact: string;
	readonly value: string;
	/** Uncertainty, limit or count that belongs with the figure; empty when the value says it all. */
	readonly beside: string;
};
type Points = ResultRun['measuringPoints'];

export function figureRows(metrics: ResultMetrics, points: Points): FigureRow[] {
	return [
		...delayRows(metrics, points),
		...ageRows(metrics),
		...variationRows(metrics),
		...rateRows(metrics),
		...stillRows(metrics),
		...pictureRows(metrics),
	];
}

/** The few that a terminal has room for: delay, age, unevenness and rate; of a still, which has no time, how true it is; of a recording, how it moves and how true it is. */
export function keyFigureRows(metrics: ResultMetrics, points: Points, rig: ResultRun['rig']): FigureRow[] {
	if (rig === 'still') return trueRows(metrics);
	if (rig === 'recording')
		return [...rateRows(metrics), ...stillRows(metrics), ...colourRows(metrics), ...movingRows(metrics)];
	const rows = [variationRows(metrics)[0], rateRows(metrics)[0]];
	return [
		...delayRows(metrics, points),
		...ageRows(metrics),
		...rows.filter((row) => row !== undefined),
		...(rig === 'optical' ? trueRows(metrics) : movingRows(metrics)),
	];
}

/** How true the picture is; none where no card was looked at closely. */
function trueRows(metrics: ResultMetrics): FigureRow[] {
	return [
		...colourRows(metrics),
		...fidelityRows(metrics).map(([name, value, exact]) => ({ name, value, exact, beside: exact })),
	];
}

/** Where the card had edges that move. */
function movingRows({ fidelity }: ResultMetrics): FigureRow[] {
	const moving = fidelity?.kind === 'measured' ? fidelity : {};
	return motionRows(moving).map(([name, value, exact]) => ({ name, value, exact, beside: exact }));
}

/** Rows of one metric, or the single row that says why there are none. */
function rowsOf<T>(
	metric: Metric<T>,
	title: readonly [name: string, exact: string],
	rows: (m: T) => FigureRow[],
): FigureRow[] {
	if (metric.kind === 'measured') return rows(metric);
	const [name, exact] = title;
	return [{ name, exact, value: notMeasuredWords(metric.reason), beside: metric.explanation }];
}

function row(name: string, exact: string, figure: { value: string; beside: string }): FigureRow {
	return { name, exact, ...figure };
}

function boundWords(upperMs: number | null): string {
	return upperMs === null ? 'no bound from this run' : `could be as bad as ${formatMs(upperMs)}`;
}

/** What stands in the place of a median or P95 that films could not tell; the warning of the film says more. */
const UNTOLD = 'the films saw one phase of the laptop’s screen only: see Warnings and notes';

function quantileRow(
	name: string,
	exact: string,
	m: { told: number | null; upperMs: number | null },
): FigureRow {
	const { told, upperMs } = m;
	const bound = boundWords(upperMs);
	return told === null
		? row(name, exact, { value: 'not told', beside: `${UNTOLD}; ${bound}` })
		: row(name, exact, { value: formatMs(told), beside: bound });
}

function delayRows({ freshDelay }: ResultMetrics, points: Points): FigureRow[] {
	const name = delayName(points);
	return rowsOf(freshDelay, [name, 'fresh delay'], (m) => [
		row(name, 'fresh delay, mean', {
			value: formatMs(m.meanMs),
			beside: `give or take ${formatMs(m.uncertaintyMs)}; ${formatNumber(m.count)} pictures`,
		}),
		quantileRow('delay, half of the pictures within', 'fresh delay, median', {
			told: m.medianMs,
			upperMs: m.medianUpperMs,
		}),
		quantileRow('delay, 19 times in 20 within', 'fresh delay, P95', { told: m.p95Ms, upperMs: m.p95UpperMs }),
		row('least and greatest delay', 'fresh delay, min and max', {
			value: `${formatMs(m.minMs)} and ${formatMs(m.maxMs)}`,
			beside: `${formatShare(m.overLimit.shareRatio)} of pictures over ${formatTrimmed(m.overLimit.limit)} ms`,
		}),
	]);
}

function ageRows({ pictureAge }: ResultMetrics): FigureRow[] {
	return rowsOf(pictureAge, ['how old the picture is', 'picture age'], (m) => [
		row('how old the picture is', 'picture age, mean over time', {
			value: formatMs(m.meanMs),
			beside: `${m.medianMs === null ? '' : `half of the time within ${formatMs(m.medianMs)}; `}oldest ${formatMs(m.maxMs)}`,
		}),
		quantileRow('how old, 19 times in 20 within', 'picture age, P95', {
			told: m.p95Ms,
			upperMs: m.p95UpperMs,
		}),
		row(`time with a picture older than ${formatTrimmed(m.overLimit.limit)} ms`, 'share over the limit', {
			value: formatShare(m.shareOverLimitRatio),
			beside: `worth ${formatNumber(m.overLimit.effectiveCount)} separate looks in ${formatDuration(m.overLimit.observedMs)}`,
		}),
	]);
}

function variationRows({ delayVariation }: ResultMetrics): FigureRow[] {
	return rowsOf(delayVariation, ['unevenness of delay', 'delay variation'], (m) => [
		row('unevenness of delay', 'P95 − P5 of fresh delay', {
			value: formatMs(m.spreadMs),
			beside: boundWords(m.spreadUpperMs),
		}),
		row('unevenness, other counts', 'PDV P95 (RFC 5481); IPDV P95 (RFC 3393); jitter (RFC 3550)', {
			value: [m.pdvP95Ms, m.ipdvP95Ms, m.interarrivalJitterMs].map(formatMs).join('; '),
			beside: 'in that order',
		}),
		row('lasting steps of delay', 'delay steps', {
			value: formatNumber(m.steps.length),
			beside: m.steps.slice(0, 3).map(stepWords).join('; '),
		}),
	]);
}

function stepWords(step: { atMs: number; fromMs: number; toMs: number }): string {
	return `from ${formatMs(step.fromMs)} to ${formatMs(step.toMs)}`;
}

function rateRows({ deliveredRate }: ResultMetrics): FigureRow[] {
	return rowsOf(deliveredRate, ['pictures a second', 'delivered rate'], (m) => [
		row('pictures a second', 'delivered rate in 1 s windows, mean', {
			value: formatNumber(m.meanHz, 1),
			beside: `source sends ${formatNumber(m.sourceHz, 1)} a second; 19 seconds in 20 at least ${formatNumber(m.p5Hz, 1)}`,
		}),
		row('seconds that were too slow', 'slow windows', {
			value: formatShare(m.slowWindows.shareRatio),
			beside: `of ${formatNumber(m.windowCount)} seconds`,
		}),
	]);
}

function rateWords(reading: RateReading): { value: string; beside: string } {
	return {
		value: `${formatNumber(reading.count)} in ${formatDuration(reading.observedMs)}`,
		beside: `${formatPerMin(reading.perMin)}; could be as bad as ${formatPerMin(reading.upperPerMin)}`,
	};
}

function stillRows({ freezes, gaps }: ResultMetrics): FigureRow[] {
	return [
		...rowsOf(freezes, ['freezes', 'W3C freezes and pauses'], (m) => [
			row('freezes', 'W3C freezes', rateWords(m.freezes)),
			row('longest freeze', m.averagingRule, {
				value: formatMs(m.longestFreezeMs),
				beside: `${formatDuration(m.totalFreezeMs)} frozen in all`,
			}),
			row('stops over 5 s', 'W3C pauses', rateWords(m.pauses)),
		]),
		...rowsOf(gaps, ['gaps between pictures', 'gaps'], (m) => [
			row('gaps over 200 ms', 'gaps; gates nothing', rateWords(m.over200)),
			row('gaps over 500 ms', 'gaps', rateWords(m.over500)),
			row('longest gap', 'gaps', { value: formatMs(m.longestMs), beside: '' }),
		]),
	];
}

function colourRows({ colour }: ResultMetrics): FigureRow[] {
	return rowsOf(colour, ['colour shift', 'CIEDE2000 over the patches'], (m) => [
		row('colour shift, middle patch', 'CIEDE2000, median', {
			value: formatNumber(m.medianDeltaE00, 2),
			beside: `between ${formatNumber(m.medianLower, 2)} and ${formatNumber(m.medianUpper, 2)}; 1 = just seen side by side`,
		}),
		row('colour shift, 19 patches in 20 within', 'CIEDE2000, P95', {
			value: formatNumber(m.p95DeltaE00, 2),
			beside: `between ${formatNumber(m.p95Lower, 2)} and ${formatNumber(m.p95Upper, 2)}; worst ${formatNumber(m.maxDeltaE00, 2)}`,
		}),
		row('fault of colour', 'named from its signature', {
			value:
				m.namedFault ??
				(m.unexplainedDeltaE00 !== undefined
					? 'none known fits'
					: m.faultsLookedFor
						? 'none found'
						: 'faults not looked for'),
			beside:
				m.unexplainedDeltaE00 === undefined
					? ''
					: `a mean shift of ${formatNumber(m.unexplainedDeltaE00, 2)} stays unexplained`,
		}),
	]);
}

function pictureRows(metrics: ResultMetrics): FigureRow[] {
	return [
		...colourRows(metrics),
		...balanceRows(metrics),
		...rowsOf(metrics.likeness, ['likeness', 'SSIM and PSNR of the luma'], (m) => [
			row('likeness, middle and worst', `SSIM, ${m.ssimVariant}`, {
				value: `${formatNumber(m.medianSsim, 4)} and ${formatNumber(m.worstSsim, 4)}`,
				beside: `1 = identical; ${formatNumber(m.sampleCount)} pictures compared`,
			}),
			row('likeness in decibels, middle and worst', 'PSNR', {
				value: `${decibels(m.medianPsnrDb)} and ${decibels(m.worstPsnrDb)}`,
				beside: 'higher is cleaner; shown, gates nothing',
			}),
		]),
		...rowsOf(metrics.sharpness, ['fine detail', 'MTF50'], (m) => [
			row('fine detail', 'MTF50 of slanted edges, cycles a pixel', {
				value: formatNumber(m.mtf50CyPx, 3),
				beside:
					m.ofReferenceRatio === null
						? 'no reference to compare with'
						: `${formatShare(m.ofReferenceRatio)} of the reference; ${formatNumber(m.pictureCount)} pictures`,
			}),
		]),
		...rowsOf(metrics.orientation, ['which way up', 'orientation'], (m) => [
			row('which way up', 'orientation of the picture against the card', {
				value: m.shown === 'mirrored' ? 'MIRROR IMAGE' : m.shown,
				beside: `turned by ${formatNumber(m.turnedDeg)} degrees; seen ${formatNumber(m.count)} times`,
			}),
		]),
	];
}

function balanceRows(metrics: ResultMetrics): FigureRow[] {
	return [
		...rowsOf(metrics.whiteBalance, ['white balance', 'chroma of the neutral patch'], (m) => [
			row('white balance: tint of the neutral patch', `C*ab of ${m.patchName}`, {
				value: formatNumber(m.chroma, 2),
				beside: `red/green ${formatNumber(m.redOverGreen, 3)}, blue/green ${formatNumber(m.blueOverGreen, 3)} (1 = neutral)`,
			}),
		]),
		...rowsOf(metrics.greyTracking, ['grey steps', 'grey tracking'], (m) => [
			row('grey steps', 'slope of log luminance seen against expected', {
				value: formatNumber(m.toneSlope, 3),
				beside: `1 = the same; order of the steps ${m.monotonic ? 'kept' : 'NOT kept'}; ${formatNumber(m.neutralCount)} greys`,
			}),
		]),
	];
}

function decibels(psnrDb: number | null): string {
	return psnrDb === null ? 'identical' : `${formatNumber(psnrDb, 1)}\u202fdB`;
}

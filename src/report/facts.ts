/**
 * What was judged, for how long and between which points; the frame ledger; the uncertainty budget; the bench's own
 * delay: rows of words for text and page alike. Nothing is computed here.
 */
import type { FrameLedger, HarnessHealth, Metric } from '../metrics/metric.ts';
import { FAST_FILMS, FATES, type Fate, ORDINARY_FILMS, type Systematic } from '../observations/records.ts';
import type { ResultDocument, ResultRun } from '../verdict/resultDocument.ts';
import { formatDuration, formatMs, formatNumber, formatShare, formatTrimmed } from './numbers.ts';
import {
	FATE_WORDS,
	measuringPointsWords,
	notMeasuredWords,
	PROFILE_WORDS,
	rigWords,
	shapeWords,
	startedWords,
} from './words.ts';

type Row = readonly [term: string, detail: string];

/** What was judged: place, ends, picture, way and length. */
export function judgedRows(run: ResultRun): Row[] {
	return [
		['rig', rigWords(run.rig)],
		['measured', measuringPointsWords(run.measuringPoints)],
		['observed', observedWords(run)],
		['profile', PROFILE_WORDS[run.profile]],
		['place', run.place ?? 'not given'],
		['joined', run.joined ?? 'not asked'],
		['test card', cardWords(run.source)],
		['way', run.rig === 'optical' ? 'the kit’s own lens, link and app' : pathWords(run.path)],
		['viewer’s display', displayWords(run.displayPeriodMs)],
		['started', startedWords(run.startedAt)],
		['run', run.id],
	];
}

/** How long was counted, in how many parts, and whether the run came to its own end. */
export function observedWords(run: ResultRun): string {
	if (isTimeless(run)) return 'stills: no time passes in them';
	const parts = run.segmentCount === 1 ? 'unbroken' : `in ${run.segmentCount} parts, the breaks not counted`;
	const torn = run.torn ? '; THE FILE IS TORN: the run did not come to its own end' : '';
	return `${formatDuration(run.observedMs)}, ${parts}; ${formatDuration(run.warmUpMs)} of warm-up left out${torn}`;
}

/** Made of stills alone: nothing was observed over time. */
export function isTimeless({ rig, observedMs }: ResultRun): boolean {
	return rig === 'still' && observedMs === 0;
}

function cardWords(source: ResultRun['source']): string {
	// A film tells how often the kit shows a new picture of the card, and not how large the card was drawn.
	if (source.widthPx === 0)
		return `${source.layout}, session ${source.seed}; the kit showed ${formatTrimmed(source.rateHz)} pictures of it a second`;
	const size = `${source.widthPx} × ${source.heightPx}`;
	// Printed, it has neither a rate nor a seed.
	if (source.layout === 'detail') return `${source.layout}, ${size}`;
	return `${source.layout}, ${size}, ${formatTrimmed(source.rateHz)} pictures a second, ${source.difficulty === 'motion' ? 'with moving edges' : `${source.difficulty} to encode`}, seed ${source.seed}`;
}

function pathWords(path: ResultRun['path']): string {
	if (path === null) return 'it did not travel';
	const rate =
		path.bitrateKbps === null ? 'bit rate not stated' : `${formatTrimmed(path.bitrateKbps)} kbit/s`;
	const keys = path.keyEveryFrames === null ? [] : [`a key picture every ${path.keyEveryFrames}`];
	const air = path.air === null ? 'real air' : `simulated air: ${path.air}`;
	return [path.transport, path.codec, rate, ...keys, air].join(', ');
}

function displayWords(periodMs: number | null): string {
	return periodMs === null ? 'refresh period not known' : `a new picture every ${formatMs(periodMs)}`;
}

export type FateRow = { readonly fate: Fate; readonly words: string; readonly count: number };

/** The six classes in their order; they add up to `sent`. */
export function fateRows(frames: FrameLedger): FateRow[] {
	return FATES.map((fate) => ({ fate, words: FATE_WORDS[fate], count: frames[fate] }));
}

/** The ledger in one sentence or two. */
export function lossWords(frames: Metric<FrameLedger>): string {
	if (frames.kind === 'notMeasured') return `${notMeasuredWords(frames.reason)}. ${frames.explanation}`;
	return (
		`Lost or late: ${formatShare(frames.lostRatio)} of those sent (could be as bad as ` +
		`${formatShare(frames.lostUpperRatio)}); longest run of losses ${formatNumber(frames.longestLossRun)}. ` +
		`Repeated ${formatNumber(frames.repeated)}, out of order ${formatNumber(frames.outOfOrder)}.`
	);
}

type BudgetRow = {
	readonly name: string;
	readonly halfWidth: string;
	readonly shape: string;
	readonly source: string;
};

/** Systematic errors of the whole run, each one draw; the random part stands in the bounds. */
export function budgetRows(systematics: readonly Systematic[]): BudgetRow[] {
	return systematics.map((s) => ({
		name: s.name,
		halfWidth: formatMs(s.halfWidthMs),
		shape: shapeWords(s.shape),
		source: s.source,
	}));
}

/** How the budget adds up, and what of the mean's uncertainty is left to chance. */
export function budgetWords({ run, metrics }: ResultDocument): string[] {
	const ofFilms = [FAST_FILMS, ORDINARY_FILMS].some((films) =>
		run.systematics.some(({ name }) => name.endsWith(films)),
	);
	const together = ofFilms
		? 'What is marked fast clips is in every bound of delay and its unevenness, what is marked ordinary clip in every bound of age: each by itself, in quadrature.'
		: `Together: the true delay lies about ${formatMs(run.systematicCentreMs)} above the reading, with a standard uncertainty of ${formatMs(run.systematicStandardMs)}. This is in every bound.`;
	const { freshDelay } = metrics;
	if (freshDelay.kind === 'notMeasured') return [together];
	return [
		together,
		`Mean delay ${formatMs(freshDelay.meanMs)}, give or take ${formatMs(freshDelay.uncertaintyMs)} (k = 2): the random part, from how the run’s parts differ, and the above, in quadrature.`,
	];
}

/** This computer's own part; shown beside the result, never taken off it. */
export function harnessRows(harness: Metric<HarnessHealth>): Row[] {
	if (harness.kind === 'notMeasured') return [[notMeasuredWords(harness.reason), harness.explanation]];
	const late = harness.lateSharePerLine;
	return [
		[
			'pictures late at the source',
			`half within ${formatMs(harness.latenessMedianMs)}, 19 times in 20 within ${formatMs(harness.latenessP95Ms)}, worst ${formatMs(harness.latenessMaxMs)}`,
		],
		[
			'time in which the bench itself was late',
			`by the age line ${formatShare(late.age)}, the delay line ${formatShare(late.delay)}, the rate line ${formatShare(late.rate)}, the gaps line ${formatShare(late.gaps)}`,
		],
		['processor busy', busyWords(harness)],
		['clocks of the two ends', clockWords(harness.clockBoundMs)],
	];
}

function busyWords({ busyMedianRatio, busyMaxRatio }: HarnessHealth): string {
	if (busyMedianRatio === null || busyMaxRatio === null) return 'this machine does not say';
	return `${formatShare(busyMedianRatio)} in the middle second, ${formatShare(busyMaxRatio)} in the worst`;
}

function clockWords(boundMs: number | null): string {
	return boundMs === null ? 'one clock for both' : `agree within ${formatMs(boundMs)}`;
}

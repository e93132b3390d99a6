/**
 * A long run looked at by the half-minute: delay, age, losses and colour over time, where each moved to another level and stayed
 * there, and where the link broke and how long it took to come back (endurance and walk-away).
 *
 * Times are ms from the beginning of the first segment. A slow drift is told as one or more steps (statistics/changePoints.ts).
 */
import { deltaE00 } from '../colour/deltaE00.ts';
import { srgbToLab65 } from '../colour/srgbToLab65.ts';
import type { Run } from '../observations/run.ts';
import { changePoints } from '../statistics/changePoints.ts';
import { quantileSorted, sortSamples } from '../statistics/quantile.ts';
import { type LinkBreak, measureBreaks } from './linkBreaks.ts';
import type { Metric } from './metric.ts';
import { gatherPictures, type SegmentPictures } from './presentedPictures.ts';

type EnduranceQuantity = 'delayMs' | 'ageMs' | 'lostRatio' | 'colour';

export type Change = {
	readonly quantity: EnduranceQuantity;
	readonly atMs: number;
	readonly before: number;
	readonly after: number;
};

/** A stretch of the run, from `atMs`; null: nothing of that kind was seen in it. */
export type EnduranceRow = Readonly<Record<EnduranceQuantity, number | null>> & { readonly atMs: number };

export type Endurance = {
	readonly minutes: number;
	/** A dozen stretches or so, of equal length; a rest shorter than half of one is left out. */
	readonly rows: readonly EnduranceRow[];
	readonly changes: readonly Change[];
	readonly breaks: readonly LinkBreak[];
};

const BIN_MS = 30_000;
/** Fewer bins show no change that could be told from noise. */
const LEAST_BINS = 8;
const MOST_ROWS = 12;
/**
 * Steps smaller than these are of no use, however sure; no source. Of delay and age none up to a display period: the wait for the
 * next refresh drifts through all of one where source and display hardly differ, and that is no change of the link.
 */
const LEAST_STEP: Readonly<Record<EnduranceQuantity, number>> = {
	delayMs: 5,
	ageMs: 8,
	lostRatio: 0.005,
	colour: 0.5,
};

export function measureEndurance(run: Run): Metric<Endurance> {
	const startMs = run.segments[0]?.startMs ?? 0;
	const endMs = run.segments.at(-1)?.endMs ?? startMs;
	const pictures = gatherPictures(run);
	const bins = Math.floor((endMs - startMs) / BIN_MS);
	if (pictures.length === 0 || bins < LEAST_BINS)
		return {
			kind: 'notMeasured',
			reason: 'tooShort',
			explanation: `A look over time needs ${(LEAST_BINS * BIN_MS) / 60_000} minutes and more.`,
		};
	const seriesBy = (binMs: number): Series => {
		const place = (ms: number): number => Math.floor((ms - startMs) / binMs);
		return {
			delayMs: mediansOf(pictures.flatMap(delays), place),
			ageMs: meanAges(pictures, place),
			lostRatio: lostRatios(run, place),
			colour: mediansOf(colourShifts(run), place),
		};
	};
	return {
		kind: 'measured',
		minutes: (endMs - startMs) / 60_000,
		rows: rowsOf(seriesBy, { bins, lengthMs: endMs - startMs }),
		changes: Object.entries(seriesBy(BIN_MS))
			.flatMap(([quantity, readings]) => changesOf(quantity as EnduranceQuantity, readings, run.header))
			.sort((a, b) => a.atMs - b.atMs),
		breaks: measureBreaks(run),
	};
}

type Series = Readonly<Record<EnduranceQuantity, ReadonlyMap<number, number>>>;

function rowsOf(
	seriesBy: (binMs: number) => Series,
	{ bins, lengthMs }: { readonly bins: number; readonly lengthMs: number },
): EnduranceRow[] {
	const rowMs = BIN_MS * Math.ceil(bins / MOST_ROWS);
	const { delayMs, ageMs, lostRatio, colour } = seriesBy(rowMs);
	return Array.from({ length: Math.round(lengthMs / rowMs) }, (_, i) => ({
		atMs: i * rowMs,
		delayMs: delayMs.get(i) ?? null,
		ageMs: ageMs.get(i) ?? null,
		lostRatio: lostRatio.get(i) ?? null,
		colour: colour.get(i) ?? null,
	}));
}

type Reading = { readonly atMs: number; readonly value: number };

function changesOf(
	quantity: EnduranceQuantity,
	readings: ReadonlyMap<number, number>,
	{ displayPeriodMs }: Run['header'],
): Change[] {
	const isTime = quantity === 'delayMs' || quantity === 'ageMs';
	const leastStep = Math.max(LEAST_STEP[quantity], isTime ? (displayPeriodMs ?? 0) : 0);
	const rows = [...readings].sort(([a], [b]) => a - b);
	return changePoints(rows.map(([, value]) => value)).flatMap(({ index, before, after }) =>
		Math.abs(after - before) < leastStep ? [] : [{ quantity, atMs: rows[index]![0] * BIN_MS, before, after }],
	);
}

function mediansOf(readings: readonly Reading[], place: (ms: number) => number): Map<number, number> {
	const bins = new Map<number, number[]>();
	for (const { atMs, value } of readings) {
		const bin = bins.get(place(atMs)) ?? [];
		bins.set(place(atMs), bin);
		bin.push(value);
	}
	return new Map([...bins].map(([bin, values]) => [bin, quantileSorted(sortSamples(values), 0.5)]));
}

function delays({ seenMs, shownMs, contentFrom, contentUntil }: SegmentPictures): Reading[] {
	const readings: Reading[] = [];
	for (let i = contentFrom; i < contentUntil; i++)
		readings.push({ atMs: shownMs[i]!, value: seenMs[i]! - shownMs[i]! });
	return readings;
}

/** Mean over time of a picture's age: it grows from seen less shown while the picture stands. */
function meanAges(pictures: readonly SegmentPictures[], place: (ms: number) => number): Map<number, number> {
	const areas = new Map<number, { area: number; ms: number }>();
	for (const { seenMs, shownMs, fromMs } of pictures) {
		for (let i = 0; i + 1 < seenMs.length; i++) {
			const [from, to] = [Math.max(seenMs[i]!, fromMs), seenMs[i + 1]!];
			if (to <= from) continue;
			const bin = areas.get(place(from)) ?? { area: 0, ms: 0 };
			areas.set(place(from), bin);
			bin.area += (to - from) * ((from + to) / 2 - shownMs[i]!);
			bin.ms += to - from;
		}
	}
	return new Map([...areas].map(([bin, { area, ms }]) => [bin, area / ms]));
}

function lostRatios({ frames, segments }: Run, place: (ms: number) => number): Map<number, number> {
	const observed = new Map(segments.map((segment) => [segment.segment, segment]));
	const bins = new Map<number, { lost: number; sent: number }>();
	for (const { segment, shownMs, fate } of frames) {
		const within = observed.get(segment);
		if (within === undefined || shownMs < within.warmUpUntilMs || shownMs >= within.endMs) continue;
		const bin = bins.get(place(shownMs)) ?? { lost: 0, sent: 0 };
		bins.set(place(shownMs), bin);
		bin.sent++;
		if (fate === 'lost' || fate === 'late') bin.lost++;
	}
	return new Map([...bins].map(([bin, { lost, sent }]) => [bin, lost / sent]));
}

/** Median over the patches of how far each looks from the card as drawn. */
function colourShifts({ header, patches }: Run): Reading[] {
	const drawn = header.patches.map(({ rgb }) => srgbToLab65(rgb));
	return patches.flatMap(({ atMs, path, rgb }) => {
		if (path !== 'decoded' || rgb.length !== drawn.length || drawn.length === 0) return [];
		const shifts = rgb.map((seen, i) => deltaE00(drawn[i]!, srgbToLab65(seen)));
		return [{ atMs, value: quantileSorted(sortSamples(shifts), 0.5) }];
	});
}

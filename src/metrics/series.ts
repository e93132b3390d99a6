/**
 * Delay and age over time for a chart, and the distribution of delay. Only observed time is drawn, so that no extreme of the
 * chart is missing from the figures or the other way round; bins in warm-up or in a break are empty. Each bin keeps its
 * least and greatest value. A delay stands where its picture was seen, a frame not presented where it was shown.
 */
import { FATES } from '../observations/records.ts';
import type { Run } from '../observations/run.ts';
import { quantileSorted, sortSamples } from '../statistics/quantile.ts';
import { freshDelayCurve } from './freshDelay.ts';
import type { Series } from './metric.ts';
import { forEachHold } from './pictureAge.ts';
import { contentCount, gatherPictures, type SegmentPictures } from './presentedPictures.ts';
import { gatherSent, type SegmentSent } from './sentFrames.ts';

const CLASS_MS = 10;
/** Everything from here on is in the last class. */
const LAST_CLASS_MS = 600;
const PRESENTED = FATES.indexOf('presented');

type Bin = { delaysMs: number[]; ageMinMs: number; ageMaxMs: number; notPresented: number };
type Axis = { readonly originMs: number; readonly binMs: number; readonly bins: readonly Bin[] };

/** `binCount`: a whole number of at least 1. A run without segments has no bins. */
export function measureSeries(run: Run, binCount: number): Series {
	if (!(Number.isInteger(binCount) && binCount >= 1))
		throw new RangeError(`a series needs a whole number of bins, at least 1, got ${binCount}`);
	const first = run.segments[0];
	const last = run.segments.at(-1);
	if (first === undefined || last === undefined || last.endMs <= first.startMs)
		return { bins: [], delayClasses: [] };
	const bins = Array.from({ length: binCount }, emptyBin);
	const axis = { originMs: first.startMs, binMs: (last.endMs - first.startMs) / binCount, bins };
	const pictures = gatherPictures(run);
	for (const segment of pictures) {
		fillDelays(axis, segment);
		forEachHold(segment, (fromMs, untilMs, shownMs) => fillAges(axis, { fromMs, untilMs, shownMs }));
	}
	for (const segment of gatherSent(run)) fillNotPresented(axis, segment);
	return { bins: bins.map((bin, i) => finishBin(bin, i, axis.binMs)), delayClasses: delayClasses(pictures) };
}

function emptyBin(): Bin {
	return {
		delaysMs: [],
		ageMinMs: Number.POSITIVE_INFINITY,
		ageMaxMs: Number.NEGATIVE_INFINITY,
		notPresented: 0,
	};
}

/** Instants past the last bin belong to it: pictures seen just after the run's end. */
function placeOf({ originMs, binMs, bins }: Axis, atMs: number): number {
	return Math.min(bins.length - 1, Math.max(0, Math.floor((atMs - originMs) / binMs)));
}

function fillDelays(axis: Axis, { seenMs, shownMs, contentFrom, contentUntil }: SegmentPictures): void {
	for (let i = contentFrom; i < contentUntil; i++)
		axis.bins[placeOf(axis, seenMs[i]!)]!.delaysMs.push(seenMs[i]! - shownMs[i]!);
}

/** A hold may cross many bins; age grows through each of them. */
function fillAges(axis: Axis, hold: { fromMs: number; untilMs: number; shownMs: number }): void {
	if (hold.untilMs <= hold.fromMs) return;
	const lastPlace = placeOf(axis, hold.untilMs);
	for (let place = placeOf(axis, hold.fromMs); place <= lastPlace; place++) {
		const bin = axis.bins[place]!;
		const startMs = Math.max(hold.fromMs, axis.originMs + place * axis.binMs);
		const stopMs =
			place === lastPlace ? hold.untilMs : Math.min(hold.untilMs, axis.originMs + (place + 1) * axis.binMs);
		if (stopMs <= startMs) continue;
		bin.ageMinMs = Math.min(bin.ageMinMs, startMs - hold.shownMs);
		bin.ageMaxMs = Math.max(bin.ageMaxMs, stopMs - hold.shownMs);
	}
}

function fillNotPresented(axis: Axis, { shownMs, fate, count }: SegmentSent): void {
	for (let i = 0; i < count; i++)
		if (fate[i] !== PRESENTED) axis.bins[placeOf(axis, shownMs[i]!)]!.notPresented++;
}

function finishBin(bin: Bin, place: number, binMs: number): Series['bins'][number] {
	const sorted = bin.delaysMs.length > 0 ? sortSamples(bin.delaysMs) : null;
	return {
		fromMs: place * binMs,
		toMs: (place + 1) * binMs,
		delayMs:
			sorted === null
				? null
				: {
						min: quantileSorted(sorted, 0),
						median: quantileSorted(sorted, 0.5),
						max: quantileSorted(sorted, 1),
					},
		ageMs: bin.ageMaxMs >= bin.ageMinMs ? { min: bin.ageMinMs, max: bin.ageMaxMs } : null,
		notPresented: bin.notPresented,
	};
}

/** Weighted by content gap, like fresh delay. Empty when nothing was presented. */
function delayClasses(pictures: readonly SegmentPictures[]): Series['delayClasses'] {
	if (contentCount(pictures) === 0) return [];
	const { count, levels, lengthsMs, totalMs } = freshDelayCurve(pictures);
	const classCount = LAST_CLASS_MS / CLASS_MS + 1;
	const weightsMs = new Float64Array(classCount);
	let greatestMs = LAST_CLASS_MS + CLASS_MS;
	for (let i = 0; i < count; i++) {
		const place = Math.min(classCount - 1, Math.max(0, Math.floor(levels[i]! / CLASS_MS)));
		weightsMs[place]! += lengthsMs[i]!;
		greatestMs = Math.max(greatestMs, levels[i]!);
	}
	return Array.from(weightsMs, (weightMs, place) => ({
		fromMs: place * CLASS_MS,
		toMs: place === classCount - 1 ? greatestMs : (place + 1) * CLASS_MS,
		shareRatio: weightMs / totalMs,
	}));
}

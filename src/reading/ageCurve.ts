/**
 * The age curve rebuilt from the pictures: what each shows (content time) and when its light came (centroid by area, from the
 * last settled frame of the picture before to its own). Time-weighted P50 and P95 are read off this curve; an order statistic
 * of frames' ages is 2 to 6 ms low, because exposure and crystal blend the peaks away, and is never used.
 *
 * A picture that was never settled is merged with its neighbour into one change of the same area. Where more than 3 % are such,
 * the curve is not trusted: `notMeasured`.
 */
import { CurveBuilder, levelQuantile, meanLevel } from '../statistics/levelCurve.ts';
import type { NotRead, ShownPicture, Timeline } from './opticalTypes.ts';
import type { TabletPicture } from './tabletPictures.ts';
import type { TabletReading } from './tabletReading.ts';

/** With fewer settled pictures the blends among them decide both the curve and the content clock (bench/optical.ts). */
export const LEAST_SETTLED_RATIO = 0.97;
const LEAST_PICTURES = 10;

/** What the rebuilt curve says; only where its pictures were settled. */
type AgeCurve = {
	readonly kind: 'curve';
	readonly meanMs: number;
	/** Null: a phase that stands still moves them by an unknown part of a refresh, and changes which refreshes lie beyond them. */
	readonly p50Ms: number | null;
	readonly p95Ms: number | null;
};

export type ShownPictures = {
	/** In order; where they were not settled, their instants are good to about a frame and serve for gaps and rates only. */
	readonly pictures: readonly ShownPicture[];
	readonly settledRatio: number;
	readonly curve: AgeCurve | NotRead;
};

type CurveInput = {
	readonly timeline: Timeline;
	readonly reading: TabletReading;
	readonly pictures: readonly TabletPicture[];
	/** The piece's first frame. */
	readonly from: number;
	readonly slots: Int32Array | null;
	/** Content time of each picture. */
	readonly contentMs: readonly number[];
};

export function showPictures(input: CurveInput): ShownPictures {
	const { pictures, contentMs, slots } = input;
	const settledRatio = settledShare(pictures);
	const shown: ShownPicture[] = [];
	for (let place = 1; place < pictures.length; place++) {
		const picture = {
			slot: slots === null ? place : slots[place]!,
			contentMs: contentMs[place]!,
			shownMs: changeMs(input, place),
		};
		const before = shown.at(-1);
		// Two readings of one picture, or one that steps back: the first stands.
		if (before !== undefined && (picture.shownMs <= before.shownMs || picture.contentMs <= before.contentMs))
			continue;
		shown.push(picture);
	}
	const isSettled = shown.length >= LEAST_PICTURES && settledRatio >= LEAST_SETTLED_RATIO;
	const curve = isSettled ? curveOf(shown, input.timeline.atMs.at(-1)!) : unsettled(settledRatio);
	return { pictures: shown, settledRatio, curve };
}

function curveOf(shown: readonly ShownPicture[], untilMs: number): AgeCurve {
	const builder = new CurveBuilder(1);
	for (const [i, { shownMs, contentMs }] of shown.entries()) {
		const end = shown[i + 1]?.shownMs ?? untilMs;
		builder.add(Math.max(0, end - shownMs), shownMs - contentMs);
	}
	const curve = builder.finish();
	return {
		kind: 'curve',
		meanMs: meanLevel(curve),
		p50Ms: levelQuantile(curve, 0.5),
		p95Ms: levelQuantile(curve, 0.95),
	};
}

/** Share of the pictures that had two frames to themselves, each counting with the frames until the next. */
export function settledShare(pictures: readonly TabletPicture[]): number {
	let settled = 0;
	let all = 0;
	for (let place = 0; place + 1 < pictures.length; place++) {
		const frames = pictures[place + 1]!.from - pictures[place]!.from;
		all += frames;
		if (pictures[place]!.settled) settled += frames;
	}
	return all > 0 ? settled / all : 0;
}

/** Instant of the change to picture `place`: the end of the settled frame before it, and the area of what was still the old one. */
function changeMs({ timeline, reading, pictures, from }: CurveInput, place: number): number {
	const before = pictures[place - 1]!.settledFrame - from;
	const after = pictures[place]!.settledFrame - from;
	const { atMs, weightMs } = timeline;
	let instantMs = atMs[before]! + weightMs[before]! / 2;
	for (let i = before + 1; i <= after; i++) {
		const share = i === after ? 1 : reading.share[i]!;
		instantMs += (1 - share) * weightMs[i]!;
	}
	return instantMs;
}

function unsettled(settledRatio: number): NotRead {
	return {
		kind: 'notMeasured',
		reason: 'picturesUnsettled',
		explanation:
			`Only ${Math.round(100 * settledRatio)} % of the pictures stood still in two frames of the clip, so the moment at which each came cannot be told. ` +
			'Film at 120 or 240 frames a second.',
	};
}

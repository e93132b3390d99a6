/**
 * How detail and noise fall with the distance from the lens, from stills of the printed card at stated distances, and the field of
 * view. Detail is of the card, in cycles a millimetre: a lens that were perfect at every distance would halve it when the
 * distance doubles, for the card takes half as many pixels; what falls faster is focus, light or noise reduction.
 *
 * Source: tan(FOV / 2) = (r2 - r1) / (d2 - d1), geometry (standards.md 6; the form from one distance is wrong near the window,
 * Wang and others 2017, abstract). The picture's width is meant, not a marked field.
 */
import type { DetailSample } from '../observations/run.ts';
import { grouped, middle, middleOrNull } from './pictureDetails.ts';
import type { Fidelity, SeenAtDistance } from './pictureMetric.ts';

type SeenFrom = NonNullable<DetailSample['seenFrom']>;

/** Nothing where no distance was stated. */
export function distanceFigures(
	details: readonly DetailSample[],
): Pick<Fidelity, 'distances' | 'fieldOfViewDeg'> {
	const stated = details.filter(({ seenFrom }) => seenFrom !== undefined);
	if (stated.length === 0) return {};
	const groups = grouped(stated, ({ seenFrom }) => String(seenFrom!.distanceMm)).toSorted(
		(a, b) => a[0]!.seenFrom!.distanceMm - b[0]!.seenFrom!.distanceMm,
	);
	const figures = groups.map(figuresAt);
	const nearest = figures[0]!;
	const distances = figures.map(
		(figure): SeenAtDistance => ({
			...figure,
			detailRatio: share(figure.mtf50CyPerMm, nearest.mtf50CyPerMm),
			signalRatio: share(figure.signalToNoiseRatio, nearest.signalToNoiseRatio),
		}),
	);
	const fieldOfViewDeg = fieldOfView(groups.map((group) => group[0]!.seenFrom!));
	return { distances, ...(fieldOfViewDeg === null ? {} : { fieldOfViewDeg }) };
}

function figuresAt(group: readonly DetailSample[]) {
	const perMm = group.map(({ edges, seenFrom }) =>
		edges.length === 0 ? null : middle(edges.map(({ mtf50CyPx }) => mtf50CyPx)) * seenFrom!.pxPerMm,
	);
	const signals = group.map(({ noise }) => noise[noise.length >> 1]?.signalToNoiseRatio ?? null);
	return {
		distanceMm: group[0]!.seenFrom!.distanceMm,
		mtf50CyPerMm: middleOrNull(perMm),
		signalToNoiseRatio: middleOrNull(signals),
	};
}

function share(value: number | null, whole: number | null): number | null {
	return value === null || whole === null || whole === 0 ? null : value / whole;
}

/** Of the nearest and the farthest; null for one distance, or when the farther one shows no more of the card. */
export function fieldOfView(seen: readonly Pick<SeenFrom, 'distanceMm' | 'halfWidthMm'>[]): number | null {
	const near = seen[0];
	const far = seen.at(-1);
	if (near === undefined || far === undefined || !(far.distanceMm > near.distanceMm)) return null;
	const slope = (far.halfWidthMm - near.halfWidthMm) / (far.distanceMm - near.distanceMm);
	return slope > 0 ? (2 * Math.atan(slope) * 180) / Math.PI : null;
}

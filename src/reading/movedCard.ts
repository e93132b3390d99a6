/**
 * What movement costs through a lens: the printed card held still before the scope and then moved by hand, in the kit's own pictures. How fast each
 * edge moved is told by the card itself, from where it lies in the picture before and the one after, across the edge; the edges are
 * measured as at rest and put together by speed. Only edges that were seen moving count at rest, so that one that stands is not set beside one
 * that lies. Ghosts and a pulse are not told so: nobody drew where the card ought to be.
 *
 * Our own; a card blurred evenly to both sides is found where it was in the middle of the shutter's time.
 */
import { lumaOf } from '../imaging/planes.ts';
import type { Raster } from '../imaging/raster.ts';
import { rasterToPlanes } from '../imaging/rasterToPlanes.ts';
import type { PictureDetail } from '../observations/pictureDetail.ts';
import { type DetailEdge, detailEdges, type Point } from '../pattern/detailCard.ts';
import type { CardPose } from './cardPose.ts';
import { responseOfEdge } from './detailCardReading.ts';
import { findDetailCard } from './findDetailCard.ts';

type MovingEdge = NonNullable<PictureDetail['motion']>['edges'][number];
export type MovedLook = {
	/** Of the clip. */
	readonly frameNumber: number;
	readonly atMs: number;
	readonly edges: readonly MovingEdge[];
};

/** Pixels from a picture to the next: up to here it rests; and where each kind of speed begins, up to the next. */
const REST_PX = 0.3;
const SPEEDS_FROM_PX = [0.75, 1.5, 3, 6] as const;
const MOST_PX = 12;
/** Fewer edges of one speed are left out. */
const LEAST_EDGES = 6;
const FULL = { matrix: '709', range: 'full' } as const;

type At = { readonly frameNumber: number; readonly atMs: number };
type Seen = At & { readonly raster: Raster; readonly pose: CardPose };
/** The raster is not kept. */
type Read = At & MovingEdge & { readonly place: string };

export type MovedCardReader = {
	/** The next picture of the clip, its raster no more written to. */
	look(raster: Raster, atMs: number): void;
	/** Looks with edges in them, in order; none where the card never rested or never moved. */
	finish(): MovedLook[];
};

export function createMovedCardReader(): MovedCardReader {
	const read: Read[] = [];
	let count = 0;
	let before: Seen | null = null;
	let here: Seen | null = null;
	return {
		look(raster, atMs) {
			const found = findDetailCard(lumaOf(rasterToPlanes(raster, FULL)));
			const next =
				found.kind === 'notMeasured' ? null : { raster, pose: found.pose, frameNumber: count, atMs };
			count++;
			if (before !== null && here !== null && next !== null)
				read.push(...edgesOf(here, { before: before.pose, after: next.pose }));
			[before, here] = [here, next];
		},
		finish: () => looksOf(read),
	};
}

type Beside = { readonly before: CardPose; readonly after: CardPose };

function edgesOf(seen: Seen, beside: Beside): Read[] {
	return detailEdges.flatMap((edge) => {
		const speedPx = speedAcross(edge, seen.pose, beside);
		if (speedPx === null || speedPx >= MOST_PX) return [];
		const found = responseOfEdge(seen.raster, seen.pose, edge);
		if (found === null) return [];
		const { mtf50CyPx, riseWidthPx } = found.read;
		const { frameNumber, atMs } = seen;
		return [{ frameNumber, atMs, place: edge.place, speedPx, mtf50CyPx, riseWidthPx }];
	});
}

/** 0 where the place rests; null where it moves too little to be told, or mostly along its own edge. */
function speedAcross(
	{ middle, along }: DetailEdge,
	pose: CardPose,
	{ before, after }: Beside,
): number | null {
	const [from, to] = [before.toPicture(middle), after.toPicture(middle)];
	const moved = { x: (to.x - from.x) / 2, y: (to.y - from.y) / 2 };
	if (Math.hypot(moved.x, moved.y) <= REST_PX) return 0;
	const across = acrossEdge(pose.toPicture(middle), pose.toPicture(along));
	const speedPx = Math.abs(moved.x * across.x + moved.y * across.y);
	return speedPx >= SPEEDS_FROM_PX[0] && speedPx >= 0.5 * Math.hypot(moved.x, moved.y) ? speedPx : null;
}

function acrossEdge(a: Point, b: Point): Point {
	const length = Math.hypot(b.x - a.x, b.y - a.y);
	return { x: -(b.y - a.y) / length, y: (b.x - a.x) / length };
}

function looksOf(read: readonly Read[]): MovedLook[] {
	const moving = SPEEDS_FROM_PX.flatMap((fromPx, i) => {
		const untilPx = SPEEDS_FROM_PX[i + 1] ?? MOST_PX;
		const group = read.filter(({ speedPx }) => speedPx >= fromPx && speedPx < untilPx);
		// All of a kind by the middle of their speeds, so that they are one row.
		const middlePx = middleOf(group.map(({ speedPx }) => speedPx));
		return group.length < LEAST_EDGES ? [] : group.map((each) => ({ ...each, speedPx: middlePx }));
	});
	const places = new Set(moving.map(({ place }) => place));
	const atRest = read.filter(({ speedPx, place }) => speedPx === 0 && places.has(place));
	if (atRest.length < LEAST_EDGES || moving.length === 0) return [];
	const byPicture = new Map<number, { atMs: number; edges: MovingEdge[] }>();
	for (const { frameNumber, atMs, speedPx, mtf50CyPx, riseWidthPx } of [...atRest, ...moving]) {
		const look = byPicture.get(frameNumber) ?? { atMs, edges: [] };
		look.edges.push({ speedPx, mtf50CyPx, riseWidthPx });
		byPicture.set(frameNumber, look);
	}
	return [...byPicture]
		.map(([frameNumber, look]) => ({ frameNumber, ...look }))
		.toSorted((a, b) => a.frameNumber - b.frameNumber);
}

function middleOf(speeds: readonly number[]): number {
	const sorted = speeds.toSorted((a, b) => a - b);
	return Math.round(10 * (sorted[sorted.length >> 1] ?? 0)) / 10;
}

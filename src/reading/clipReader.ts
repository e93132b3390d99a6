/**
 * Soft vectors of every marker in every frame of a clip. From a stand: the same pixels each time, nothing is searched. From the hand:
 * each marker is looked for round its last place, in a cutting of the picture, and read where it is found.
 */
import type { LumaPlane } from '../imaging/planes.ts';
import { PAIRS } from '../pattern/markerCode.ts';
import { MODULES } from '../pattern/markerFace.ts';
import { findMarkers, markersByWindow, middleOf, sideOf } from './markerFinder.ts';
import { looksFramed } from './markerPoses.ts';
import { createMarkerSampler, type MarkerSampler } from './markerSampling.ts';
import type { ClipReader, FoundMarker, Located, MarkerQuad, MarkerTrack, Point } from './opticalTypes.ts';
import { distance } from './quadSides.ts';

/** How far round its last place a marker is looked for, as a share of its side. */
const LOOK_ROUND = 0.35;

export function createClipReader(located: Located): ClipReader {
	const columns = located.markers.map((marker) => createColumn(marker, located.filmed));
	const times: number[] = [];
	return {
		look(luma, fileMs) {
			if (times.length > 0 && !(fileMs > times.at(-1)!))
				throw new RangeError(
					`frames must be given in the order of their times, got ${fileMs} after ${times.at(-1)}`,
				);
			times.push(fileMs);
			for (const column of columns) column.look(luma);
		},
		finish: () => ({
			fileMs: Float64Array.from(times),
			tracks: columns.map(({ finish }) => finish()),
			filmed: columns.some(({ followed }) => followed()) ? 'handHeld' : located.filmed,
		}),
	};
}

type Column = {
	look(luma: LumaPlane): void;
	finish(): MarkerTrack;
	/** Whether it had to be followed. */
	followed(): boolean;
};

/** A clip from a stand is looked at again once in so many frames: a phone that was touched, or hand-held after all, is followed from then on. */
const LOOK_AGAIN_FRAMES = 30;
const MOVED_PX = 1.25;
const MOVED_SHARE = 1 / 60;
/** Cells are read at points in their middle third: this leaves room for a hand that speeds up. */
const REST_MODULE_RATIO = 0.12;
const MOST_REST_FRAMES = 6;

function createColumn(marker: FoundMarker, filmed: Located['filmed']): Column {
	let vectors = new Float32Array(1024 * PAIRS);
	let read = new Uint8Array(1024);
	let count = 0;
	let sampler: MarkerSampler | null = null;
	let sampledStride = 0;
	let pose = marker.pose;
	let following = filmed === 'handHeld';
	let searched = -1;
	let restFrames = 1;

	function samplerFor(luma: LumaPlane): MarkerSampler | null {
		if (sampledStride !== luma.stride) {
			sampler = createMarkerSampler(pose, luma);
			sampledStride = luma.stride;
		}
		return sampler;
	}

	/** False: not found where it should be. */
	function place(luma: LumaPlane): boolean {
		if (!following && (count === 0 || count % LOOK_AGAIN_FRAMES !== 0)) return true;
		if (following && searched >= 0 && count - searched < restFrames) return true;
		if (!following && standsStill(luma, pose.quad)) {
			searched = count;
			return true;
		}
		const next = findNear(luma, pose.quad);
		const frames = searched < 0 ? 1 : count - searched;
		searched = count;
		restFrames = 1;
		if (next === null) return !following;
		const apart = distance(middleOf(next.quad), middleOf(pose.quad));
		if (!following && apart < stillWithin(pose.quad)) return true;
		following = true;
		restFrames = restFor(apart / frames, sideOf(next.quad));
		pose = { ...pose, quad: next.quad, firstCorner: next.firstCorner(pose.quad, pose.firstCorner) };
		sampledStride = 0;
		return true;
	}

	return {
		look(luma) {
			if (count === read.length) {
				vectors = grown(vectors);
				read = grown(read);
			}
			if (place(luma) && samplerFor(luma)?.readVector(luma, vectors, count * PAIRS) === true) read[count] = 1;
			count++;
		},
		finish: () => ({ marker, vectors: vectors.slice(0, count * PAIRS), read: read.slice(0, count) }),
		followed: () => following,
	};
}

/** How many frames a marker that moves so much a frame may be read at one place: till it is off by a small part of a module. */
function restFor(speedPx: number, sidePx: number): number {
	const allowedPx = REST_MODULE_RATIO * (sidePx / MODULES);
	return Math.max(1, Math.min(MOST_REST_FRAMES, Math.floor(allowedPx / Math.max(speedPx, 0.01))));
}

function grown<T extends Float32Array | Uint8Array>(from: T): T {
	const to =
		from instanceof Float32Array ? new Float32Array(from.length * 2) : new Uint8Array(from.length * 2);
	to.set(from);
	// Same class as `from` by the line above.
	return to as T;
}

type Near = {
	readonly quad: MarkerQuad;
	/** Which corner of the new quad is nearest to where the marker's first corner was. */
	firstCorner(before: MarkerQuad, first: number): 0 | 1 | 2 | 3;
};

/** Whether a frame stands where this one stood: the search ends with the first that does, which the nearest of all can only be nearer than. */
function standsStill(luma: LumaPlane, before: MarkerQuad): boolean {
	const round = cuttingRound(luma, before);
	if (round === null) return false;
	const { cutting, left, top, reach } = round;
	const within = Math.min(reach, stillWithin(before));
	for (const found of markersByWindow(cutting)) {
		const quad = moveBy(found, left, top);
		const apart = distance(middleOf(quad), middleOf(before));
		if (isOfSize(quad, before) && apart < within && looksFramed(luma, quad)) return true;
	}
	return false;
}

function stillWithin(quad: MarkerQuad): number {
	return Math.max(MOVED_PX, MOVED_SHARE * sideOf(quad));
}

function isOfSize(quad: MarkerQuad, before: MarkerQuad): boolean {
	return Math.abs(sideOf(quad) / sideOf(before) - 1) <= 0.2;
}

type Round = {
	readonly cutting: LumaPlane;
	readonly left: number;
	readonly top: number;
	/** How far from its last place a marker is believed. */
	readonly reach: number;
};

function cuttingRound(luma: LumaPlane, before: MarkerQuad): Round | null {
	const side = sideOf(before);
	const xs = before.corners.map(({ xPx }) => xPx);
	const ys = before.corners.map(({ yPx }) => yPx);
	const reach = LOOK_ROUND * side + 4;
	const left = Math.max(0, Math.floor(Math.min(...xs) - reach));
	const top = Math.max(0, Math.floor(Math.min(...ys) - reach));
	const widthPx = Math.min(luma.widthPx, Math.ceil(Math.max(...xs) + reach)) - left;
	const heightPx = Math.min(luma.heightPx, Math.ceil(Math.max(...ys) + reach)) - top;
	if (widthPx < 8 || heightPx < 8) return null;
	const cutting = {
		data: luma.data.subarray(top * luma.stride + left),
		stride: luma.stride,
		widthPx,
		heightPx,
	};
	return { cutting, left, top, reach };
}

function findNear(luma: LumaPlane, before: MarkerQuad): Near | null {
	const round = cuttingRound(luma, before);
	if (round === null) return null;
	const { cutting, left, top, reach } = round;
	let best: MarkerQuad | null = null;
	let nearest = reach;
	for (const found of findMarkers(cutting)) {
		const quad = moveBy(found, left, top);
		if (!isOfSize(quad, before)) continue;
		const apart = distance(middleOf(quad), middleOf(before));
		if (apart < nearest && looksFramed(luma, quad)) {
			nearest = apart;
			best = quad;
		}
	}
	if (best === null) return null;
	const quad = best;
	return { quad, firstCorner: (from, first) => nearestCorner(quad, from, first) };
}

function moveBy({ corners, bulges }: MarkerQuad, xPx: number, yPx: number): MarkerQuad {
	const move = (point: Point): Point => ({ xPx: point.xPx + xPx, yPx: point.yPx + yPx });
	return { corners: [move(corners[0]), move(corners[1]), move(corners[2]), move(corners[3])], bulges };
}

/** Relative to the middles, so that a jump of the picture does not matter. */
function nearestCorner(quad: MarkerQuad, before: MarkerQuad, first: number): 0 | 1 | 2 | 3 {
	const [now, then] = [middleOf(quad), middleOf(before)];
	const was = before.corners[first]!;
	let best: 0 | 1 | 2 | 3 = 0;
	let nearest = Number.POSITIVE_INFINITY;
	for (const i of [0, 1, 2, 3] as const) {
		const corner = quad.corners[i];
		const apart = Math.hypot(
			corner.xPx - now.xPx - (was.xPx - then.xPx),
			corner.yPx - now.yPx - (was.yPx - then.yPx),
		);
		if (apart < nearest) {
			nearest = apart;
			best = i;
		}
	}
	return best;
}

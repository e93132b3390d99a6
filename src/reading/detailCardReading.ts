/**
 * What a picture of the printed card says, once it is found: patch colours, edges in the picture's own pixels (nothing is
 * resampled for them), lines by their profile, noise of the grey patches and light on the bare paper.
 */
import type { Rgb } from '../colour/rgb.ts';
import { decodeSrgb } from '../colour/srgbTransfer.ts';
import { measureEdge } from '../imaging/edgeResponse.ts';
import { measureLines } from '../imaging/lineContrast.ts';
import type { Raster } from '../imaging/raster.ts';
import { lightOfRaster } from '../imaging/realPlane.ts';
import type { Rect } from '../imaging/rect.ts';
import { type LightPlace, measureShading } from '../imaging/shading.ts';
import type { PictureDetail } from '../observations/pictureDetail.ts';
import {
	BARE_REACH_MM,
	type Box,
	barePlaces,
	CARD_HEIGHT_MM,
	CARD_WIDTH_MM,
	type DetailEdge,
	type DetailLines,
	detailEdges,
	detailLines,
	detailPatches,
	LINE_GROUND,
	LINE_INK,
	type Point,
} from '../pattern/detailCard.ts';
import type { CardPose } from './cardPose.ts';
import { readPatchNoise } from './detailCardNoise.ts';

/** Mean colours of a box in `parts` times `parts` parts, row by row: their spread is what repeats would show. */
export function readBoxColours(
	raster: Raster,
	pose: Pick<CardPose, 'toPicture' | 'pxPerMmAt'>,
	{ box, parts }: { box: Box; parts: number },
): Rgb[] {
	const middle = { x: box.x + box.width / 2, y: box.y + box.height / 2 };
	const stepMm = 1 / Math.max(0.5, pose.pxPerMmAt(middle));
	const across = Math.max(2, Math.ceil(box.width / parts / stepMm));
	const down = Math.max(2, Math.ceil(box.height / parts / stepMm));
	return Array.from({ length: parts * parts }, (_, part) => {
		const x = box.x + ((part % parts) * box.width) / parts;
		const y = box.y + (Math.floor(part / parts) * box.height) / parts;
		const sums: [number, number, number] = [0, 0, 0];
		for (let i = 0; i < across * down; i++) {
			const at = pose.toPicture({
				x: x + (((i % across) + 0.5) / across) * (box.width / parts),
				y: y + ((Math.floor(i / across) + 0.5) / down) * (box.height / parts),
			});
			addColour(sums, raster, at);
		}
		return sums.map((sum) => sum / (across * down)) as unknown as Rgb;
	});
}

/** Between the four pixels beside the point; outside the picture the nearest pixel stands in. */
function addColour(
	sums: [number, number, number],
	{ rgba, widthPx, heightPx }: Raster,
	{ x, y }: Point,
): void {
	const column = Math.min(widthPx - 1.001, Math.max(0, x));
	const row = Math.min(heightPx - 1.001, Math.max(0, y));
	const left = Math.floor(column);
	const upper = Math.floor(row);
	const u = column - left;
	const v = row - upper;
	const at = 4 * (upper * widthPx + left);
	const below = at + 4 * widthPx;
	for (let channel = 0; channel < 3; channel++) {
		const high = rgba[at + channel]! * (1 - u) + rgba[at + 4 + channel]! * u;
		const low = rgba[below + channel]! * (1 - u) + rgba[below + 4 + channel]! * u;
		sums[channel]! += high * (1 - v) + low * v;
	}
}

/** Patch colours of several parts of each patch: one list of all patches for each part. */
export function readPatchParts(raster: Raster, pose: CardPose, parts: number): Rgb[][] {
	const byPatch = detailPatches.map(({ inner }) => readBoxColours(raster, pose, { box: inner, parts }));
	return Array.from({ length: parts * parts }, (_, part) => byPatch.map((colours) => colours[part]!));
}

/** Cycles a millimetre at half contrast of a reference picture's edges, by place. */
export type ReferenceEdges = ReadonlyMap<string, number>;

/** Fine detail of one or more pictures of one scene (not moved between them): detail of the first, noise of all. */
export function readDetail(
	rasters: readonly Raster[],
	pose: CardPose,
	reference: ReferenceEdges | null,
): PictureDetail {
	const raster = rasters[0]!;
	return {
		edges: detailEdges.flatMap((edge) => readEdge(raster, { pose, edge, reference })),
		lines: detailLines.flatMap((lines) => readLines(raster, pose, lines)),
		noise: detailPatches
			.filter(({ role }) => role === 'neutral')
			.flatMap((patch) => readPatchNoise(rasters, pose, patch)),
		blockinessRatio: null,
		chromaBleedRatio: null,
		rimLightRatio: readRim(raster, pose),
		view: viewOf(raster, pose),
	};
}

function viewOf({ widthPx, heightPx }: Raster, pose: CardPose): NonNullable<PictureDetail['view']> {
	const y = (heightPx - 1) / 2;
	const left = pose.toCard({ x: 0, y });
	const right = pose.toCard({ x: widthPx - 1, y });
	return {
		pxPerMm: pose.pxPerMmAt({ x: CARD_WIDTH_MM / 2, y: CARD_HEIGHT_MM / 2 }),
		widthMm: left === null || right === null ? null : Math.hypot(right.x - left.x, right.y - left.y),
		bendRatio: pose.bendRatio,
	};
}

/** Mean contrast that is left of all lines wide enough for this picture, 1 = as drawn: one figure for how clear the view is. Null: none is. */
export function readLineContrast(raster: Raster, pose: CardPose): number | null {
	const lines = detailLines
		.filter(({ widthMm, box }) => 2 * widthMm * pose.pxPerMmAt(box) >= CLEAR_PERIOD_PX)
		.flatMap((each) => readLines(raster, pose, each));
	return lines.length === 0 ? null : lines.reduce((sum, { lumaRatio }) => sum + lumaRatio, 0) / lines.length;
}
/** A picture of this many pixels to a period shows it well. */
const CLEAR_PERIOD_PX = 4;

/** Of a reference picture: what `readDetail` sets other pictures against. */
export function referenceEdges(raster: Raster, pose: CardPose): ReferenceEdges {
	return new Map(
		detailEdges.flatMap((edge) => {
			const [read] = readEdge(raster, { pose, edge, reference: null });
			return read === undefined ? [] : [[edge.place, read.mtf50CyPx * pose.pxPerMmAt(edge.middle)] as const];
		}),
	);
}

type EdgeAsked = {
	readonly pose: CardPose;
	readonly edge: DetailEdge;
	readonly reference: ReferenceEdges | null;
};

/** A square of the picture's own pixels round the middle of the edge; null where it is too small, leaves the picture or shows no edge. */
export function responseOfEdge(raster: Raster, pose: CardPose, edge: DetailEdge) {
	const pxPerMm = pose.pxPerMmAt(edge.middle);
	const at = pose.toPicture(edge.middle);
	const rect = placeRound(at, pose.toPicture(edge.along), edge.reachMm * pxPerMm);
	const inside =
		rect.widthPx > 0 &&
		rect.heightPx > 0 &&
		rect.xPx >= 0 &&
		rect.yPx >= 0 &&
		rect.xPx + rect.widthPx <= raster.widthPx &&
		rect.yPx + rect.heightPx <= raster.heightPx;
	if (!inside) return null;
	const read = measureEdge(lightOfRaster(raster, rect));
	return read.kind === 'notMeasured' ? null : { read, at, pxPerMm };
}

function readEdge(raster: Raster, { pose, edge, reference }: EdgeAsked): PictureDetail['edges'] {
	const found = responseOfEdge(raster, pose, edge);
	if (found === null) return [];
	const { at, pxPerMm } = found;
	const { axis, mtf50CyPx, mtf10CyPx, overshootRatio } = found.read;
	if (mtf50CyPx === null) return [];
	const perMm = reference?.get(edge.place);
	return [
		{
			place: edge.place,
			axis,
			mtf50CyPx,
			mtf10CyPx,
			overshootRatio,
			// A reference from another distance: the same detail on the card, in this picture's pixels.
			referenceMtf50CyPx: perMm === undefined ? null : perMm / pxPerMm,
			pxPerMm,
			fieldRatio:
				Math.hypot(at.x - (raster.widthPx - 1) / 2, at.y - (raster.heightPx - 1) / 2) /
				(Math.hypot(raster.widthPx, raster.heightPx) / 2),
		},
	];
}

/** Share of the reach that must be left beside the edge where it leaves the place, and the least of it. */
const ROOM = 0.45;
const LEAST_ROOM_PX = 7;

/** As long along the edge as leaves room on both sides of it, for an edge at any turn. */
function placeRound(middle: Point, along: Point, reachPx: number): Rect {
	const away = { x: Math.abs(along.x - middle.x), y: Math.abs(along.y - middle.y) };
	const room = Math.max(LEAST_ROOM_PX, ROOM * reachPx);
	const slope = Math.min(away.x, away.y) / Math.max(away.x, away.y);
	const halfAlong = Math.floor(Math.min(reachPx, (reachPx - room) / Math.max(slope, 1e-3)));
	const halfAcross = Math.floor(reachPx);
	const stands = away.y >= away.x;
	const halfX = stands ? halfAcross : halfAlong;
	const halfY = stands ? halfAlong : halfAcross;
	return {
		xPx: Math.round(middle.x) - halfX,
		yPx: Math.round(middle.y) - halfY,
		widthPx: 2 * halfX + 1,
		heightPx: 2 * halfY + 1,
	};
}

const STEPS_A_PERIOD = 12;
/** Along the lines the outermost share is left out. */
const LINE_MARGIN = 0.12;
/** Fewer pixels than this to a period are beyond any picture. */
const LEAST_PERIOD_PX = 1.5;

function readLines(
	raster: Raster,
	pose: CardPose,
	{ widthMm, axis, box }: DetailLines,
): PictureDetail['lines'] {
	const centre = { x: box.x + box.width / 2, y: box.y + box.height / 2 };
	const across = axis === 'across';
	if (2 * widthMm * pose.pxPerMmAt(centre) < LEAST_PERIOD_PX) {
		const gone = { lumaRatio: 0, chromaRatio: 0, seen: false, seenByColour: false };
		return [{ width: widthMm, unit: 'mm', axis, ...gone }];
	}
	const length = across ? box.width : box.height;
	const steps = Math.round((length / (2 * widthMm)) * STEPS_A_PERIOD);
	const colours = Array.from({ length: steps }, (_, step) => {
		const from = (step / steps) * length;
		const slice = across
			? {
					x: box.x + from,
					y: box.y + LINE_MARGIN * box.height,
					width: length / steps,
					height: (1 - 2 * LINE_MARGIN) * box.height,
				}
			: {
					x: box.x + LINE_MARGIN * box.width,
					y: box.y + from,
					width: (1 - 2 * LINE_MARGIN) * box.width,
					height: length / steps,
				};
		return readBoxColours(raster, pose, { box: slice, parts: 1 })[0]!;
	});
	const { lumaRatio, chromaRatio, seen, seenByColour } = measureLines({
		colours,
		periodSteps: STEPS_A_PERIOD,
		ground: LINE_GROUND,
		ink: LINE_INK,
	});
	return [{ width: widthMm, unit: 'mm', axis, lumaRatio, chromaRatio, seen, seenByColour }];
}

function readRim(raster: Raster, pose: CardPose): number | null {
	const places = barePlaces.map(({ x, y }): LightPlace => {
		const box = {
			x: x - BARE_REACH_MM,
			y: y - BARE_REACH_MM,
			width: 2 * BARE_REACH_MM,
			height: 2 * BARE_REACH_MM,
		};
		const [red, green, blue] = readBoxColours(raster, pose, { box, parts: 1 })[0]!;
		const at = pose.toPicture({ x, y });
		const light = 0.2126 * decodeSrgb(red) + 0.7152 * decodeSrgb(green) + 0.0722 * decodeSrgb(blue);
		return { xPx: at.x, yPx: at.y, light };
	});
	const field = {
		xPx: (raster.widthPx - 1) / 2,
		yPx: (raster.heightPx - 1) / 2,
		radiusPx: Math.hypot(raster.widthPx, raster.heightPx) / 2,
	};
	const shading = measureShading(places, field);
	return shading.kind === 'measured' ? shading.rimRatio : null;
}

/**
 * Fine detail of the link card in one decoded picture, at its fixed places: slanted edges near the middle and out towards the corners, standing and
 * lying, each beside the same edge as drawn; the red line groups along and across, in luma and in chroma; noise of the neutral patches, blocks and
 * bleeding chroma; and moving edges where it has them. The card stands unscaled, so a pixel here is a pixel of the card.
 */
import type { Rgb } from '../colour/rgb.ts';
import { BT709_LIMITED, yCbCrToRgb } from '../colour/yCbCr.ts';
import { measureBlockiness } from '../imaging/blockiness.ts';
import { measureEdge } from '../imaging/edgeResponse.ts';
import { measureLines } from '../imaging/lineContrast.ts';
import { measureNoise } from '../imaging/noise.ts';
import { type LumaPlane, lumaOf, type Planes } from '../imaging/planes.ts';
import { lightOfLuma } from '../imaging/realPlane.ts';
import type { Rect } from '../imaging/rect.ts';
import type { PictureDetail } from '../observations/pictureDetail.ts';
import type { CardSpec } from '../pattern/card.ts';
import { LINE_COLOURS, type LineGroup, lineGroups, type StillEdge, stillEdges } from '../pattern/detail.ts';
import { type CardGeometry, cardGeometry } from '../pattern/geometry.ts';
import { cardPatches } from '../pattern/patches.ts';
import { readChromaBleed } from './chromaBleed.ts';
import { readLinkMotion } from './linkMotion.ts';

/** Periods that a group must hold to be measured. */
const LEAST_PERIODS = 3;
/** Of the edge's field so much on either side is looked at. */
const EDGE_HALF_WIDTH_UNITS = 4;

/** `drawn`: the same frame as the painter gives it, by its number. */
export type LinkDetailReader = (planes: Planes, drawn: Planes, frameNumber: number) => PictureDetail;

/** A reader for one card; the edges as drawn stand still and are read once. */
export function createLinkDetailReader(spec: CardSpec): LinkDetailReader {
	const geometry = cardGeometry(spec);
	const neutrals = cardPatches(spec).filter(({ role }) => role === 'neutral');
	const edges = stillEdges(geometry);
	let references: readonly (number | null)[] | null = null;
	return (planes, drawn, frameNumber) => {
		const luma = lumaOf(planes);
		references ??= edges.map((edge) => readEdge(lumaOf(drawn), edge, geometry)?.mtf50CyPx ?? null);
		const asDrawn = references;
		return {
			edges: edges.flatMap((edge, i) => {
				const read = readEdge(luma, edge, geometry);
				return read === null
					? []
					: [{ ...read, referenceMtf50CyPx: asDrawn[i]!, fieldRatio: fieldRatioOf(edge, geometry) }];
			}),
			lines: lineGroups(geometry).flatMap((group) => linesOf(planes, group)),
			noise: neutrals.flatMap(({ name, inner }) => noiseOf(luma, { name, inner })),
			blockinessRatio: measureBlockiness(differenceOf(luma, lumaOf(drawn))).ratio,
			chromaBleedRatio: readChromaBleed(planes, spec),
			rimLightRatio: null,
			...(spec.difficulty === 'motion' ? { motion: readLinkMotion(luma, geometry, frameNumber) } : {}),
		};
	};
}

function readEdge(luma: LumaPlane, { place, rect, axis: drawnAxis }: StillEdge, { unitPx }: CardGeometry) {
	const edge = measureEdge(
		lightOfLuma(luma, placeRound(rect, drawnAxis === 'across', unitPx), BT709_LIMITED.range),
	);
	if (edge.kind === 'notMeasured' || edge.mtf50CyPx === null || edge.axis !== drawnAxis) return null;
	const { axis, mtf50CyPx, mtf10CyPx, overshootRatio } = edge;
	return { place, axis, mtf50CyPx, mtf10CyPx, overshootRatio };
}

/** The middle of the edge's field, its ends left out. */
function placeRound({ xPx, yPx, widthPx, heightPx }: Rect, stands: boolean, unitPx: number): Rect {
	const marginPx = unitPx >> 1;
	const halfPx = Math.min(EDGE_HALF_WIDTH_UNITS * unitPx, (stands ? widthPx : heightPx) >> 1);
	return stands
		? {
				xPx: xPx + (widthPx >> 1) - halfPx,
				yPx: yPx + marginPx,
				widthPx: 2 * halfPx,
				heightPx: heightPx - 2 * marginPx,
			}
		: {
				xPx: xPx + marginPx,
				yPx: yPx + (heightPx >> 1) - halfPx,
				widthPx: widthPx - 2 * marginPx,
				heightPx: 2 * halfPx,
			};
}

/** How far off the picture's middle, of the way to a corner. */
function fieldRatioOf({ rect }: StillEdge, { widthPx, heightPx }: CardGeometry): number {
	const x = rect.xPx + rect.widthPx / 2 - widthPx / 2;
	const y = rect.yPx + rect.heightPx / 2 - heightPx / 2;
	return Math.hypot(x, y) / (Math.hypot(widthPx, heightPx) / 2);
}

function linesOf(planes: Planes, { widthPx, axis, rect }: LineGroup): PictureDetail['lines'] {
	const lengthPx = axis === 'across' ? rect.widthPx : rect.heightPx;
	if (lengthPx < LEAST_PERIODS * 2 * widthPx) return [];
	const colours = Array.from({ length: lengthPx }, (_, step) =>
		meanColour(
			planes,
			axis === 'across'
				? { ...rect, xPx: rect.xPx + step, widthPx: 1 }
				: { ...rect, yPx: rect.yPx + step, heightPx: 1 },
		),
	);
	const { lumaRatio, chromaRatio, seen, seenByColour } = measureLines({
		colours,
		periodSteps: 2 * widthPx,
		...LINE_COLOURS,
	});
	return [{ width: widthPx, unit: 'px', axis, lumaRatio, chromaRatio, seen, seenByColour }];
}

/** Each pixel with the chroma that is stored for it and its neighbours, nothing smoothed between. */
function meanColour({ y, u, v, yStride, uvStride }: Planes, { xPx, yPx, widthPx, heightPx }: Rect): Rgb {
	let [luma, cb, cr] = [0, 0, 0];
	for (let row = yPx; row < yPx + heightPx; row++)
		for (let column = xPx; column < xPx + widthPx; column++) {
			const at = (row >> 1) * uvStride + (column >> 1);
			luma += y[row * yStride + column]!;
			cb += u[at]!;
			cr += v[at]!;
		}
	const count = widthPx * heightPx;
	return yCbCrToRgb([luma / count, cb / count, cr / count], BT709_LIMITED);
}

function noiseOf(luma: LumaPlane, { name, inner }: { name: string; inner: Rect }): PictureDetail['noise'] {
	const noise = measureNoise([lightOfLuma(luma, inner, BT709_LIMITED.range)]);
	if (noise.kind === 'notMeasured') return [];
	return [
		{
			patch: name,
			meanRatio: noise.mean,
			temporalRatio: noise.temporal,
			fixedPatternRatio: noise.fixedPattern,
			signalToNoiseRatio: noise.signalToNoise,
			frozen: noise.frozen,
		},
	];
}

/** What is not as drawn, about a middle grey: the card's own edges lie on a codec's grid and would pass for blocks. */
function differenceOf(seen: LumaPlane, drawn: LumaPlane): LumaPlane {
	const { widthPx, heightPx } = seen;
	const data = new Uint8Array(widthPx * heightPx);
	for (let row = 0; row < heightPx; row++)
		for (let column = 0; column < widthPx; column++) {
			const off = seen.data[row * seen.stride + column]! - drawn.data[row * drawn.stride + column]!;
			data[row * widthPx + column] = Math.min(255, Math.max(0, 128 + off));
		}
	return { data, stride: widthPx, widthPx, heightPx };
}

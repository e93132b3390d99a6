/**
 * Fine detail of the link card in one decoded picture, at its fixed places: the slanted edge beside the same edge as drawn, the
 * grey line groups along and across, noise of the neutral patches, blocks and bleeding chroma, and moving edges where it has them. The card stands unscaled, so a
 * pixel here is a pixel of the card. The link card has one edge, and it stands: detail down the columns is told by lines only.
 */
import type { Rgb } from '../colour/rgb.ts';
import { BT709_LIMITED, codeRange } from '../colour/yCbCr.ts';
import { measureBlockiness } from '../imaging/blockiness.ts';
import { measureEdge } from '../imaging/edgeResponse.ts';
import { measureLines } from '../imaging/lineContrast.ts';
import { measureNoise } from '../imaging/noise.ts';
import { type LumaPlane, lumaOf, type Planes } from '../imaging/planes.ts';
import { lightOfLuma } from '../imaging/realPlane.ts';
import type { Rect } from '../imaging/rect.ts';
import type { PictureDetail } from '../observations/pictureDetail.ts';
import type { CardSpec } from '../pattern/card.ts';
import { edgePanel, LINE_COLOURS, type LineGroup, lineGroups } from '../pattern/detail.ts';
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

/** A reader for one card; the edge as drawn stands still and is read once. */
export function createLinkDetailReader(spec: CardSpec): LinkDetailReader {
	const geometry = cardGeometry(spec);
	const neutrals = cardPatches(spec).filter(({ role }) => role === 'neutral');
	let reference: { readonly mtf50CyPx: number | null } | null = null;
	return (planes, drawn, frameNumber) => {
		const luma = lumaOf(planes);
		reference ??= { mtf50CyPx: edgeOf(lumaOf(drawn), geometry)?.mtf50CyPx ?? null };
		const referenceMtf50CyPx = reference.mtf50CyPx;
		const edge = edgeOf(luma, geometry);
		return {
			edges: edge === null ? [] : [{ place: 'middle left', ...edge, referenceMtf50CyPx }],
			lines: lineGroups(geometry).flatMap((group) => linesOf(luma, group)),
			noise: neutrals.flatMap(({ name, inner }) => noiseOf(luma, { name, inner })),
			blockinessRatio: measureBlockiness(differenceOf(luma, lumaOf(drawn))).ratio,
			chromaBleedRatio: readChromaBleed(planes, spec),
			rimLightRatio: null,
			...(spec.difficulty === 'motion' ? { motion: readLinkMotion(luma, geometry, frameNumber) } : {}),
		};
	};
}

function edgeOf(luma: LumaPlane, geometry: CardGeometry) {
	const panel = edgePanel(geometry);
	const halfPx = Math.min(EDGE_HALF_WIDTH_UNITS * geometry.unitPx, panel.widthPx >> 1);
	const marginPx = geometry.unitPx >> 1;
	const rect: Rect = {
		xPx: panel.xPx + (panel.widthPx >> 1) - halfPx,
		yPx: panel.yPx + marginPx,
		widthPx: 2 * halfPx,
		heightPx: panel.heightPx - 2 * marginPx,
	};
	const edge = measureEdge(lightOfLuma(luma, rect, BT709_LIMITED.range));
	if (edge.kind === 'notMeasured' || edge.mtf50CyPx === null) return null;
	const { axis, mtf50CyPx, mtf10CyPx, overshootRatio } = edge;
	return { axis, mtf50CyPx, mtf10CyPx, overshootRatio };
}

function linesOf(luma: LumaPlane, { widthPx, axis, rect }: LineGroup): PictureDetail['lines'] {
	const lengthPx = axis === 'across' ? rect.widthPx : rect.heightPx;
	if (lengthPx < LEAST_PERIODS * 2 * widthPx) return [];
	const { lumaOffset, lumaSpan } = codeRange(BT709_LIMITED.range);
	const colours = Array.from({ length: lengthPx }, (_, step): Rgb => {
		const strip =
			axis === 'across'
				? { ...rect, xPx: rect.xPx + step, widthPx: 1 }
				: { ...rect, yPx: rect.yPx + step, heightPx: 1 };
		const code = ((meanCode(luma, strip) - lumaOffset) * 255) / lumaSpan;
		return [code, code, code];
	});
	const { lumaRatio, seen } = measureLines({ colours, periodSteps: 2 * widthPx, ...LINE_COLOURS });
	return [{ width: widthPx, unit: 'px', axis, lumaRatio, chromaRatio: null, seen, seenByColour: false }];
}

function meanCode({ data, stride }: LumaPlane, { xPx, yPx, widthPx, heightPx }: Rect): number {
	let sum = 0;
	for (let row = yPx; row < yPx + heightPx; row++)
		for (let column = xPx; column < xPx + widthPx; column++) sum += data[row * stride + column]!;
	return sum / (widthPx * heightPx);
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

/**
 * Still fine detail: slanted edges, two near the middle of the picture and two out towards its lower corners, one of each standing and one
 * lying; groups of red lines on pink; and for the eye fine red branches, a smooth ramp and rings that narrow outwards. Edges and line groups
 * are measured (reading/linkDetail.ts). Both inner edges lie equally far off the picture's middle, and both outer ones.
 */
import type { Rgb } from '../colour/rgb.ts';
import type { Rect } from '../imaging/rect.ts';
import { type Canvas, fillRect, pixelWord } from './brush.ts';
import type { CardGeometry } from './geometry.ts';
import { noiseAt } from './noise.ts';

const PALE = 214;
const DEEP = 44;
const PINK: Rgb = [214, 148, 140];
const RED: Rgb = [160, 52, 58];

/** Of the part nearest to the picture's middle: edges above, then branches, then the ramp. In units. */
const INNER_UNITS = 7;
const RAMP_UNITS = 2;

/** Draws all of it; the same `seed` draws the same branches. */
export function drawDetail(canvas: Canvas, geometry: CardGeometry, seed: number): void {
	for (const edge of stillEdges(geometry)) drawSlantedEdge(canvas, edge);
	drawLineGroups(canvas, geometry);
	const { detail, unitPx } = geometry;
	const unitsDown = Math.floor(detail.heightPx / unitPx);
	const top = INNER_UNITS + 1;
	drawBranches(canvas, panelAt(geometry, [30, top], [18, unitsDown - RAMP_UNITS - top]), seed);
	drawRamp(canvas, panelAt(geometry, [30, unitsDown - RAMP_UNITS], [18, RAMP_UNITS]));
	drawRings(canvas, panelAt(geometry, [50, 0], [12, unitsDown]));
}

/** A slanted edge and its whole field, in whose middle it stands or lies. `across` is along the rows, as an edge that stands is measured. */
export type StillEdge = { readonly place: string; readonly axis: 'across' | 'down'; readonly rect: Rect };

export function stillEdges(geometry: CardGeometry): StillEdge[] {
	const unitsDown = Math.floor(geometry.detail.heightPx / geometry.unitPx);
	return [
		{ place: 'lower left', axis: 'across', rect: panelAt(geometry, [0, 0], [14, unitsDown]) },
		{ place: 'left of the middle', axis: 'across', rect: panelAt(geometry, [30, 0], [8, INNER_UNITS]) },
		{ place: 'right of the middle', axis: 'down', rect: panelAt(geometry, [40, 0], [8, INNER_UNITS]) },
		{ place: 'lower right', axis: 'down', rect: panelAt(geometry, [64, 0], [14, unitsDown]) },
	];
}

type Units = readonly [across: number, down: number];

function panelAt({ detail, unitPx }: CardGeometry, [x, y]: Units, [width, height]: Units): Rect {
	return {
		xPx: detail.xPx + x * unitPx,
		yPx: detail.yPx + y * unitPx,
		widthPx: width * unitPx,
		heightPx: height * unitPx,
	};
}

/** Pixels along the edge to each that it moves aside: about 5.7 degrees off upright or level, as slanted-edge methods want. */
const SLANT = 10;

function drawSlantedEdge(canvas: Canvas, { axis, rect }: StillEdge): void {
	const stands = axis === 'across';
	const [alongPx, acrossPx] = stands ? [rect.heightPx, rect.widthPx] : [rect.widthPx, rect.heightPx];
	const middle = (acrossPx >> 1) - Math.floor(alongPx / (2 * SLANT));
	for (let along = 0; along < alongPx; along++) {
		const edge = middle * SLANT + along;
		for (let across = 0; across < acrossPx; across++) {
			// The share of this pixel that lies beyond the edge, in tenths.
			const covered = Math.min(SLANT, Math.max(0, (across + 1) * SLANT - edge));
			const level = DEEP + Math.floor(((PALE - DEEP) * covered + SLANT / 2) / SLANT);
			const [dx, dy] = stands ? [across, along] : [along, across];
			setGrey(canvas, { xPx: rect.xPx + dx, yPx: rect.yPx + dy, level });
		}
	}
}

const LINE_WIDTHS_PX = [1, 2, 3, 4, 6, 8] as const;

/** A group of lines: it begins with a line, and lines and gaps are `widthPx` wide. */
export type LineGroup = { readonly widthPx: number; readonly axis: 'across' | 'down'; readonly rect: Rect };
/** Red on pink, as vessels are. */
export const LINE_COLOURS: { readonly ground: Rgb; readonly ink: Rgb } = { ground: PINK, ink: RED };

function linePanel(geometry: CardGeometry): Rect {
	return panelAt(geometry, [15, 0], [14, Math.floor(geometry.detail.heightPx / geometry.unitPx)]);
}

/**
 * Upper half upright lines, lower half lying ones, a group for each width. Each begins on an even pixel, where colour stored at half the
 * size keeps lines of 2 px whole; of 1 px it keeps none.
 */
export function lineGroups(geometry: CardGeometry): LineGroup[] {
	const panel = linePanel(geometry);
	const groupPx = 2 * Math.floor(panel.widthPx / (2 * LINE_WIDTHS_PX.length));
	const halfPx = panel.heightPx >> 1;
	const marginPx = geometry.unitPx >> 2;
	return LINE_WIDTHS_PX.flatMap((widthPx, group) => {
		const xPx = panel.xPx + group * groupPx + marginPx;
		const sides = { widthPx: groupPx - 2 * marginPx, heightPx: halfPx - 2 * marginPx };
		return [
			{ widthPx, axis: 'across' as const, rect: { xPx, yPx: panel.yPx + marginPx, ...sides } },
			{ widthPx, axis: 'down' as const, rect: { xPx, yPx: panel.yPx + halfPx + marginPx, ...sides } },
		];
	});
}

function drawLineGroups(canvas: Canvas, geometry: CardGeometry): void {
	fillRect(canvas, linePanel(geometry), pixelWord(PINK));
	for (const { widthPx, axis, rect } of lineGroups(geometry)) {
		const lengthPx = axis === 'across' ? rect.widthPx : rect.heightPx;
		for (let at = 0; at + widthPx <= lengthPx; at += 2 * widthPx) {
			const line =
				axis === 'across'
					? { ...rect, xPx: rect.xPx + at, widthPx }
					: { ...rect, yPx: rect.yPx + at, heightPx: widthPx };
			fillRect(canvas, line, pixelWord(RED));
		}
	}
}

const BRANCHES = 5;

/** Lines 1 to 3 px thick that wander from left to right: a walk whose slope changes a little at every step. */
function drawBranches(canvas: Canvas, panel: Rect, seed: number): void {
	fillRect(canvas, panel, pixelWord(PINK));
	const ink = pixelWord(RED);
	for (let branch = 0; branch < BRANCHES; branch++) {
		const thickPx = 1 + (branch % 3);
		const home = Math.floor(((branch + 1) * panel.heightPx) / (BRANCHES + 1)) * 64;
		let place = home;
		let slope = 0;
		for (let column = 0; column < panel.widthPx; column++) {
			const push = (noiseAt(seed, branch * 4096 + column) % 13) - 6 + (place < home ? 1 : -1);
			slope = Math.min(56, Math.max(-56, slope + push));
			place += slope;
			const yPx = Math.min(panel.heightPx - thickPx, Math.max(0, place >> 6));
			const dot = { xPx: panel.xPx + column, yPx: panel.yPx + yPx, widthPx: 1, heightPx: thickPx };
			fillRect(canvas, dot, ink);
		}
	}
}

/** Rings of equal area: the outermost are about a fifth of a unit wide. */
function drawRings(canvas: Canvas, panel: Rect): void {
	fillRect(canvas, panel, grey(DEEP));
	const radiusPx = (Math.min(panel.widthPx, panel.heightPx) >> 1) - 2;
	const ringArea = radiusPx * 6;
	for (let dy = -radiusPx; dy < radiusPx; dy++) {
		for (let dx = -radiusPx; dx < radiusPx; dx++) {
			const distance = dx * dx + dy * dy;
			if (distance >= radiusPx * radiusPx) continue;
			const level = Math.floor(distance / ringArea) & 1 ? DEEP : PALE;
			const xPx = panel.xPx + (panel.widthPx >> 1) + dx;
			setGrey(canvas, { xPx, yPx: panel.yPx + (panel.heightPx >> 1) + dy, level });
		}
	}
}

/** From light on the left to dark. */
function drawRamp(canvas: Canvas, panel: Rect): void {
	for (let column = 0; column < panel.widthPx; column++) {
		const level = PALE - Math.floor(((PALE - DEEP) * column) / (panel.widthPx - 1));
		fillRect(canvas, { ...panel, xPx: panel.xPx + column, widthPx: 1 }, grey(level));
	}
}

function grey(level: number): number {
	return pixelWord([level, level, level]);
}

function setGrey({ words, widthPx }: Canvas, dot: { xPx: number; yPx: number; level: number }): void {
	words[dot.yPx * widthPx + dot.xPx] = grey(dot.level);
}

/**
 * Still fine detail: a slanted edge, line groups, fine red branches on pink, rings that narrow outwards and a smooth ramp.
 * The edge and the line groups are measured (reading/linkDetail.ts); the rest is for the eye.
 */
import type { Rgb } from '../colour/rgb.ts';
import type { Rect } from '../imaging/rect.ts';
import { type Canvas, fillRect, pixelWord } from './brush.ts';
import type { CardGeometry } from './geometry.ts';
import { noiseAt } from './noise.ts';

const PALE = 214;
const DEEP = 44;
const PINK: Rgb = [214, 148, 140];
const BRANCH: Rgb = [160, 52, 58];

/** Draws all of it; the same `seed` draws the same branches. */
export function drawDetail(canvas: Canvas, geometry: CardGeometry, seed: number): void {
	drawSlantedEdge(canvas, edgePanel(geometry));
	drawLineGroups(canvas, geometry);
	drawBranches(canvas, panelAt(geometry, 30, 20), seed);
	drawRings(canvas, panelAt(geometry, 51, 14));
	drawRamp(canvas, panelAt(geometry, 66, 12));
}

/** The whole field of the slanted edge, which stands in its middle. */
export function edgePanel(geometry: CardGeometry): Rect {
	return panelAt(geometry, 0, 14);
}

function panelAt({ detail, unitPx }: CardGeometry, x: number, width: number): Rect {
	return {
		xPx: detail.xPx + x * unitPx,
		yPx: detail.yPx,
		widthPx: width * unitPx,
		heightPx: Math.floor(detail.heightPx / unitPx) * unitPx,
	};
}

/** Rows per pixel that the edge moves sideways: about 5.7 degrees off upright, as slanted-edge methods want. */
const SLANT = 10;

function drawSlantedEdge(canvas: Canvas, panel: Rect): void {
	const middle = (panel.widthPx >> 1) - Math.floor(panel.heightPx / (2 * SLANT));
	for (let row = 0; row < panel.heightPx; row++) {
		const edge = middle * SLANT + row;
		for (let column = 0; column < panel.widthPx; column++) {
			// The share of this pixel that lies right of the edge, in tenths.
			const covered = Math.min(SLANT, Math.max(0, (column + 1) * SLANT - edge));
			const level = DEEP + Math.floor(((PALE - DEEP) * covered + SLANT / 2) / SLANT);
			setGrey(canvas, { xPx: panel.xPx + column, yPx: panel.yPx + row, level });
		}
	}
}

const LINE_WIDTHS_PX = [1, 2, 3, 4, 6, 8] as const;

/** A group of grey lines: it begins with a line, and lines and gaps are `widthPx` wide. */
export type LineGroup = { readonly widthPx: number; readonly axis: 'across' | 'down'; readonly rect: Rect };
export const LINE_COLOURS: { readonly ground: Rgb; readonly ink: Rgb } = {
	ground: [PALE, PALE, PALE],
	ink: [DEEP, DEEP, DEEP],
};

/** Upper half upright lines, lower half lying ones, a group for each width. */
export function lineGroups(geometry: CardGeometry): LineGroup[] {
	const panel = panelAt(geometry, 15, 14);
	const groupPx = Math.floor(panel.widthPx / LINE_WIDTHS_PX.length);
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
	fillRect(canvas, panelAt(geometry, 15, 14), grey(PALE));
	for (const { widthPx, axis, rect } of lineGroups(geometry)) {
		const lengthPx = axis === 'across' ? rect.widthPx : rect.heightPx;
		for (let at = 0; at + widthPx <= lengthPx; at += 2 * widthPx) {
			const line =
				axis === 'across'
					? { ...rect, xPx: rect.xPx + at, widthPx }
					: { ...rect, yPx: rect.yPx + at, heightPx: widthPx };
			fillRect(canvas, line, grey(DEEP));
		}
	}
}

const BRANCHES = 9;

/** Lines 1 to 3 px thick that wander from left to right: a walk whose slope changes a little at every step. */
function drawBranches(canvas: Canvas, panel: Rect, seed: number): void {
	fillRect(canvas, panel, pixelWord(PINK));
	const ink = pixelWord(BRANCH);
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

function drawRamp(canvas: Canvas, panel: Rect): void {
	for (let row = 0; row < panel.heightPx; row++) {
		const level = PALE - Math.floor(((PALE - DEEP) * row) / (panel.heightPx - 1));
		fillRect(canvas, { ...panel, yPx: panel.yPx + row, heightPx: 1 }, grey(level));
	}
}

function grey(level: number): number {
	return pixelWord([level, level, level]);
}

function setGrey({ words, widthPx }: Canvas, dot: { xPx: number; yPx: number; level: number }): void {
	words[dot.yPx * widthPx + dot.xPx] = grey(dot.level);
}

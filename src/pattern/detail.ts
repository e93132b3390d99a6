/**
 * Still fine detail: a slanted edge, line groups, fine red branches on pink, rings that narrow outwards and a smooth ramp.
 * It is there for sharpness and for the eye; the first edition of the reader does not measure it.
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
export function drawDetail(canvas: Canvas, { detail, unitPx }: CardGeometry, seed: number): void {
	const unitsDown = detail.heightPx / unitPx;
	const panel = (x: number, width: number): Rect => ({
		xPx: detail.xPx + x * unitPx,
		yPx: detail.yPx,
		widthPx: width * unitPx,
		heightPx: unitsDown * unitPx,
	});
	drawSlantedEdge(canvas, panel(0, 14));
	drawLineGroups(canvas, panel(15, 14), unitPx);
	drawBranches(canvas, panel(30, 20), seed);
	drawRings(canvas, panel(51, 14));
	drawRamp(canvas, panel(66, 12));
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

/** Upper half upright lines, lower half level ones, a group for each width. */
function drawLineGroups(canvas: Canvas, panel: Rect, unitPx: number): void {
	fillRect(canvas, panel, grey(PALE));
	const groupPx = Math.floor(panel.widthPx / LINE_WIDTHS_PX.length);
	const halfPx = panel.heightPx >> 1;
	const marginPx = unitPx >> 2;
	for (const [group, widthPx] of LINE_WIDTHS_PX.entries()) {
		const left = panel.xPx + group * groupPx + marginPx;
		const lengthPx = groupPx - 2 * marginPx;
		const step = 2 * widthPx;
		for (let at = 0; at + widthPx <= lengthPx; at += step) {
			const line = { xPx: left + at, yPx: panel.yPx + marginPx, widthPx, heightPx: halfPx - 2 * marginPx };
			fillRect(canvas, line, grey(DEEP));
		}
		for (let at = 0; at + widthPx <= halfPx - 2 * marginPx; at += step) {
			const line = {
				xPx: left,
				yPx: panel.yPx + halfPx + marginPx + at,
				widthPx: lengthPx,
				heightPx: widthPx,
			};
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

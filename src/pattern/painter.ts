/**
 * Draws a card, frame by frame. The still parts are drawn once; each frame redraws its code strip, its figures and
 * what moved, and converts to planes only what differs from the frame converted last.
 */
import { BT709_LIMITED } from '../colour/yCbCr.ts';
import type { Planes } from '../imaging/planes.ts';
import { createRaster, type Raster } from '../imaging/raster.ts';
import { rasterToPlanes } from '../imaging/rasterToPlanes.ts';
import { type Canvas, fillRect, pixelWord, pixelWords } from './brush.ts';
import type { CardSpec } from './card.ts';
import type { CardPainter } from './cardPainter.ts';
import { drawDetail } from './detail.ts';
import { drawFigures } from './figures.ts';
import { encodeFrameNumber } from './frameCode.ts';
import { type CardGeometry, cardGeometry } from './geometry.ts';
import { CELL_DARK, CELL_LIGHT, FIGURE, FIGURE_GROUND, GROUND } from './looks.ts';
import { createMarkerPainter } from './markerCard.ts';
import { createMovingRegion, type MovingRegion } from './movingRegion.ts';
import { cardPatches } from './patches.ts';

/** A painter for one card; throws `RangeError` for a spec that names no card. Frames may be asked for in any order. */
export function createCardPainter(spec: CardSpec): CardPainter {
	if (!Number.isInteger(spec.seed) || spec.seed < 0 || spec.seed > 0xffffffff)
		throw new RangeError(`a card's seed must be a whole number below 2^32, got ${spec.seed}`);
	if (spec.layout === 'scope') return createMarkerPainter(spec);
	const geometry = cardGeometry(spec);
	const raster = createRaster(geometry.widthPx, geometry.heightPx);
	const canvas: Canvas = { words: pixelWords(raster), widthPx: geometry.widthPx };
	const moving = createMovingRegion(spec, geometry);
	drawStillParts(canvas, spec, geometry);

	const paint = (frameNumber: number): Raster => {
		drawCode(canvas, geometry, frameNumber);
		const ink = { ink: pixelWord(FIGURE), ground: pixelWord(FIGURE_GROUND) };
		drawFigures(canvas, geometry.figures, { value: frameNumber, ...ink });
		moving.draw(canvas, frameNumber);
		return raster;
	};
	return { paint, paintPlanes: planesPainter({ paint, moving, geometry }) };
}

type PlanesWork = {
	readonly paint: (frameNumber: number) => Raster;
	readonly moving: MovingRegion;
	readonly geometry: CardGeometry;
};

function planesPainter({ paint, moving, geometry }: PlanesWork): (frameNumber: number) => Planes {
	let converted: { planes: Planes; frameNumber: number } | undefined;
	return (frameNumber) => {
		const raster = paint(frameNumber);
		if (converted === undefined) {
			converted = { planes: rasterToPlanes(raster, BT709_LIMITED), frameNumber };
			return converted.planes;
		}
		const { planes, frameNumber: before } = converted;
		const changed = [geometry.code.rect, geometry.figures, ...moving.changed(before, frameNumber)];
		for (const rect of changed) rasterToPlanes(raster, BT709_LIMITED, planes, rect);
		converted = { planes, frameNumber };
		return planes;
	};
}

function drawStillParts(canvas: Canvas, spec: CardSpec, geometry: CardGeometry): void {
	canvas.words.fill(pixelWord(GROUND));
	fillRect(canvas, geometry.figures, pixelWord(FIGURE_GROUND));
	for (const { rect, rgb } of cardPatches(spec)) fillRect(canvas, rect, pixelWord(rgb));
	drawDetail(canvas, geometry, spec.seed);
}

function drawCode(canvas: Canvas, { code }: CardGeometry, frameNumber: number): void {
	const dark = pixelWord(CELL_DARK);
	const light = pixelWord(CELL_LIGHT);
	const bits = encodeFrameNumber(frameNumber, code.layoutMark);
	for (const [column, bit] of bits.entries()) {
		const cell = { xPx: code.rect.xPx + column * code.cellPx, widthPx: code.cellPx, heightPx: code.cellPx };
		fillRect(canvas, { ...cell, yPx: code.rect.yPx }, bit ? light : dark);
		fillRect(canvas, { ...cell, yPx: code.rect.yPx + code.cellPx }, bit ? dark : light);
	}
}

/**
 * The part of the card that moves, at two degrees of difficulty for a codec, or with parts to measure by.
 *
 * `easy`: a smooth disc gliding on a still ground. `hard`: bands of noise, each a few rows high, that scroll side by
 * side at different speeds in both directions, so that no block of the picture is one earlier block shifted.
 * `motion`: edges at stated speeds (movingEdges.ts).
 * Any frame can be drawn without the ones before it.
 */
import type { Rect } from '../imaging/rect.ts';
import { type Canvas, fillRect, pixelWord } from './brush.ts';
import type { CardSpec } from './card.ts';
import type { CardGeometry } from './geometry.ts';
import { DISC_ROSE, NOISE_HIGH, NOISE_LOW, STILL_SLATE } from './looks.ts';
import { drawEdgeBands } from './movingEdges.ts';
import { noiseAt } from './noise.ts';

export type MovingRegion = {
	/** Draws the region as it is in `frameNumber`, over whatever frame the canvas shows. */
	draw(canvas: Canvas, frameNumber: number): void;
	/** What may differ between two frames. */
	changed(fromFrame: number, toFrame: number): readonly Rect[];
};

export function createMovingRegion(spec: CardSpec, geometry: CardGeometry): MovingRegion {
	if (spec.difficulty === 'motion')
		return {
			draw: (canvas, frameNumber) => drawEdgeBands(canvas, geometry, frameNumber),
			changed: () => [geometry.moving],
		};
	return spec.difficulty === 'easy' ? glidingDisc(spec, geometry) : scrollingNoise(spec, geometry);
}

const DISC_RADIUS_UNITS = 5;

function glidingDisc({ seed }: CardSpec, { moving, unitPx }: CardGeometry): MovingRegion {
	const radiusPx = DISC_RADIUS_UNITS * unitPx;
	const sidePx = 2 * radiusPx;
	const sprite = discSprite(radiusPx);
	const ground = pixelWord(STILL_SLATE);
	const startX = noiseAt(seed, 1) & 0xfff;
	const startY = noiseAt(seed, 2) & 0xfff;
	// Thirds and fifths of a unit a frame in x and y: one crossing takes about two seconds at 30 frames a second.
	const discAt = (frameNumber: number): Rect => ({
		xPx: moving.xPx + foldBack(startX + Math.floor((frameNumber * unitPx) / 3), moving.widthPx - sidePx),
		yPx: moving.yPx + foldBack(startY + Math.floor((frameNumber * unitPx) / 5), moving.heightPx - sidePx),
		widthPx: sidePx,
		heightPx: sidePx,
	});
	let drawn: Rect = moving;
	return {
		draw(canvas, frameNumber) {
			fillRect(canvas, drawn, ground);
			drawn = discAt(frameNumber);
			copyRows(canvas, drawn, sprite);
		},
		changed: (fromFrame, toFrame) => [discAt(fromFrame), discAt(toFrame)],
	};
}

/** A disc that fades into the ground: full inside half the radius, then falling with the square of the distance. */
function discSprite(radiusPx: number): Uint32Array {
	const sidePx = 2 * radiusPx;
	const outer = radiusPx * radiusPx;
	const inner = outer >> 2;
	return Uint32Array.from({ length: sidePx * sidePx }, (_, index) => {
		const dx = 2 * (index % sidePx) + 1 - sidePx;
		const dy = 2 * Math.floor(index / sidePx) + 1 - sidePx;
		const distance = (dx * dx + dy * dy) >> 2;
		const weight = Math.min(256, Math.max(0, Math.floor(((outer - distance) * 256) / (outer - inner))));
		return pixelWord([
			blend(STILL_SLATE[0], DISC_ROSE[0], weight),
			blend(STILL_SLATE[1], DISC_ROSE[1], weight),
			blend(STILL_SLATE[2], DISC_ROSE[2], weight),
		]);
	});
}

/** Whole-number mixture, `weight` in 256ths. */
function blend(from: number, to: number, weight: number): number {
	return (from * (256 - weight) + to * weight + 128) >> 8;
}

/** To and fro between 0 and `span`, one pixel a step. */
function foldBack(steps: number, span: number): number {
	const place = steps % (2 * span);
	return place <= span ? place : 2 * span - place;
}

/** Rows per band: half a macroblock, so that every macroblock holds two motions. */
const BAND_ROWS = 8;
const SPEEDS_PX = [3, -5, 7, -3, 11, -9, 5, -13] as const;

function scrollingNoise({ seed }: CardSpec, { moving }: CardGeometry): MovingRegion {
	const { widthPx, heightPx } = moving;
	const texture = noiseTexture(seed, widthPx, heightPx);
	return {
		draw(canvas, frameNumber) {
			for (let row = 0; row < heightPx; row++) {
				const band = Math.floor(row / BAND_ROWS);
				const speed = SPEEDS_PX[noiseAt(seed, band) % SPEEDS_PX.length]!;
				const shift = (((frameNumber * speed) % widthPx) + widthPx) % widthPx;
				const to = (moving.yPx + row) * canvas.widthPx + moving.xPx;
				const from = row * widthPx;
				canvas.words.set(texture.subarray(from + shift, from + widthPx), to);
				canvas.words.set(texture.subarray(from, from + shift), to + widthPx - shift);
			}
		},
		changed: () => [moving],
	};
}

/** Two parts of noise shared by the channels to one part of each channel's own: mostly brightness, some colour. */
function noiseTexture(seed: number, widthPx: number, heightPx: number): Uint32Array {
	return Uint32Array.from({ length: widthPx * heightPx }, (_, index) => {
		const word = noiseAt(seed, index);
		const shared = word & 0xff;
		const channel = (own: number, at: 0 | 1 | 2) =>
			blend(NOISE_LOW[at], NOISE_HIGH[at], Math.floor((2 * shared + (own & 0xff)) / 3) + (shared >> 7));
		return pixelWord([channel(word >>> 8, 0), channel(word >>> 16, 1), channel(word >>> 24, 2)]);
	});
}

function copyRows(canvas: Canvas, rect: Rect, sprite: Uint32Array): void {
	for (let row = 0; row < rect.heightPx; row++) {
		const from = row * rect.widthPx;
		const to = (rect.yPx + row) * canvas.widthPx + rect.xPx;
		canvas.words.set(sprite.subarray(from, from + rect.widthPx), to);
	}
}

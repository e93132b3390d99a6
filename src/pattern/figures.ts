/** Ten figures of our own, 5 dots wide and 7 high, and how a number is set with them. Rows from the top, 5 bits each. */
import type { Rect } from '../imaging/rect.ts';
import { type Canvas, fillRect } from './brush.ts';

const DOTS_ACROSS = 5;
const DOTS_DOWN = 7;
/** Figures of a frame number: 2^24 has eight. */
export const FIGURE_COUNT = 8;

const figures: readonly (readonly number[])[] = [
	[0x1f, 0x11, 0x11, 0x15, 0x11, 0x11, 0x1f],
	[0x0c, 0x04, 0x04, 0x04, 0x04, 0x04, 0x0e],
	[0x1f, 0x01, 0x01, 0x1f, 0x10, 0x10, 0x1f],
	[0x1f, 0x01, 0x01, 0x0f, 0x01, 0x01, 0x1f],
	[0x12, 0x12, 0x12, 0x1f, 0x02, 0x02, 0x02],
	[0x1f, 0x10, 0x10, 0x1f, 0x01, 0x01, 0x1f],
	[0x1f, 0x10, 0x10, 0x1f, 0x11, 0x11, 0x1f],
	[0x1f, 0x11, 0x01, 0x02, 0x02, 0x04, 0x04],
	[0x1f, 0x11, 0x11, 0x1f, 0x11, 0x11, 0x1f],
	[0x1f, 0x11, 0x11, 0x1f, 0x01, 0x01, 0x1f],
];

/** Where each figure stands inside `area`, most significant first; one dot is an eighth of the area's height. */
export function figurePlaces(area: Rect): readonly Rect[] {
	const dotPx = area.heightPx >> 3;
	return Array.from({ length: FIGURE_COUNT }, (_, place) => ({
		xPx: area.xPx + dotPx * (2 + place * (DOTS_ACROSS + 1)),
		yPx: area.yPx + (dotPx >> 1),
		widthPx: DOTS_ACROSS * dotPx,
		heightPx: DOTS_DOWN * dotPx,
	}));
}

export type Ink = { readonly ink: number; readonly ground: number };

/** Draws the number with leading zeros, over what was there. */
export function drawFigures(
	canvas: Canvas,
	area: Rect,
	{ value, ink, ground }: Ink & { value: number },
): void {
	const digits = String(value).padStart(FIGURE_COUNT, '0');
	const dotPx = area.heightPx >> 3;
	for (const [place, rect] of figurePlaces(area).entries()) {
		const rows = figures[digits.charCodeAt(place) - 48]!;
		for (let dot = 0; dot < DOTS_ACROSS * DOTS_DOWN; dot++) {
			const column = dot % DOTS_ACROSS;
			const row = Math.floor(dot / DOTS_ACROSS);
			const set = (rows[row]! >> (DOTS_ACROSS - 1 - column)) & 1;
			const at = { xPx: rect.xPx + column * dotPx, yPx: rect.yPx + row * dotPx };
			fillRect(canvas, { ...at, widthPx: dotPx, heightPx: dotPx }, set ? ink : ground);
		}
	}
}

/**
 * Filling rectangles and setting pixels of a raster, a whole pixel a write.
 *
 * A pixel is one 32-bit word whose bytes stand in memory as red, green, blue, alpha on any machine: `pixelWord` makes it
 * through bytes, so the order of the machine's words does not matter. Alpha is always opaque.
 */
import type { Rgb } from '../colour/rgb.ts';
import type { Raster } from '../imaging/raster.ts';
import type { Rect } from '../imaging/rect.ts';

const wordBytes = new Uint8Array(4);
const wordView = new Uint32Array(wordBytes.buffer);

/** The raster's pixels as words, sharing its memory; one element a pixel, row by row. */
export function pixelWords({ rgba }: Raster): Uint32Array {
	return new Uint32Array(rgba.buffer, rgba.byteOffset, rgba.byteLength / 4);
}

/** The word of an opaque sRGB colour of whole codes. */
export function pixelWord([red, green, blue]: Rgb): number {
	wordBytes[0] = red;
	wordBytes[1] = green;
	wordBytes[2] = blue;
	wordBytes[3] = 255;
	return wordView[0]!;
}

/** What is drawn on: the words of a raster and the length of its rows. */
export type Canvas = { readonly words: Uint32Array; readonly widthPx: number };

export function fillRect({ words, widthPx }: Canvas, rect: Rect, word: number): void {
	for (let row = rect.yPx; row < rect.yPx + rect.heightPx; row++) {
		const from = row * widthPx + rect.xPx;
		words.fill(word, from, from + rect.widthPx);
	}
}

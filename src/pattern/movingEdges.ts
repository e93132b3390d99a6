/**
 * The moving region with parts to measure by: four bands, in each a dark bar with slanted sides on a lighter ground. In the first it
 * rests, in two it glides to and fro at a stated speed, in the last it moves to and fro by a sine a few pixels wide, as breathing or
 * a pulse would move what a scope looks at: once in 60 pictures, 30 a minute at 30 pictures a second.
 *
 * Places are whole tenths of a pixel, so that any machine draws the same. A pixel that a side runs through takes its share in
 * codes, as the still edge of the card does (detail.ts). Both greys are so near in luminance that no speed is a flash (looks.ts).
 */
import type { Rect } from '../imaging/rect.ts';
import { type Canvas, fillRect, pixelWord } from './brush.ts';
import type { CardGeometry } from './geometry.ts';
import { BAR_DARK, BAR_LIGHT } from './looks.ts';

export type EdgeBand = {
	/** Pixels a picture; null: the band of the pulse. */
	readonly speedPx: number | null;
	readonly rect: Rect;
};

const SPEEDS_PX = [0, 2, 6, null] as const;
const BAND_UNITS = 5;
const GAP_UNITS = 1;
const BAR_UNITS = 10;
/** Rows to a pixel that a side moves sideways: 5.7 degrees off upright. */
const SLANT = 10;
const TENTHS = 10;
const PULSE_PICTURES = 60;
/** A sine's first quarter, three pixels high, in tenths of a pixel at every sixth degree. */
const QUARTER = [0, 3, 6, 9, 12, 15, 18, 20, 22, 24, 26, 27, 29, 29, 30, 30] as const;

export function edgeBands({ moving, unitPx }: CardGeometry): EdgeBand[] {
	return SPEEDS_PX.map((speedPx, i) => ({
		speedPx,
		rect: {
			...moving,
			yPx: moving.yPx + i * (BAND_UNITS + GAP_UNITS) * unitPx,
			heightPx: BAND_UNITS * unitPx,
		},
	}));
}

/** How far the bar moves from one picture to the next, and which way; null beside a turning point, within `nearPictures` of it. */
export function barHeading(
	{ speedPx, rect }: EdgeBand,
	unitPx: number,
	{ frameNumber, nearPictures }: { readonly frameNumber: number; readonly nearPictures: number },
): 1 | -1 | null {
	if (speedPx === null || speedPx === 0) return null;
	const span = rect.widthPx - BAR_UNITS * unitPx - Math.ceil(rect.heightPx / SLANT);
	const step = (frameNumber * speedPx) % (2 * span);
	const away = Math.min(step % span, span - (step % span));
	if (away < nearPictures * speedPx) return null;
	return step < span ? 1 : -1;
}

/** Tenths of a pixel from the band's left side to the bar's left side, in the band's uppermost row. */
export function barTenths({ speedPx, rect }: EdgeBand, unitPx: number, frameNumber: number): number {
	const span = rect.widthPx - BAR_UNITS * unitPx - Math.ceil(rect.heightPx / SLANT);
	if (speedPx === null) return TENTHS * (span >> 1) + pulseTenths(frameNumber);
	if (speedPx === 0) return TENTHS * (span >> 1);
	const step = (frameNumber * speedPx) % (2 * span);
	return TENTHS * (step <= span ? step : 2 * span - step);
}

export function barWidthPx(unitPx: number): number {
	return BAR_UNITS * unitPx;
}

/** Columns by which a side moves over so many rows. */
export function barSlantPx(rows: number): number {
	return rows / SLANT;
}

function pulseTenths(frameNumber: number): number {
	const at = frameNumber % PULSE_PICTURES;
	const half = PULSE_PICTURES / 2;
	const within = at % half;
	const height = QUARTER[Math.min(within, half - within)]!;
	return at < half ? height : -height;
}

/** Share of the pixel in the column, in a row of the band, that the bar covers, in tenths. */
export function barCover(leftTenths: number, barPx: number, at: { column: number; row: number }): number {
	const from = leftTenths + at.row;
	const to = from + TENTHS * barPx;
	const start = TENTHS * at.column;
	return Math.max(0, Math.min(TENTHS, to - start) - Math.max(0, from - start));
}

export function drawEdgeBands(canvas: Canvas, geometry: CardGeometry, frameNumber: number): void {
	const { moving, unitPx } = geometry;
	const shades = Uint32Array.from({ length: TENTHS + 1 }, (_, tenths) => pixelWord(shade(tenths)));
	fillRect(canvas, moving, shades[0]!);
	const barPx = barWidthPx(unitPx);
	for (const band of edgeBands(geometry)) {
		const left = barTenths(band, unitPx, frameNumber);
		const { rect } = band;
		for (let row = 0; row < rect.heightPx; row++) {
			const from = Math.floor((left + row) / TENTHS);
			const at = (rect.yPx + row) * canvas.widthPx + rect.xPx;
			canvas.words.fill(shades[TENTHS]!, at + from + 1, at + from + barPx);
			for (const column of [from, from + barPx])
				canvas.words[at + column] = shades[barCover(left, barPx, { column, row })]!;
		}
	}
}

function shade(tenths: number): readonly [number, number, number] {
	const [light, dark] = [BAR_LIGHT[0], BAR_DARK[0]];
	const code = Math.floor((light * (TENTHS - tenths) + dark * tenths + TENTHS / 2) / TENTHS);
	return [code, code, code];
}

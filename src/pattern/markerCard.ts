/**
 * The optical card, layout `scope`: one large marker for the scope's tip, a free copy for the phone at the same height (so that
 * a phone that reads its rows one after the other sees both at one time), and a small one low down, from whose lag the phone's
 * readout can be told. All show the same tick: frame number mod 4096.
 *
 * The label's session is the card's seed mod 32, its rate class that of `displayHz`.
 */
import { BT709_LIMITED } from '../colour/yCbCr.ts';
import { createRaster } from '../imaging/raster.ts';
import { rasterToPlanes } from '../imaging/rasterToPlanes.ts';
import type { Rect } from '../imaging/rect.ts';
import { type Canvas, fillRect, pixelWord, pixelWords } from './brush.ts';
import type { CardSpec } from './card.ts';
import type { CardPainter } from './cardPainter.ts';
import type { FlashArea } from './flashRule.ts';
import { cardSizePx, UNITS_ACROSS } from './geometry.ts';
import { CELL_DARK, CELL_LIGHT, GROUND } from './looks.ts';
import { type MarkerCopy, type MarkerLabel, pairFlashRatesHz, SESSIONS, tickOf } from './markerCode.ts';
import { MODULES, markerModules } from './markerFace.ts';

/** A nominal 60 Hz screen, where the card is drawn for no particular one. */
const USUAL_DISPLAY_HZ = 60;

export type MarkerPlace = { readonly rect: Rect; readonly modulePx: number; readonly label: MarkerLabel };

/** Where the markers lie, in card pixels, rim included; throws `RangeError` for a card that has none. */
export function markerPlaces(spec: CardSpec): readonly MarkerPlace[] {
	if (spec.layout !== 'scope') throw new RangeError(`the ${spec.layout} card has no markers`);
	const { widthPx, heightPx } = cardSizePx(spec.size);
	const unitPx = widthPx / UNITS_ACROSS;
	const middlePx = heightPx / 2;
	const lowTopPx = heightPx - 13 * unitPx;
	return [
		place(spec, 'scope', { xPx: 2 * unitPx, yPx: middlePx - 18 * unitPx, modulePx: 3 * unitPx }),
		place(spec, 'free', { xPx: 42 * unitPx, yPx: middlePx - 12 * unitPx, modulePx: 2 * unitPx }),
		place(spec, 'low', { xPx: 67 * unitPx, yPx: lowTopPx, modulePx: unitPx }),
	];
}

/** A painter of the card, as `createCardPainter` promises it. */
export function createMarkerPainter(spec: CardSpec): CardPainter {
	const { widthPx, heightPx } = cardSizePx(spec.size);
	const places = markerPlaces(spec);
	const raster = createRaster(widthPx, heightPx);
	const canvas: Canvas = { words: pixelWords(raster), widthPx };
	canvas.words.fill(pixelWord(GROUND));
	const paint = (frameNumber: number) => {
		if (!Number.isInteger(frameNumber) || frameNumber < 0)
			throw new RangeError(`frame number must be a whole number of at least 0, got ${frameNumber}`);
		for (const marker of places) drawMarker(canvas, marker, tickOf(frameNumber));
		return raster;
	};
	return { paint, paintPlanes: (frameNumber) => rasterToPlanes(paint(frameNumber), BT709_LIMITED) };
}

/** The flashing cells, in card pixels: `cardFlashAreas` scales them to the size displayed. */
export function markerFlashAreas(spec: CardSpec, rateHz: number): readonly FlashArea[] {
	return markerPlaces(spec).flatMap(({ modulePx, label }) =>
		pairFlashRatesHz(rateHz).map((flashesPerSecond, pair) => ({
			name: `${label.copy} marker, pair ${pair}`,
			areaCssPx: 2 * modulePx ** 2,
			states: [CELL_DARK, CELL_LIGHT] as const,
			flashesPerSecond,
		})),
	);
}

function place(
	{ seed, displayHz }: CardSpec,
	copy: MarkerCopy,
	{ xPx, yPx, modulePx }: { readonly xPx: number; readonly yPx: number; readonly modulePx: number },
): MarkerPlace {
	const sidePx = MODULES * modulePx;
	return {
		rect: { xPx, yPx, widthPx: sidePx, heightPx: sidePx },
		modulePx,
		label: { copy, rateHz: displayHz ?? USUAL_DISPLAY_HZ, session: seed % SESSIONS },
	};
}

function drawMarker(canvas: Canvas, { rect, modulePx, label }: MarkerPlace, tick: number): void {
	const dark = pixelWord(CELL_DARK);
	const light = pixelWord(CELL_LIGHT);
	for (const [index, value] of markerModules(tick, label).entries()) {
		const xPx = rect.xPx + (index % MODULES) * modulePx;
		const yPx = rect.yPx + Math.floor(index / MODULES) * modulePx;
		fillRect(canvas, { xPx, yPx, widthPx: modulePx, heightPx: modulePx }, value === 1 ? light : dark);
	}
}

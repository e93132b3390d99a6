/**
 * What flashes on a card, as the flash rule wants it told: all code cells that change faster than three times a second,
 * all check cells, the fast figures, and the moving region with its extreme levels.
 *
 * Rates are the most that can happen, half the frame rate for a cell that may change in every frame. Both cells of a
 * pair count. The figures count with their whole box. The moving region counts as if every point of it went between its
 * extreme colours at half the frame rate; it passes by its levels alone, in `easy` and `motion` with a change of luminance under
 * 0.04, in `hard` under 0.10. A screen brighter than about 250 cd/m2 makes more than 20 cd/m2 of `hard` (BT.1702's
 * absolute rule, which is not judged here): dim the screen for it.
 */
import type { CardSpec } from './card.ts';
import { FIGURE_COUNT, figurePlaces } from './figures.ts';
import { type FlashArea, judgeFlashes, MAX_FLASHING_AREA_CSS_PX } from './flashRule.ts';
import { CHECK_BITS, NUMBER_BITS } from './frameCode.ts';
import { type CardGeometry, cardGeometry, cardSizePx } from './geometry.ts';
import {
	BAR_DARK,
	BAR_LIGHT,
	CELL_DARK,
	CELL_LIGHT,
	DISC_ROSE,
	FIGURE,
	FIGURE_GROUND,
	NOISE_HIGH,
	NOISE_LOW,
	STILL_SLATE,
} from './looks.ts';
import { markerFlashAreas } from './markerCard.ts';

/** The fastest that a card is shown; slower only makes less flash. */
const FASTEST_HZ = 60;

/**
 * The flashing parts of a card displayed `displayedCssWidth` CSS px wide, at `rateHz` frames a second (60 unless told:
 * the strictest of what the bench shows). Throws `RangeError` for a width or rate that is not positive.
 */
export function cardFlashAreas(
	spec: CardSpec,
	displayedCssWidth: number,
	rateHz: number = FASTEST_HZ,
): readonly FlashArea[] {
	if (!(displayedCssWidth > 0 && displayedCssWidth < Infinity))
		throw new RangeError(`a card's displayed width must be positive, got ${displayedCssWidth}`);
	if (!(rateHz > 0 && rateHz < Infinity))
		throw new RangeError(`a card's frame rate must be positive, got ${rateHz}`);
	const cssPerPx = (displayedCssWidth / cardSizePx(spec.size).widthPx) ** 2;
	return areasInPx(spec, rateHz).map((area) => ({ ...area, areaCssPx: area.areaCssPx * cssPerPx }));
}

/** The greatest width in CSS px at which the card keeps the flash rule; Infinity when it does at any. */
export function greatestSafeCssWidth(spec: CardSpec, rateHz: number = FASTEST_HZ): number {
	const { widthPx } = cardSizePx(spec.size);
	const { areaCssPx } = judgeFlashes(cardFlashAreas(spec, widthPx, rateHz));
	return areaCssPx === 0 ? Infinity : Math.floor(widthPx * Math.sqrt(MAX_FLASHING_AREA_CSS_PX / areaCssPx));
}

// Until cardFlashAreas scales them, areas are in the card's own pixels.

function areasInPx(spec: CardSpec, rateHz: number): readonly FlashArea[] {
	if (spec.layout === 'scope') return markerFlashAreas(spec, rateHz);
	const geometry = cardGeometry(spec);
	return [
		...codeAreas(geometry, rateHz),
		...figureAreas(geometry, rateHz),
		movingArea(spec, geometry, rateHz),
	];
}

function codeAreas({ code }: CardGeometry, rateHz: number): readonly FlashArea[] {
	const pairPx = 2 * code.cellPx ** 2;
	const states: FlashArea['states'] = [CELL_DARK, CELL_LIGHT];
	const numberCells = Array.from({ length: NUMBER_BITS }, (_, bit) => ({
		name: `frame number bit ${bit}`,
		areaCssPx: pairPx,
		states,
		flashesPerSecond: rateHz / 2 ** (bit + 1),
	}));
	const checkCells = {
		name: 'check cells',
		areaCssPx: CHECK_BITS * pairPx,
		states,
		flashesPerSecond: rateHz / 2,
	};
	return [...numberCells, checkCells];
}

function figureAreas({ figures }: CardGeometry, rateHz: number): readonly FlashArea[] {
	return figurePlaces(figures).map(({ widthPx, heightPx }, place) => ({
		name: `figure ${place + 1}`,
		areaCssPx: widthPx * heightPx,
		states: [FIGURE_GROUND, FIGURE],
		flashesPerSecond: rateHz / 2 / 10 ** (FIGURE_COUNT - 1 - place),
	}));
}

const MOVING_STATES: Readonly<Record<CardSpec['difficulty'], FlashArea['states']>> = {
	easy: [STILL_SLATE, DISC_ROSE],
	hard: [NOISE_LOW, NOISE_HIGH],
	motion: [BAR_DARK, BAR_LIGHT],
};

function movingArea({ difficulty }: CardSpec, { moving }: CardGeometry, rateHz: number): FlashArea {
	return {
		name: 'moving region',
		areaCssPx: moving.widthPx * moving.heightPx,
		states: MOVING_STATES[difficulty],
		flashesPerSecond: rateHz / 2,
	};
}

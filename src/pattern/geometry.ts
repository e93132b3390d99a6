/**
 * Where everything lies on a card, in pixels of the card's own raster.
 *
 * All places are whole units: one eightieth of the width (16 px at 1280, 24 px at 1920), so that cells and patches start
 * on a codec's 8-pixel transform blocks, and at 1280 on its 16-pixel macroblocks, and a cell shrinks with the card.
 */
import type { Rect } from '../imaging/rect.ts';
import { type CardSize, type CardSpec, type Layout, layoutMarks } from './card.ts';
import { CODE_BITS } from './frameCode.ts';

export const UNITS_ACROSS = 80;
const sizesPx: Readonly<Record<CardSize, readonly [number, number]>> = {
	'1280x720': [1280, 720],
	'1920x1080': [1920, 1080],
	'1280x960': [1280, 960],
};

/** The strip: `columns` pairs of square cells, the bit above, its complement below. */
export type CodeGeometry = {
	readonly rect: Rect;
	readonly cellPx: number;
	readonly columns: number;
	/** The byte that the strip of this card must carry. */
	readonly layoutMark: number;
};

type PatchPlace = {
	readonly rect: Rect;
	/** What a reader averages: a unit away from the patch's edge, clear of chroma bleed and of the neighbour's blocks. */
	readonly inner: Rect;
};

export type CardGeometry = {
	readonly widthPx: number;
	readonly heightPx: number;
	readonly unitPx: number;
	readonly code: CodeGeometry;
	/** The frame number in figures, for people. */
	readonly figures: Rect;
	/** Row by row, in the order of `cardPatches`. */
	readonly patches: readonly PatchPlace[];
	readonly moving: Rect;
	/** Still edges, line groups and fine red-on-pink detail. */
	readonly detail: Rect;
};

type Plan = (unitPx: number, unitsDown: number) => Omit<CardGeometry, 'widthPx' | 'heightPx' | 'unitPx'>;
const plans: Readonly<Partial<Record<Layout, Plan>>> = { link: planLink };

/** Places of the parts of a card with a strip; throws `RangeError` for a size or such a layout that does not exist. */
export function cardGeometry(spec: CardSpec): CardGeometry {
	const { widthPx, heightPx } = cardSizePx(spec.size);
	const plan = plans[spec.layout];
	if (plan === undefined) throw new RangeError(`there is no card layout ${spec.layout} with a code strip`);
	const unitPx = widthPx / UNITS_ACROSS;
	return { widthPx, heightPx, unitPx, ...plan(unitPx, heightPx / unitPx) };
}

/** The sides of a card's raster; throws `RangeError` for a size that does not exist. */
export function cardSizePx(size: CardSize): { readonly widthPx: number; readonly heightPx: number } {
	const sizePx = sizesPx[size];
	if (sizePx === undefined) throw new RangeError(`there is no card size ${size}`);
	return { widthPx: sizePx[0], heightPx: sizePx[1] };
}

const PATCH_COLUMNS = 8;
const PATCH_ROWS = 4;
const PATCH_WIDTH = 5;
const TOP = 5;

function planLink(unitPx: number, unitsDown: number): ReturnType<Plan> {
	const place = placeIn(unitPx);
	// A 4:3 card is taller by a third: its patches and its moving region take the room.
	const patchHeight = unitsDown > 50 ? 7 : 5;
	const fieldHeight = PATCH_ROWS * (patchHeight + 1) - 1;
	const patches = Array.from({ length: PATCH_COLUMNS * PATCH_ROWS }, (_, index) => {
		const x = 1 + (index % PATCH_COLUMNS) * (PATCH_WIDTH + 1);
		const y = TOP + Math.floor(index / PATCH_COLUMNS) * (patchHeight + 1);
		return {
			rect: place(x, y, [PATCH_WIDTH, patchHeight]),
			inner: place(x + 1, y + 1, [PATCH_WIDTH - 2, patchHeight - 2]),
		};
	});
	const detailTop = TOP + fieldHeight + 2;
	return {
		code: {
			rect: place(1, 1, [CODE_BITS, 2]),
			cellPx: unitPx,
			columns: CODE_BITS,
			layoutMark: layoutMarks.link,
		},
		figures: place(50, 1, [29, 2]),
		patches,
		moving: place(50, TOP, [29, fieldHeight]),
		detail: place(1, detailTop, [78, unitsDown - 1 - detailTop]),
	};
}

function placeIn(unitPx: number) {
	return (x: number, y: number, [width, height]: readonly [number, number]): Rect => ({
		xPx: x * unitPx,
		yPx: y * unitPx,
		widthPx: width * unitPx,
		heightPx: height * unitPx,
	});
}

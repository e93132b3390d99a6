/**
 * Which card is shown: everything that decides its pixels, but for the frame number.
 *
 * The same spec and frame number give the same bytes in Node and in every browser: the drawing uses integers and tables
 * only. A layout is a property of the card and is written into its code strip (`layoutMarks`), so that a reader
 * knows when it looks at another card than it was told.
 */

/**
 * Layouts by name. `link`: shown whole and unscaled to a codec, read back at a fixed place. `scope`: square markers on a
 * screen, filmed by a lens (markerCard.ts).
 */
export const LAYOUTS = ['link', 'scope'] as const;
export type Layout = (typeof LAYOUTS)[number];

export const CARD_SIZES = ['1280x720', '1920x1080', '1280x960'] as const;
export type CardSize = (typeof CARD_SIZES)[number];

/** How hard the moving region is for a codec; `motion`: it holds edges at stated speeds and a small pulse, to measure (movingEdges.ts). */
export const DIFFICULTIES = ['easy', 'hard', 'motion'] as const;
type Difficulty = (typeof DIFFICULTIES)[number];

export type CardSpec = {
	readonly layout: Layout;
	readonly size: CardSize;
	/** Whole number 0 to 2^32 - 1; decides the noise and where the motion starts. */
	readonly seed: number;
	readonly difficulty: Difficulty;
	/** Nominal refresh rate of the screen that shows it, written into markers; 60 when left out. A strip does not tell it. */
	readonly displayHz?: number;
};

/** The layout and its edition as one byte of the code strip: layout in the upper half, edition in the lower. */
export const layoutMarks: Readonly<Record<Layout, number>> = { link: 0x12, scope: 0x21 };

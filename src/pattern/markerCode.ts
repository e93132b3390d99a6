/**
 * What the square marker says: a tick of 12 bits that changes with every refresh of the screen, and a label of 12 bits that
 * stands still.
 *
 * A tick is written in Gray code (neighbours differ in one bit), its three fastest bits twice, with six check bits: 21 pairs.
 * The check is linear over the Gray bits: bit i adds the i-th of twelve different columns of weight 3, so that any two of the
 * 4096 words differ in at least four of the 18 (all columns of the parity matrix are different and odd: distance 4, derived), and
 * a change of one tick changes four or five pairs. A check over the binary tick would be at distance 2 (trials.md B.2, measured).
 *
 * The label: edition, copy, class of the display's rate, session; the same check, complemented, so that no blank square has one.
 */
export const TICKS = 4096;
const TICK_BITS = 12;
const DUPLICATED_BITS = 3;
const CHECK_BITS = 6;
/** Pairs of cells that carry the tick. */
export const PAIRS = TICK_BITS + DUPLICATED_BITS + CHECK_BITS;
/** Cells that stand still. */
export const LABEL_CELLS = TICK_BITS + CHECK_BITS;

/**
 * Fast bits first. The first ten share a check bit with each other, which keeps six words in a row linearly independent: were bits
 * 0 and k without one in common, word - next = word after - its next, and a blend of four ticks in a row could not be told.
 * Chosen by search over such families: noise of the mean tick over six words 1.15 to 1.4 per unit of noise, never singular (computed).
 */
const COLUMNS = [0x31, 0x1a, 0x23, 0x07, 0x26, 0x32, 0x2a, 0x2c, 0x16, 0x34, 0x13, 0x29];

/** Which of the card's markers it is. `scope`: under the tip; `free`: for the phone, at the same height; `low`: below that. */
export const MARKER_COPIES = ['scope', 'free', 'low'] as const;
export type MarkerCopy = (typeof MARKER_COPIES)[number];

/** Refresh rates that a label can name; class 0 is any other. */
const RATE_CLASSES_HZ = [null, 50, 60, 75, 90, 100, 120, 144] as const;
/** How far a screen may be from its class: 59.94 and 60 are one class, 60 and 75 are not. */
const CLASS_SPAN = 0.03;
export const SESSIONS = 32;
const EDITION = 1;

export type MarkerLabel = {
	readonly copy: MarkerCopy;
	/** Nominal refresh rate of the display that shows the card; null: none of the classes. */
	readonly rateHz: number | null;
	/** 0 to 31: tells the clips of one session from those of another. */
	readonly session: number;
};

/** The number of the code word of a frame: `frameNumber` mod 4096. */
export function tickOf(frameNumber: number): number {
	return ((frameNumber % TICKS) + TICKS) % TICKS;
}

/** The 21 pairs of a tick as +1 (first cell light) and -1; throws `RangeError` for what is no tick. */
export function tickVector(tick: number): Int8Array {
	if (!Number.isInteger(tick) || tick < 0 || tick >= TICKS)
		throw new RangeError(`a tick must be a whole number below ${TICKS}, got ${tick}`);
	const gray = tick ^ (tick >> 1);
	const check = checkOf(gray);
	return Int8Array.from({ length: PAIRS }, (_, pair) => {
		if (pair < TICK_BITS) return bit(gray, pair);
		if (pair < TICK_BITS + DUPLICATED_BITS) return bit(gray, pair - TICK_BITS);
		return bit(check, pair - TICK_BITS - DUPLICATED_BITS);
	});
}

/** Fastest changes a second of each pair when ticks follow at `rateHz`: pairs of opposing changes. */
export function pairFlashRatesHz(rateHz: number): readonly number[] {
	const ofBit = (place: number): number => rateHz / 2 ** (place + 2);
	return Array.from({ length: PAIRS }, (_, pair) => {
		if (pair < TICK_BITS) return ofBit(pair);
		if (pair < TICK_BITS + DUPLICATED_BITS) return ofBit(pair - TICK_BITS);
		// A check bit changes with each of its Gray bits: at most once in two ticks.
		return rateHz / 4;
	});
}

/** The 18 still cells of a label, 1 for light; throws `RangeError` for a session that does not fit. */
export function labelCells({ copy, rateHz, session }: MarkerLabel): Uint8Array {
	if (!Number.isInteger(session) || session < 0 || session >= SESSIONS)
		throw new RangeError(`a session must be a whole number below ${SESSIONS}, got ${session}`);
	const word = EDITION | (MARKER_COPIES.indexOf(copy) << 2) | (rateClass(rateHz) << 4) | (session << 7);
	const check = ~checkOf(word) & 0x3f;
	const bits = word | (check << TICK_BITS);
	return Uint8Array.from({ length: LABEL_CELLS }, (_, cell) => (bits >> cell) & 1);
}

/** What 18 still cells say, or null when the check does not hold or the word is not of this edition. */
export function readLabel(cells: ArrayLike<number>): MarkerLabel | null {
	let bits = 0;
	for (let cell = 0; cell < LABEL_CELLS; cell++) bits |= (cells[cell]! & 1) << cell;
	const word = bits & (TICKS - 1);
	const copy = MARKER_COPIES[(word >> 2) & 3];
	if ((~checkOf(word) & 0x3f) !== bits >> TICK_BITS || (word & 3) !== EDITION || copy === undefined)
		return null;
	return { copy, rateHz: RATE_CLASSES_HZ[(word >> 4) & 7] ?? null, session: word >> 7 };
}

/** The class that a measured or nominal rate belongs to, as its nominal rate; null when none. */
export function rateClassHz(rateHz: number): number | null {
	return RATE_CLASSES_HZ[rateClass(rateHz)] ?? null;
}

function rateClass(rateHz: number | null): number {
	if (rateHz === null) return 0;
	const found = RATE_CLASSES_HZ.findIndex(
		(each) => each !== null && Math.abs(rateHz / each - 1) < CLASS_SPAN,
	);
	return Math.max(0, found);
}

function bit(word: number, place: number): number {
	return (word >> place) & 1 ? 1 : -1;
}

function checkOf(word: number): number {
	let check = 0;
	for (let place = 0; place < TICK_BITS; place++) if ((word >> place) & 1) check ^= COLUMNS[place]!;
	return check;
}

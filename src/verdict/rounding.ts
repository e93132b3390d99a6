/**
 * The stated decimals of every figure in a result: one place, so that `judge` gives the same document again on any
 * supported Node, where sums may differ in their last bits. The unit at the end of a name says which.
 */
const DECIMALS: readonly (readonly [suffix: string, decimals: number])[] = [
	['Ms', 2],
	['Ratio', 6],
	['PerMin', 4],
	['Hz', 3],
	['Db', 2],
	['Deg', 2],
	['Rgb', 2],
	['DeltaE00', 4],
];
/** Similarity, tone slope, shares told by the name of their line; and counts, which have no decimals to lose. */
const OTHERWISE = 6;
const UNIT_DECIMALS = { ms: 2, ratio: 6, perMin: 4, deltaE: 4, none: 4 } as const;

/** To that many decimals, halves away from zero; never -0. Throws `RangeError` for what is not a finite number. */
export function roundTo(value: number, decimals: number): number {
	if (!Number.isFinite(value)) throw new RangeError(`a figure must be a finite number, got ${value}`);
	const scale = 10 ** decimals;
	const rounded = (Math.sign(value) * Math.round(Math.abs(value) * scale)) / scale;
	return rounded === 0 ? 0 : rounded;
}

/** To the decimals of a criteria line's unit; null stays null. */
export function roundToUnit(value: number | null, unit: keyof typeof UNIT_DECIMALS): number | null {
	return value === null ? null : roundTo(value, UNIT_DECIMALS[unit]);
}

/** A copy with every number rounded by the name it stands under; the items of a list by the list's name. */
export function roundFigures<T>(value: T): T {
	// The copy has the shape of what was copied: only numbers change, and they stay numbers.
	return rounded(value, '') as T;
}

function rounded(value: unknown, name: string): unknown {
	if (typeof value === 'number') return roundTo(value, decimalsOf(name));
	if (Array.isArray(value)) return value.map((item) => rounded(item, name));
	if (typeof value !== 'object' || value === null) return value;
	return Object.fromEntries(Object.entries(value).map(([key, item]) => [key, rounded(item, key)]));
}

function decimalsOf(name: string): number {
	return DECIMALS.find(([suffix]) => name.endsWith(suffix))?.[1] ?? OTHERWISE;
}

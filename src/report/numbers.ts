/**
 * How a figure is written: decimals by size, groups of three set apart by a narrow space, a unit always. No locale is
 * asked, so the same result reads the same everywhere. Rounding here is for the eye; JSON and CSV carry the full figure.
 */
import type { JudgedLine } from '../verdict/verdict.ts';

/** Narrow no-break space: keeps a group, and a figure with its unit, on one line. */
const THIN = '\u202f';
/** Beyond this many decimals a figure that still looks like its limit is called equal to it. */
const MOST_DECIMALS = 4;

/** Fixed decimals, groups of three from five digits up, a true minus sign. Throws `RangeError` for NaN and infinities. */
export function formatNumber(value: number, decimals = 0): string {
	if (!Number.isFinite(value)) throw new RangeError(`a figure to print must be finite, got ${value}`);
	const fixed = Math.abs(value).toFixed(decimals);
	const [whole = '', fraction] = fixed.split('.');
	const grouped = whole.length > 4 ? whole.replace(/\B(?=(\d{3})+$)/g, THIN) : whole;
	const sign = value < 0 && Number(fixed) !== 0 ? '\u2212' : '';
	return sign + grouped + (fraction === undefined ? '' : `.${fraction}`);
}

/** A stated limit: no more decimals than it has ("5", "0.6"). */
export function formatTrimmed(value: number): string {
	const decimals = [0, 1, 2, 3].find((n) => Math.abs(value - Number(value.toFixed(n))) < 1e-9);
	return formatNumber(value, decimals ?? MOST_DECIMALS);
}

/** Milliseconds, one decimal under 1000. */
export function formatMs(ms: number): string {
	return `${formatNumber(ms, Math.abs(ms) < 1000 ? 1 : 0)}${THIN}ms`;
}

/** A share as per cent. */
export function formatShare(ratio: number): string {
	return `${formatNumber(ratio * 100, shareDecimals(ratio))}${THIN}%`;
}

function shareDecimals(ratio: number): number {
	return Math.abs(ratio) < 0.1 ? 2 : 1;
}

export function formatPerMin(perMin: number): string {
	return `${formatNumber(perMin, 2)} a minute`;
}

/** "42 s", "5 min 10 s", "8 h 0 min". */
export function formatDuration(ms: number): string {
	const seconds = Math.round(ms / 1000);
	if (seconds < 60) return `${formatTrimmed(Number((ms / 1000).toFixed(1)))}${THIN}s`;
	if (seconds < 3600) return `${Math.floor(seconds / 60)}${THIN}min ${seconds % 60}${THIN}s`;
	return `${Math.floor(seconds / 3600)}${THIN}h ${Math.floor((seconds % 3600) / 60)}${THIN}min`;
}

type LineUnit = JudgedLine['unit'];
type UnitRule = {
	readonly factor: number;
	readonly suffix: string;
	readonly decimals: (value: number) => number;
};

const UNIT_RULES: Readonly<Record<LineUnit, UnitRule>> = {
	ratio: { factor: 100, suffix: `${THIN}%`, decimals: (percent) => shareDecimals(percent / 100) },
	ms: { factor: 1, suffix: `${THIN}ms`, decimals: (ms) => (Math.abs(ms) < 1000 ? 1 : 0) },
	perMin: { factor: 1, suffix: '/min', decimals: () => 2 },
	deltaE: { factor: 1, suffix: '', decimals: () => 2 },
	none: { factor: 1, suffix: '', decimals: () => 2 },
};

/** The limit of a line as its criteria state it. */
export function formatLimit(limit: number, unit: LineUnit): string {
	const rule = UNIT_RULES[unit];
	return formatTrimmed(limit * rule.factor) + rule.suffix;
}

/** A reading beside its limit: decimals are added until a figure that is not the limit does not look like it. */
export function formatAgainst(value: number, limit: number | null, unit: LineUnit): string {
	const rule = UNIT_RULES[unit];
	const shown = value * rule.factor;
	let decimals = rule.decimals(shown);
	if (limit !== null && value !== limit) {
		const limitText = (limit * rule.factor).toFixed(MOST_DECIMALS);
		while (decimals < MOST_DECIMALS && Number(shown.toFixed(decimals)) === Number(limitText)) decimals++;
	}
	return formatNumber(shown, decimals) + rule.suffix;
}

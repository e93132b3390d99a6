/**
 * Lines, bands and axes for chart.js as plain data. Told apart by dash and width, not by colour alone, so that they live
 * on a black-and-white print.
 */
import { formatTrimmed } from './numbers.ts';

export type Point = { readonly x: number; readonly y: number | null };
export type Settings = Readonly<Record<string, unknown>>;

export const TEAL = '#0b4f54';
export const PLUM = '#5b2a4e';
const CHARCOAL = '#2b2b2b';
export const BAND = 'rgba(90,90,90,0.22)';
const GRID = '#d5cfc2';
const FONT = { size: 14 };
/** Radius of a point that has no neighbour to be joined to, and would not be drawn at all as a line. */
const LONE_RADIUS = 3;

export function line(
	label: string,
	data: readonly Point[],
	style: { colour: string; width: number; dash: readonly number[] },
): Settings {
	return {
		label,
		data,
		borderColor: style.colour,
		backgroundColor: style.colour,
		borderWidth: style.width,
		borderDash: style.dash,
		pointRadius: data.map((point, i) => (isLone(data, i) && point.y !== null ? LONE_RADIUS : 0)),
		spanGaps: false,
	};
}

function isLone(data: readonly Point[], i: number): boolean {
	return (data[i - 1]?.y ?? null) === null && (data[i + 1]?.y ?? null) === null;
}

/** Greatest above, least below, the room between them filled. */
export function band(least: readonly Point[], greatest: readonly Point[]): Settings[] {
	const upper = line('greatest', greatest, { colour: CHARCOAL, width: 1, dash: [] });
	const lower = line('least', least, { colour: CHARCOAL, width: 1, dash: [1, 3] });
	return [{ ...upper, fill: '+1', backgroundColor: BAND }, lower];
}

/** A dashed line from one point to another; none where there is no limit. */
export function limitLine(limitMs: number | null, ends: (limitMs: number) => readonly Point[]): Settings[] {
	if (limitMs === null) return [];
	return [line(limitLabel(limitMs), ends(limitMs), { colour: PLUM, width: 2.5, dash: [10, 6] })];
}

export function limitLabel(limitMs: number): string {
	return `limit ${formatTrimmed(limitMs)} ms`;
}

/** Starts at 0: a cut axis would make small differences look large. */
export function axis(title: string, more: Settings = {}): Settings {
	return {
		type: 'linear',
		min: 0,
		title: { display: true, text: title, font: FONT, color: CHARCOAL },
		ticks: { font: FONT, color: CHARCOAL, maxRotation: 0, format: { useGrouping: false } },
		grid: { color: GRID },
		...more,
	};
}

/** No animation: a page printed or photographed at once must show the whole chart. */
export function chartOptions(x: Settings, y: Settings): Settings {
	return {
		animation: false,
		responsive: true,
		maintainAspectRatio: false,
		parsing: false,
		normalized: true,
		locale: 'en-GB',
		scales: { x, y },
		plugins: { legend: { display: false }, tooltip: { enabled: false } },
	};
}

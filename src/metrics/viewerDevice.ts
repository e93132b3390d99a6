/**
 * What kind of device a run was seen on, as far as its page knows: its browser's own words without versions, and its display's rate.
 * It tells kinds of device apart, never two of a kind; and browsers that hide the system make more of them alike.
 */
import type { Header } from '../observations/records.ts';

export type ViewerDevice = {
	readonly system: string;
	readonly browser: string;
	readonly displayHz: number | null;
};

/** Displays are told apart by more than this: the rate is observed. */
const RATE_RATIO = 0.05;
/** Said by every browser. */
const GENERIC = new Set(['Mozilla', 'AppleWebKit', 'Gecko', 'Version']);

/** Null where the viewer did not say what it is. */
export function viewerDeviceOf({
	viewerAgent,
	displayPeriodMs,
}: Pick<Header, 'viewerAgent' | 'displayPeriodMs'>): ViewerDevice | null {
	if (viewerAgent === undefined || viewerAgent.trim() === '') return null;
	const [, inBrackets] = /\(([^)]*)\)/.exec(viewerAgent) ?? [];
	// A system is brought up to date between home and yard, and stays the same device.
	const system = inBrackets
		?.replace(/;?\s*rv:[\d.]+/, '')
		.replace(/\b(Android|OS X|OS|NT)[ _]\d[\d._]*/g, '$1')
		.trim();
	const names = viewerAgent
		.replace(/\([^)]*\)/g, ' ')
		.split(/\s+/)
		.map((token) => token.split('/')[0] ?? '')
		.filter((name) => name !== '' && !GENERIC.has(name) && !/^v?\d/.test(name));
	return {
		system: system === undefined || system === '' ? 'system not said' : system,
		browser: names.join(' ') || 'browser not said',
		displayHz: displayPeriodMs === null ? null : 1000 / displayPeriodMs,
	};
}

/** As far as either says; a display whose rate one of them does not know tells nothing. */
export function isSameKind(a: ViewerDevice, b: ViewerDevice): boolean {
	const [hz, otherHz] = [a.displayHz ?? b.displayHz ?? 1, b.displayHz ?? a.displayHz ?? 1];
	return (
		a.system === b.system &&
		a.browser === b.browser &&
		Math.abs(hz - otherHz) <= RATE_RATIO * Math.max(hz, otherHz)
	);
}

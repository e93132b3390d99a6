/**
 * Every word that stands for a code. Plain words first, the exact name beside them; nothing here is a figure.
 * The name that needs light at both ends is given only where both ends are light (design: words and looks).
 */
import type { Fate, Header, ProfileName } from '../observations/records.ts';
import type { Answer, Fitness, JudgedLine, LineState } from '../verdict/verdict.ts';
import { formatAgainst, formatLimit, formatShare } from './numbers.ts';

type Points = Header['measuringPoints'];

const SOURCE_POINT: Readonly<Record<Points['source'], string>> = {
	generated: 'picture made by the bench',
	light: 'light at the source',
	file: 'picture in the file',
};
const VIEWER_POINT: Readonly<Record<Points['viewer'], string>> = {
	presented: 'picture shown by the browser',
	decoded: 'picture decoded',
	light: 'light at the viewer',
	file: 'picture in the file',
};

/** Between which points, in one sentence. */
export function measuringPointsWords(points: Points): string {
	if (points.source === 'light' && points.viewer === 'light')
		return 'glass-to-glass: from light at the source to light at the viewer';
	if (points.viewer === 'file')
		return 'the pictures of the file itself; nothing travelled, so no delay is read';
	const exact = `${points.source} to ${points.viewer}`;
	const way = points.viewer === 'decoded' ? '; the way on to the glass is not in it' : '';
	return `from ${SOURCE_POINT[points.source]} to ${VIEWER_POINT[points.viewer]} (${exact})${way}`;
}

/** The plain name of fresh delay, which depends on where it was taken. */
export function delayName(points: Points): string {
	if (points.source === 'light' && points.viewer === 'light') return 'delay, scope to screen';
	if (points.viewer === 'decoded') return 'delay, from picture made to picture decoded';
	return 'delay, from picture made to picture shown';
}

export const FITNESS_FRAME: Readonly<Record<Fitness, string>> = {
	steering: 'double line: fit for live steering',
	recording: 'single line: for recording only',
	unfit: 'hatched: unfit',
	undetermined: 'dotted: not settled yet; treat as not fit to steer',
};

export const ANSWER_WORDS: Readonly<Record<Answer, string>> = {
	yes: 'yes',
	no: 'no',
	undetermined: 'not enough evidence yet',
	notAsked: 'not asked of this run',
};

export const STATE_WORDS: Readonly<Record<LineState, string>> = {
	met: 'met',
	notMet: 'not met',
	undecided: 'not enough evidence yet',
	notMeasured: 'not measured',
	informs: 'for information',
};

export const PROFILE_WORDS: Readonly<Record<ProfileName, string>> = {
	demo: 'demo (under 120 s: readings; the only answer it may give is "no")',
	brief: 'brief (120 s: may say "no", or "nothing against it in two minutes")',
	verdict: 'verdict (310 s)',
	long: 'long (620 s and more: rare freezes too)',
	file: 'file (all of this file, and only this file)',
};

/** What became of a sent frame: the six classes add up to the frames sent. */
export const FATE_WORDS: Readonly<Record<Fate, string>> = {
	presented: 'shown',
	notDrawn: 'arrived, not drawn by this display',
	unreadable: 'arrived, its number unreadable',
	overtaken: 'overtaken by a newer picture',
	late: 'later than the end of the wait',
	lost: 'lost',
};

/** Lines whose figure must not fall below their limit; every other must not rise above it. */
const AT_LEAST: ReadonlySet<string> = new Set(['moving-record', 'detail']);

/** The limit of a line with its direction; empty where it has none. */
export function limitWords({ id, limit, unit }: JudgedLine): string {
	return limit === null ? '' : `${AT_LEAST.has(id) ? '≥' : '≤'}\u202f${formatLimit(limit, unit)}`;
}

/** The bound of a line: how bad it could be, or, where it is not met, how good it could be at best. */
export function boundWords({ id, reading, bound, limit, unit }: JudgedLine): string {
	if (bound === null) return '–';
	const words = formatAgainst(bound, limit, unit);
	const isBetter = reading !== null && (AT_LEAST.has(id) ? bound > reading : bound < reading);
	return isBetter ? `at best ${words}` : words;
}

/** The reading of a line; a line that is no number (which way up) has words only. */
export function readingWords({ reading, limit, unit }: JudgedLine): string {
	return reading === null || unit === 'none' ? '–' : formatAgainst(reading, limit, unit);
}

const RIG_WORDS: Readonly<Record<Header['rig'], string>> = {
	link: 'link rig: numbered test card, streamed to the viewer',
	optical: 'optical rig: filming phone sees both screens',
	recording: "recording rig: the kit's own clip of the test card",
	still: "still rig: the kit's own still of the test card",
};

export function rigWords(rig: Header['rig']): string {
	return RIG_WORDS[rig];
}

/** Shapes of a systematic error, by their code. */
export function shapeWords(shape: 'rectangular' | 'oneSided'): string {
	return shape === 'oneSided'
		? 'delays only: anywhere from 0 to twice this'
		: 'either way, anywhere within this';
}

/** Why a thing was not measured; the explanation that travels with it is shown beside. */
export function notMeasuredWords(reason: string): string {
	return `not measured: ${spacedOut(reason)}`;
}

/** A camelCase code as words: `tooFewFrames` as "too few frames". */
function spacedOut(code: string): string {
	return code.replace(
		/([a-z0-9])([A-Z])/g,
		(_, before: string, after: string) => `${before} ${after.toLowerCase()}`,
	);
}

/** The exact names, one tap away from the plain ones. */
export const EXACT_NAMES: readonly (readonly [plain: string, exact: string])[] = [
	[
		'delay',
		'fresh delay: a picture’s first appearance at the viewer less its appearance at the source, in ms',
	],
	[
		'how old the picture is',
		'picture age: at any instant, now less when the picture on the viewer was made; weighted by time',
	],
	['19 times in 20', '95th percentile, P95'],
	['unevenness of delay', 'delay variation: P95 less P5 of fresh delay'],
	['give or take', 'expanded uncertainty, k = 2'],
	['could be as bad as', 'one-sided 95 % bound, the rig’s own uncertainty in it'],
	['room to spare', 'margin: (limit − bound) over the scale of the line'],
	['colour shift', 'CIEDE2000 colour difference; about 1 = just seen side by side'],
	['likeness', 'SSIM (1 = identical) and PSNR (dB) of the luma'],
	['this computer’s own delay', 'harness floor, lateness and load; shown, never subtracted'],
	['freeze', 'W3C webrtc-stats freeze; a pause is over 5 s without a new picture'],
	['not enough evidence yet', 'undetermined'],
];

/** The smallest margin as a person reads it: how much of what a line allows is left. */
export function marginWords(margin: number): string {
	const share = formatShare(Math.abs(margin));
	return margin < 0
		? `none: over by ${share} of what is allowed, at the worst steering line`
		: `${share} of what is allowed is left, at the steering line nearest to its limit`;
}

/** A run's wall-clock label without its fractions: "2026-03-01 09:30 UTC"; as it stands when it is not of that form. */
export function startedWords(startedAt: string): string {
	const found = /^(\d{4}-\d\d-\d\d)T(\d\d:\d\d)(?::[\d.]+)?Z$/.exec(startedAt);
	return found === null ? startedAt : `${found[1]} ${found[2]} UTC`;
}

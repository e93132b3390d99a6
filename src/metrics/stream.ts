/**
 * What a WebRTC stream's own counts say beside the codes in the pictures: whether both saw as many pictures, how long the jitter
 * buffer held them, and how long the run waited for it at its beginning. All as warnings: they change no figure.
 *
 * The counts are of the stream and know no numbers; a picture's identity is its code alone. The two are compared between
 * the first and the last count of each segment, so pictures on their way at either end may make a difference of a few.
 */
import type { Run, Segment, StreamCounts } from '../observations/run.ts';
import type { Warning } from './metric.ts';

/** Pictures by which the two may differ at the ends of a stretch, and the share beyond: common practice, no source. */
const FEW = 4;
const SHARE = 0.01;

type Row = StreamCounts['rows'][number];

export function streamWarnings(run: Run): Warning[] {
	if (run.header.path?.transport !== 'webrtc') return [];
	const viewer = run.streamCounts.filter(({ end }) => end === 'viewer');
	return [...uncounted(run), ...disagreements(run, viewer), ...bufferHeld(run, viewer)];
}

/** A page that takes pictures from a video element knows by the browser's count alone that there were more. */
function uncounted({ events }: Run): Warning[] {
	if (!events.some(({ code }) => code === 'arrivalsUncounted')) return [];
	return [
		{
			code: 'arrivalsUncounted',
			seen: 'This browser does not count the pictures that came: those that the page was never shown are called lost.',
			advice: 'Lost may read too high. Measure with a current browser, or over WebSocket.',
		},
	];
}

function disagreements(run: Run, viewer: readonly StreamCounts[]): Warning[] {
	let counted = 0;
	let told = 0;
	for (const segment of run.segments) {
		for (const [from, to] of unbroken(rowsIn(segment, viewer))) {
			counted += (to[2] ?? 0) - (from[2] ?? 0);
			told += picturesBetween(run, segment, { fromMs: from[0], toMs: to[0] });
		}
	}
	if (Math.abs(counted - told) <= FEW * run.segments.length + SHARE * counted) return [];
	return [
		{
			code: 'countsDisagree',
			seen: `The viewer's decoder counted ${counted} pictures where the codes tell of ${told}.`,
			advice:
				'More counted than told: the reader missed pictures that a person would have seen, and they are called lost. Run again on a quieter viewer.',
		},
	];
}

/** Pictures that the reader told of in a stretch, readable or not, each time it saw one. */
function picturesBetween(
	{ frames, events }: Run,
	{ segment }: Segment,
	{ fromMs, toMs }: { fromMs: number; toMs: number },
): number {
	const within = (atMs: number): boolean => atMs > fromMs && atMs <= toMs;
	let count = 0;
	for (const frame of frames) {
		// Where a browser does not say when it decoded: drawn, or counted by it and never shown to the page, shortly after it was sent.
		const cameMs =
			frame.decodedMs ?? frame.seenMs ?? (frame.fate === 'notDrawn' ? frame.shownMs : Number.NaN);
		if (frame.segment === segment && frame.fate !== 'unreadable' && within(cameMs)) count++;
	}
	const besides = ['unreadablePicture', 'repeated', 'seenAfterLost', 'foreignCode'];
	for (const event of events)
		if (event.segment === segment && besides.includes(event.code) && within(event.atMs)) count++;
	return count;
}

function bufferHeld(run: Run, viewer: readonly StreamCounts[]): Warning[] {
	let heldMs = 0;
	let count = 0;
	let longestMs = 0;
	for (const segment of run.segments) {
		const rows = rowsIn(segment, viewer);
		for (let i = 1; i < rows.length; i++) {
			const [pictures, ms] = [step(rows[i - 1]!, rows[i]!, 6), step(rows[i - 1]!, rows[i]!, 5)];
			if (!(pictures > 0) || !(ms >= 0)) continue;
			heldMs += ms;
			count += pictures;
			longestMs = Math.max(longestMs, ms / pictures);
		}
	}
	const waited = run.events.find(({ code }) => code === 'bufferAtRest' || code === 'bufferNotAtRest');
	if (count === 0 && waited === undefined) return [];
	const held =
		count === 0
			? 'The viewer does not tell how long its jitter buffer holds pictures.'
			: `The viewer's jitter buffer held pictures for ${(heldMs / count).toFixed(0)} ms on average, at most ${longestMs.toFixed(0)} ms; that is in the delay.`;
	return [
		{
			code: waited?.code === 'bufferNotAtRest' ? 'bufferNotAtRest' : 'bufferHeld',
			seen: waited?.detail == null ? held : `${held} ${waited.detail}.`,
			advice:
				'After every start the picture may be later than this until the buffer is at rest: wait as long before steering.',
		},
	];
}

function step(from: Row, to: Row, field: 5 | 6): number {
	return (to[field] ?? Number.NEGATIVE_INFINITY) - (from[field] ?? 0);
}

/** Counts within the observed time of a segment, in order. */
function rowsIn({ segment, warmUpUntilMs, endMs }: Segment, viewer: readonly StreamCounts[]): Row[] {
	return viewer
		.filter((record) => record.segment === segment)
		.flatMap(({ rows }) => rows)
		.filter(([atMs, , decoded]) => decoded !== null && atMs >= warmUpUntilMs && atMs <= endMs);
}

/** First and last row of each stretch in which the counts never go back: a new connection counts from 0. */
function unbroken(rows: readonly Row[]): [Row, Row][] {
	const stretches: [Row, Row][] = [];
	for (const row of rows) {
		const open = stretches.at(-1);
		if (open === undefined || (row[2] ?? 0) < (open[1][2] ?? 0)) stretches.push([row, row]);
		else open[1] = row;
	}
	return stretches;
}

/**
 * What a phone that reads its rows one after the other does to a delay: laptop's and tablet's marker are seen at different instants when they stand at
 * different heights of its picture. Heights are of the file's own rows (never turned upright), which are in the order of reading.
 *
 *   delay read = delay - readout x (tablet's height - laptop's height)
 *
 * Two shots of which one has the phone turned by 180 degrees carry the error with opposite signs, and their mean is free of it. How long the readout is,
 * the laptop's own two copies tell: the low one's tick runs ahead by readout x (their heights' difference) and lags by the screen's scan-out between them. One
 * shot cannot part the two, for nobody knows how much of the screen the card takes; turned shots can, for only one of them turns its sign.
 */
import { TICKS } from '../pattern/markerCode.ts';
import type { BudgetLine } from './ageBudget.ts';
import type { TickTrack } from './tickTrack.ts';

/** A phone reads its rows within a frame, and seldom slower than this from top to bottom (trials.md B.2, recalled). */
const SLOWEST_READOUT_MS = 20;
/** Copies' heights must differ between shots by this share of the picture before the readout is told from them. */
const LEAST_SPAN_RATIO = 0.1;
/** What a readout told from copies may be short by: their readings' saw teeth (a share), noise and a lens's bend (ms). */
const READOUT_DOUBT = { ratio: 0.25, ms: 1 };

export type ShutterSeen = {
	/** Tablet's height less the laptop's, in the picture's height. */
	readonly apartRatio: number;
	/** Of the readout, from the phone's frame time. */
	readonly mostReadoutMs: number;
	/** The laptop's low copy beside the one read: heights' difference, and by how much its tick runs ahead. Null: not seen. */
	readonly copies: { readonly apartRatio: number; readonly aheadMs: number } | null;
};

export function mostReadoutMs(frameMs: number): number {
	return Math.min(SLOWEST_READOUT_MS, frameMs);
}

/** Mean lead of one track of the laptop over another, in ticks; null where they were not read together. */
export function meanLead(one: TickTrack, other: TickTrack): number | null {
	let sum = 0;
	let count = 0;
	for (let frame = 0; frame < one.good.length; frame++) {
		if (one.good[frame] === 0 || other.good[frame] === 0) continue;
		const apart = one.ticks[frame]! - other.ticks[frame]!;
		sum += apart - TICKS * Math.round(apart / TICKS);
		count++;
	}
	return count === 0 ? null : sum / count;
}

/** Of one shot, or of several whose mean counts. Needs at least one. */
export function shutterLine(shots: readonly ShutterSeen[]): BudgetLine {
	const told = readoutFromCopies(shots);
	const most = Math.max(...shots.map((shot) => shot.mostReadoutMs));
	const readoutMs =
		told === null ? most : Math.min(most, told * (1 + READOUT_DOUBT.ratio) + READOUT_DOUBT.ms);
	const aparts = shots.map(({ apartRatio }) => apartRatio);
	const turned = Math.min(...aparts) < 0 && Math.max(...aparts) > 0;
	const apart = turned
		? Math.abs(aparts.reduce((sum, value) => sum + value, 0) / aparts.length)
		: Math.max(...aparts.map(Math.abs));
	const heights = turned
		? `shots with the phone turned cancel it to ${percent(apart)} % of the picture`
		: `markers ${percent(apart)} % of the picture apart in height; shots with the phone turned by 180 degrees cancel it`;
	const readout = told === null ? '' : `; readout of ${told.toFixed(1)} ms told from the laptop's two copies`;
	return { name: 'rolling shutter', halfWidthMs: apart * readoutMs, source: `${heights}${readout}` };
}

/** Slope of the copies' lead over their heights' difference: the scan-out is the same in all shots. Null where no shot is turned. */
function readoutFromCopies(shots: readonly ShutterSeen[]): number | null {
	const seen = shots.flatMap(({ copies }) => (copies === null ? [] : [copies]));
	const heights = seen.map(({ apartRatio }) => apartRatio);
	if (seen.length < 2 || Math.max(...heights) - Math.min(...heights) < LEAST_SPAN_RATIO) return null;
	const meanHeight = heights.reduce((sum, value) => sum + value, 0) / seen.length;
	const meanAhead = seen.reduce((sum, { aheadMs }) => sum + aheadMs, 0) / seen.length;
	let [product, square] = [0, 0];
	for (const { apartRatio, aheadMs } of seen) {
		product += (apartRatio - meanHeight) * (aheadMs - meanAhead);
		square += (apartRatio - meanHeight) ** 2;
	}
	return Math.max(0, product / square);
}

function percent(ratio: number): number {
	return Math.round(100 * ratio);
}

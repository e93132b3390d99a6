/**
 * A clip as read, measured: whose marker is whose, its time from the card, and each piece of it that ran at a steady speed.
 * What is quoted: light at the laptop's marker to the centroid of the change of light at the tablet's marker, both at the height of
 * the marker; the middle of the scope's exposure counts as the instant of a picture.
 */
import type { BudgetLine } from './ageBudget.ts';
import { measurePiece, type PieceMeasurement } from './clipMeasurement.ts';
import { assignRoles, type ClipRoles, type Orientation, type RoleTrack } from './clipRoles.ts';
import { type FilmCut, findCuts } from './filmCuts.ts';
import { fitLaptopLine, type LaptopLine, type LinePiece } from './laptopLine.ts';
import type { ClipReading, NotRead } from './opticalTypes.ts';
import { meanLead, mostReadoutMs, type ShutterSeen, shutterLine } from './shutter.ts';

type ClipWarning = { readonly code: string; readonly seen: string; readonly advice: string };

export type ClipMeasurement = {
	readonly kind: 'measured';
	/** Pieces of steady speed that could be measured, in order; at least one. */
	readonly pieces: readonly PieceMeasurement[];
	readonly orientation: Orientation;
	/** From the still cells; null where they could not be read. */
	readonly session: number | null;
	readonly displayHz: number;
	/** True frames a second of the phone. */
	readonly filmedHz: number;
	/** "filmed at 240, stored at 30"; null where the file plays at true speed. */
	readonly said: string | null;
	/** For which place on the tablet the delay is quoted. */
	readonly quotedFor: string;
	/** One draw for the clip each: phase of lock, rolling shutter, scan-out, response, slope. */
	readonly budget: readonly BudgetLine[];
	/** For clips that are taken together: shots with the phone turned cancel its rolling shutter. */
	readonly shutter: ShutterSeen;
	readonly warnings: readonly ClipWarning[];
};

/** At a clip's ends a phone may still be changing its pace; so much is left out without a word. */
const EDGES_MS = 1000;
/** Phones' crystals (from memory). */
const CRYSTAL_RATIO = 50e-6;
/** Of the screen's height, from the middle of the card's scope marker to that of its low one, when the card fills the screen (markerCard.ts). */
const LOW_COPY_RATIO = 0.35;
/** A tablet's crystal (models' value), and how far its half-way point lies before its centroid in it (estimators.md A2). */
const RESPONSE_MS = 4;
const HALF_WAY_SHARE = 0.31;
/** A clip of which more is asked for than this is too short to say that its phase stands. */
const PHASE_SHOWS_MS = 15_000;

export function measureClip(clip: ClipReading): ClipMeasurement | NotRead {
	const roles = assignRoles(clip);
	if (roles.kind !== 'roles') return roles;
	const { laptop, tablet, orientation } = roles;
	const label = laptop.track.marker.label ?? tablet.track.marker.label;
	const line = fitLaptopLine(clip.fileMs, laptop.ticks, rateOf(laptop, tablet));
	if (line.kind !== 'line') return line;
	const measured = line.pieces.map((piece) =>
		measurePiece({ clip, piece, laptop: laptop.ticks, tablet: tablet.track, tabletTicks: tablet.ticks }),
	);
	const pieces = measured.filter((piece) => piece.kind === 'measured');
	const longest = pieces.reduce<PieceMeasurement | null>(
		(a, b) => (a === null || b.durationMs > a.durationMs ? b : a),
		null,
	);
	if (longest === null) return measured.find((piece) => piece.kind === 'notMeasured')!;
	const frameMs = frameTimeMs(clip.fileMs, longest.piece);
	const { tickMs } = longest.piece;
	const shutter = shutterSeen(roles, { frameMs, tickMs });
	return {
		kind: 'measured',
		pieces,
		orientation,
		session: label?.session ?? null,
		displayHz: 1000 / longest.piece.tickMs,
		filmedHz: 1000 / frameMs,
		said: line.said,
		quotedFor: `the height of the marker on the tablet, ${Math.round(100 * tablet.track.marker.heightRatio)} % down the phone's picture; the centroid of its change of light`,
		budget: [
			...longest.budget.lines,
			shutterLine([shutter]),
			scanOutLine(laptop, tickMs),
			responseLine(),
			slopeLine(longest),
		],
		shutter,
		warnings: [
			...cutWarnings(findCuts(clip.fileMs, line.pieces)),
			...leftOutWarnings(line, frameMs * clip.fileMs.length),
			...warningsOf(longest),
		],
	};
}

/** The screen's rate as the labels tell it; null where they tell none, or two. */
function rateOf({ track: laptop }: RoleTrack, { track: tablet }: RoleTrack): number | null {
	const told = [laptop.marker.label, tablet.marker.label].flatMap((label) =>
		label === null ? [] : [label.rateHz],
	);
	return told.every((rateHz) => rateHz === told[0]) ? (told[0] ?? null) : null;
}

function frameTimeMs(fileMs: Float64Array, { from, until, stretch }: LinePiece): number {
	return (fileMs[until - 1]! - fileMs[from]!) / stretch / (until - 1 - from);
}

function shutterSeen(
	{ laptop, tablet, low }: ClipRoles,
	{ frameMs, tickMs }: { readonly frameMs: number; readonly tickMs: number },
): ShutterSeen {
	const heightOf = ({ track }: RoleTrack): number => track.marker.heightRatio;
	const lead = low === null ? null : meanLead(low.ticks, laptop.ticks);
	return {
		apartRatio: heightOf(tablet) - heightOf(laptop),
		mostReadoutMs: mostReadoutMs(frameMs),
		copies:
			low === null || lead === null
				? null
				: { apartRatio: heightOf(low) - heightOf(laptop), aheadMs: lead * tickMs },
	};
}

/** The scope's copy and the free one are refreshed together; the low one is not, and of a copy without a label nobody knows which it is. */
function scanOutLine({ track }: RoleTrack, tickMs: number): BudgetLine {
	const copy = track.marker.label?.copy ?? null;
	const level = copy === 'free' || copy === 'scope';
	return {
		name: 'scan-out',
		halfWidthMs: level ? 0 : LOW_COPY_RATIO * tickMs,
		source: level
			? 'the laptop’s two markers stand at one height; on the tablet the delay is quoted for its marker’s height'
			: 'the laptop’s marker that was read may be the low one, which its screen refreshes later',
	};
}

/** The laptop's own response cancels: it stands in both readings. */
function responseLine(): BudgetLine {
	return {
		name: 'display response',
		halfWidthMs: HALF_WAY_SHARE * RESPONSE_MS,
		source: `quoted for the centroid of the tablet’s change; its half-way point comes earlier, by ${HALF_WAY_SHARE} of the crystal’s time (about ${RESPONSE_MS} ms)`,
	};
}

function slopeLine({ meanAgeMs }: PieceMeasurement): BudgetLine {
	return {
		name: 'clip slope',
		halfWidthMs: CRYSTAL_RATIO * Math.abs(meanAgeMs),
		source: 'the phone’s crystal',
	};
}

/** In a few seconds no phase gets anywhere, and that says nothing. */
function isLong({ durationMs }: PieceMeasurement): boolean {
	return durationMs >= PHASE_SHOWS_MS;
}

function cutWarnings(cuts: readonly FilmCut[]): ClipWarning[] {
	if (cuts.length === 0) return [];
	const places = cuts.map(({ atMs, jumpMs }) => {
		const [at, by] = [atMs, Math.abs(jumpMs)].map((ms) => `${(ms / 1000).toFixed(1)} s`);
		return `after ${at} the card jumps ${jumpMs > 0 ? 'ahead' : 'back'} by ${by}`;
	});
	return [
		{
			code: 'filmCut',
			seen: `the film is cut: ${places.slice(0, 3).join(', ')}${cuts.length > 3 ? ' and so on' : ''}, and nothing is measured across that`,
			advice: 'Send the original file, uncut; if it is the original, film again in one go.',
		},
	];
}

function leftOutWarnings({ pieces, leftOutRatio }: LaptopLine, clipMs: number): ClipWarning[] {
	const paces = new Set(pieces.map(({ stretch }) => stretch)).size;
	if (paces === 1 && (leftOutRatio <= 0.02 || leftOutRatio * clipMs <= EDGES_MS)) return [];
	const share = `${Math.round(100 * leftOutRatio)} % of the clip`;
	return [
		{
			code: 'clipPartlyUsed',
			seen:
				paces > 1
					? `the clip changes its speed: its steady pieces are used, and ${share} was left out`
					: `${share} runs at no steady speed, or its card could not be read there, and was left out`,
			advice: 'Send the original file, filmed at one speed, with the card in the picture all the time.',
		},
	];
}

function warningsOf(longest: PieceMeasurement): ClipWarning[] {
	const warnings: ClipWarning[] = [];
	const { methodsApartMs, budget, unreadRatio, shown, phaseStands } = longest;
	const { curve } = shown;
	if (phaseStands && !isLong(longest))
		warnings.push({
			code: 'phaseUnseen',
			seen: `in ${(longest.durationMs / 1000).toFixed(0)} s only one phase between the laptop's screen and the scope's or the phone's pictures was seen: delay and age are known to ${(1.96 * budget.standardMs).toFixed(0)} ms and no better, and what half of the pictures and 19 in 20 of them come within (median and P95) is not told`,
			advice: 'Film 25 to 30 s in one go (320 s at the ordinary rate).',
		});
	if (phaseStands && isLong(longest))
		warnings.push({
			code: 'phaseStands',
			seen: `the scope's or the phone's pictures keep step with the laptop's screen, so that only one phase was seen: delay and age are known to ${(1.96 * budget.standardMs).toFixed(0)} ms and no better, and what half of the pictures and 19 in 20 of them come within (median and P95) is not told`,
			advice:
				'Set the laptop’s screen to another refresh rate (50, 75 or 120 Hz, or 59.94 for 60), measure it anew on the card’s page, and film again; or expose as long as a frame lasts.',
		});
	if (methodsApartMs !== null && Math.abs(methodsApartMs) > Math.max(1, 2 * budget.standardMs))
		warnings.push({
			code: 'methodsApart',
			seen: `the plain mean and the clock fit differ by ${Math.abs(methodsApartMs).toFixed(1)} ms`,
			advice: 'Film longer, at the phone’s full exposure, or at another refresh rate of the laptop.',
		});
	if (unreadRatio > 0.05)
		warnings.push({
			code: 'tabletPartlyUnread',
			seen: `the tablet's marker could not be read in ${Math.round(100 * unreadRatio)} % of the frames`,
			advice: 'Film it larger and sharper, without glare.',
		});
	if (curve.kind === 'curve' && Math.abs(curve.meanMs - longest.meanAgeMs) > 0.5 + 2 * budget.standardMs)
		warnings.push({
			code: 'curveApart',
			seen: `the rebuilt age curve's mean is ${Math.abs(curve.meanMs - longest.meanAgeMs).toFixed(1)} ms from the mean over all frames`,
			advice: 'Trust the mean more than the percentiles of this clip; film at 240 frames a second.',
		});
	return warnings;
}

/**
 * Which of a clip's markers is the laptop's and which the tablet's picture of it: the laptop's is the one ahead in ticks. Copies on
 * the laptop agree within a tick; the kit's live picture lags by its delay. From the two, how the kit shows its picture:
 * upright, turned, or a mirror image.
 */
import { TICKS } from '../pattern/markerCode.ts';
import { quantileSorted, sortSamples } from '../statistics/quantile.ts';
import type { ClipReading, MarkerTrack, NotRead } from './opticalTypes.ts';
import { type TickTrack, trackTicks } from './tickTrack.ts';

/** Copies of one screen agree within this. */
const SAME_TICKS = 1.5;
/** A track with fewer good frames than this share is no marker, or cannot be read. */
const LEAST_GOOD_RATIO = 0.25;

export type RoleTrack = { readonly track: MarkerTrack; readonly ticks: TickTrack };
export type ClipRoles = {
	readonly kind: 'roles';
	readonly laptop: RoleTrack;
	readonly tablet: RoleTrack;
	/** The laptop's low copy, where it was read beside another. */
	readonly low: RoleTrack | null;
	readonly orientation: Orientation;
};

export type Orientation = {
	/** `mirrored` first: a mirror image that is also turned is a mirror image. */
	readonly shown: 'upright' | 'turned' | 'mirrored';
	/** Clockwise turn of the tablet's picture against the card, -180 to 180. */
	readonly turnedDeg: number;
	readonly mirrored: boolean;
};

/** Less than this counts as upright: a scope's own twist in its sleeve. */
const UPRIGHT_DEG = 20;

export function assignRoles(clip: ClipReading): ClipRoles | NotRead {
	const tracks = bestWays(clip.tracks.map((track) => ({ track, ticks: trackTicks(track) })));
	const readable = tracks.filter(({ ticks }) => goodRatio(ticks) >= LEAST_GOOD_RATIO);
	if (readable.length < 2) return unreadable(readable.length, clip.tracks.length);
	const reference = readable[0]!;
	const leads = readable.map((each) => ({ each, lead: leadOver(each.ticks, reference.ticks) }));
	const furthest = Math.max(...leads.map(({ lead }) => lead));
	const onLaptop = leads.filter(({ lead }) => furthest - lead <= SAME_TICKS).map(({ each }) => each);
	const behind = leads.filter(({ lead }) => furthest - lead > SAME_TICKS).map(({ each }) => each);
	if (behind.length === 0) return noLag();
	const laptop = onLaptop.find(({ track }) => track.marker.label?.copy === 'free') ?? largest(onLaptop);
	const tablet = largest(behind);
	const low = onLaptop.find((each) => each !== laptop && each.track.marker.label?.copy === 'low') ?? null;
	if (isFrozen(tablet.ticks)) return frozen();
	return { kind: 'roles', laptop, tablet, low, orientation: orientationOf(laptop.track, tablet.track) };
}

/** Of one marker read both ways round, the way that makes sense more often. */
function bestWays(tracks: readonly RoleTrack[]): RoleTrack[] {
	return tracks.filter(({ track, ticks }) =>
		tracks.every(
			(other) =>
				other.track === track ||
				other.track.marker.pose.quad !== track.marker.pose.quad ||
				goodRatio(other.ticks) < goodRatio(ticks) ||
				(goodRatio(other.ticks) === goodRatio(ticks) && other.ticks.noise >= ticks.noise),
		),
	);
}

function goodRatio({ good }: TickTrack): number {
	return good.length === 0 ? 0 : good.reduce((sum, each) => sum + each, 0) / good.length;
}

/** Median lead in ticks, between minus and plus half a turn. */
function leadOver(ticks: TickTrack, reference: TickTrack): number {
	const leads: number[] = [];
	for (let frame = 0; frame < ticks.good.length; frame++) {
		if (ticks.good[frame] === 0 || reference.good[frame] === 0) continue;
		const apart = ticks.ticks[frame]! - reference.ticks[frame]!;
		leads.push(apart - TICKS * Math.round(apart / TICKS));
	}
	return leads.length === 0 ? 0 : quantileSorted(sortSamples(leads), 0.5);
}

function largest(tracks: readonly RoleTrack[]): RoleTrack {
	return tracks.reduce((a, b) => (b.track.marker.sidePx > a.track.marker.sidePx ? b : a));
}

function isFrozen({ ticks, good }: TickTrack): boolean {
	const read = ticks.filter((_, frame) => good[frame] === 1);
	return read.length > 0 && Math.max(...read) - Math.min(...read) < 1;
}

function orientationOf({ marker: laptop }: MarkerTrack, { marker: tablet }: MarkerTrack): Orientation {
	const apart = tablet.turnedDeg - laptop.turnedDeg;
	const turnedDeg = apart - 360 * Math.round(apart / 360);
	const mirrored = tablet.pose.mirrored !== laptop.pose.mirrored;
	return {
		shown: mirrored ? 'mirrored' : Math.abs(turnedDeg) <= UPRIGHT_DEG ? 'upright' : 'turned',
		turnedDeg,
		mirrored,
	};
}

function unreadable(readable: number, found: number): NotRead {
	return {
		kind: 'notMeasured',
		reason: 'markersUnreadable',
		explanation: `${found} markers were found and ${readable} could be read through the clip; two are needed. Film them larger and sharper, without glare, with the laptop's and the tablet's marker at the same height in the picture.`,
	};
}

function noLag(): NotRead {
	return {
		kind: 'notMeasured',
		reason: 'tabletMissing',
		explanation:
			'All markers in the clip show the same tick, so all are the laptop’s own. The tablet with the kit’s live picture must be in the picture too. If this is the kit’s own recording of the card, give it as that (--recording; on the page, choose so).',
	};
}

function frozen(): NotRead {
	return {
		kind: 'notMeasured',
		reason: 'tabletFrozen',
		explanation:
			'The picture on the tablet did not change once in the whole clip. Move the scope’s wheel slightly to see whether it lives; restart the kit’s app and film again.',
	};
}

/**
 * An optical session's clips and what each speaks for (design.md 6): fast ones (120 frames a second and more) for delay, half-second and
 * variation; the one of ordinary rate and at least 310 s for age, freezes, gaps and rate, where the spell rule binds. What is
 * missing of a session is named, and a run that does not say what its clips were holds no session at all.
 */
import type { Run } from '../observations/run.ts';
import type { NotMeasured, Warning } from './metric.ts';
import type { SegmentPictures } from './presentedPictures.ts';

const FAST_CLIPS = 3;
const FAST_LEAST_MS = 20_000;
const ORDINARY_LEAST_MS = 310_000;
/** What to film, so that enough is left when a clip's ends are taken off. */
const FILM_SECONDS = 320;
/** Instants are written to a thousandth of a millisecond, and a clip of 310 s has a first and a last frame. */
const ROUNDING_MS = 100;

/** Of the warnings of measureClip.ts: after these a film's percentiles are not told. */
const STANDING_CODES: ReadonlySet<string> = new Set(['phaseStands', 'phaseUnseen']);

export const NO_FAST_CLIP: NotMeasured = {
	kind: 'notMeasured',
	reason: 'picturesUnsettled',
	explanation:
		'In no clip had the pictures on the tablet two frames each to themselves, so the moment at which each came cannot be told. Film at 120 or 240 frames a second, and send the original file.',
};

type FilmedClip = {
	readonly name: string;
	readonly segments: Set<number>;
	observedMs: number;
	readonly fast: boolean;
};

export function isFilmed({ header }: Run): boolean {
	return header.rig === 'optical';
}

/** What is still to be filmed, each as an order; empty when the session is whole. */
export function missingFromSession(run: Run): string[] {
	const clips = filmedClips(run);
	const fast = clips.filter((clip) => clip.fast && clip.observedMs >= FAST_LEAST_MS - ROUNDING_MS).length;
	const longest = clips.reduce((most, clip) => (clip.fast ? most : Math.max(most, clip.observedMs)), 0);
	const missing: string[] = [];
	if (fast < FAST_CLIPS)
		missing.push(
			`film ${FAST_CLIPS - fast} more at 120 or 240 frames a second, 25 to 30 s each, with the kit's app restarted before each (${fast} of ${FAST_CLIPS} are there)`,
		);
	if (!isLong(longest))
		missing.push(
			`film both screens at the phone's ordinary rate, in one go, for ${FILM_SECONDS} s or more (${ORDINARY_LEAST_MS / 1000} s must be left without its ends; the longest has ${Math.floor(longest / 1000)} s)`,
		);
	if (run.events.some(({ code }) => code === 'sessionsMixed'))
		missing.push('give the clips of one session together: these show cards of different sessions');
	return missing;
}

function isLong(observedMs: number): boolean {
	return observedMs >= ORDINARY_LEAST_MS - ROUNDING_MS;
}

/** A fast film that a messenger or an editor brought down to an ordinary rate cannot be told from a short one of that rate. */
export function ordinaryTooShort(run: Run): Warning[] {
	return filmedClips(run)
		.filter(({ fast, observedMs }) => !fast && !isLong(observedMs))
		.map(({ name, observedMs }) => ({
			code: 'filmSlow',
			seen: `${name} has too few frames a second for a fast film, and its ${Math.floor(observedMs / 1000)} s are too few for the long one.`,
			advice:
				'If it was filmed at 120 or 240 frames a second, it was brought down on its way: send the original file, by cable or upload.',
		}));
}

/** Which films told what, and for which place the delay is quoted. */
export function sessionSeen(run: Run): Warning[] {
	const clips = filmedClips(run);
	const told = (fast: boolean): string => {
		const of = clips.filter((clip) => clip.fast === fast);
		const seconds = of.reduce((sum, { observedMs }) => sum + observedMs, 0) / 1000;
		return `${of.length} of ${seconds.toFixed(0)} s together`;
	};
	const fast = clips.filter((clip) => clip.fast).length;
	const starts =
		fast < 2
			? ''
			: ` The fast ones count as ${fast} starts of the kit's app: that it was closed and opened between them, films more than half a minute apart cannot tell.`;
	const quoted = run.events.find(({ code }) => code === 'quotedFor')?.detail?.replace(/^.*: /, '') ?? '';
	return [
		{
			code: 'sessionFilmed',
			seen: `Delay and its unevenness are of the fast clips (${told(true)}), everything else of the ordinary ones (${told(false)}), as far as there were both.${starts}`,
			advice: `Delay is quoted for ${quoted}.`,
		},
	];
}

/** Segments that speak for age, freezes, gaps and rate: of the ordinary clips, where there are any. */
export function segmentsForTime(run: Run, pictures: readonly SegmentPictures[]): readonly SegmentPictures[] {
	return ofRate(run, pictures, false);
}

/** Segments that speak for delay and its variation: of the fast clips, where there are any. */
export function segmentsForDelay(run: Run, pictures: readonly SegmentPictures[]): readonly SegmentPictures[] {
	return ofRate(run, pictures, true);
}

/** Segments in which the scope's lost pictures could be counted. */
export function countedSegments({ events }: Run): ReadonlySet<number> {
	return new Set(events.flatMap(({ code, segment }) => (code === 'lostCounted' ? [segment] : [])));
}

/** Segments of films in which scope and screen kept step, or that were too short to see more than one phase. */
export function standingSegments(run: Run): ReadonlySet<number> {
	const standing = new Set(
		run.events.flatMap(({ code, segment }) => (STANDING_CODES.has(code) ? [segment] : [])),
	);
	const films = filmedClips(run).filter(({ segments }) => [...segments].some((each) => standing.has(each)));
	return new Set(films.flatMap(({ segments }) => [...segments]));
}

function ofRate(run: Run, pictures: readonly SegmentPictures[], fast: boolean): readonly SegmentPictures[] {
	if (!isFilmed(run)) return pictures;
	const wanted = new Set(filmedClips(run).flatMap((clip) => (clip.fast === fast ? [...clip.segments] : [])));
	return wanted.size === 0 ? pictures : pictures.filter(({ segment }) => wanted.has(segment));
}

/** By the events that name each segment's clip: two pieces of one clip have one name. */
function filmedClips({ events, segments }: Run): FilmedClip[] {
	const clips = new Map<string, FilmedClip>();
	for (const { code, detail, segment: number } of events) {
		if (code !== 'filmedFast' && code !== 'filmedOrdinary') continue;
		const segment = segments.find((each) => each.segment === number);
		if (segment === undefined) continue;
		const name = `${code} ${detail ?? ''}`;
		const clip = clips.get(name) ?? {
			...{ name: (detail ?? '').replace(/^\d+ /, ''), segments: new Set(), observedMs: 0 },
			fast: code === 'filmedFast',
		};
		if (!clip.segments.has(number)) clip.observedMs += Math.max(0, segment.endMs - segment.startMs);
		clip.segments.add(number);
		clips.set(name, clip);
	}
	return [...clips.values()];
}

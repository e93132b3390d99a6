/**
 * What a person can do to a yard check, as plain changes of its facts; the terminal and the page both act through these. What cannot
 * be is refused with a `RangeError` whose message is told to the person as it stands.
 */
import { profileOf } from './profiles.ts';
import {
	measuredVisits,
	nextStep,
	type Place,
	planOf,
	type Wifi,
	type YardReading,
	type YardRun,
	type YardRunKind,
	type YardSession,
} from './yardSession.ts';

export type YardAct =
	| { readonly kind: 'wifi'; readonly wifi: Wifi }
	| { readonly kind: 'minutes'; readonly minutes: number }
	/** As typed: `box door, 4 m, 1.2 m`. */
	| { readonly kind: 'addPlace'; readonly text: string }
	| { readonly kind: 'dropPlace'; readonly place: number }
	| { readonly kind: 'rename'; readonly place: number; readonly name: string }
	| { readonly kind: 'placesNamed' }
	| { readonly kind: 'channel'; readonly text: string; readonly advice?: readonly string[] }
	/** A run besides the plan, at any place. */
	| { readonly kind: 'want'; readonly run: YardRunKind; readonly place: number }
	| { readonly kind: 'noteWalk'; readonly runId: string; readonly note: NonNullable<YardRun['note']> }
	| { readonly kind: 'stop' | 'goOn' | 'backAtKit' };

const MOST_MINUTES = 480;
const MOST_NAME = 80;
/** Of the minutes at the best place, for connecting and warming up. */
const WARM_UP_MIN = 0.5;

export function applyAct(session: YardSession, act: YardAct): YardSession {
	switch (act.kind) {
		case 'wifi':
			return { ...session, wifi: act.wifi };
		case 'minutes':
			if (!(act.minutes > 0 && act.minutes <= MOST_MINUTES))
				throw new RangeError(`Between 1 and ${MOST_MINUTES} minutes, not ${act.minutes}.`);
			return { ...session, minutes: act.minutes };
		case 'addPlace':
			return addPlace(session, act.text);
		case 'dropPlace':
			return dropPlace(session, act.place);
		case 'rename':
			return renamePlace(session, act.place, act.name);
		case 'placesNamed':
			if (session.places.length === 0) throw new RangeError('Name one place at least.');
			return { ...session, placesNamed: true };
		case 'channel':
			return {
				...session,
				channel: act.text.trim().slice(0, MOST_NAME),
				channelAdvice: [...(act.advice ?? [])],
			};
		case 'want':
			nameOf(session, act.place);
			// Asking for more takes a check that was stopped, or done, up again.
			return {
				...takenUp(session),
				wanted: [...session.wanted, { kind: act.run, place: act.place }],
			};
		case 'noteWalk':
			return {
				...session,
				walkRuns: session.walkRuns.map((run) => (run.runId === act.runId ? { ...run, note: act.note } : run)),
			};
		case 'stop':
			return { ...session, stopped: true, wanted: [] };
		case 'goOn':
			return takenUp(session);
		default:
			return { ...session, backAtKit: true };
	}
}

/** A check that was stopped, or done, goes on: what its answer had shown by then is kept in mind (places.ts). */
export function takenUp(session: YardSession): YardSession {
	const wasShown = ['backToKit', 'done'].includes(nextStep(session).kind);
	const count = measuredVisits(session).length;
	return {
		...session,
		shownAfter: wasShown ? [...session.shownAfter, count] : session.shownAfter,
		...{ stopped: false, backAtKit: false },
	};
}

/** `box door, 4 m, 1.2 m`; distance and height may be left out. Null for no name. */
export function readPlace(text: string): Place | null {
	const [name = '', ...sizes] = text.split(/[,;]/).map((part) => part.trim());
	if (name === '' || name.length > MOST_NAME) return null;
	const [distanceM, heightM] = sizes.map((size) => {
		const metres = Number(/^(\d+(?:\.\d+)?)\s*m?$/i.exec(size)?.[1] ?? Number.NaN);
		return metres >= 0 ? metres : null;
	});
	return { name, distanceM: distanceM != null && distanceM > 0 ? distanceM : null, heightM: heightM ?? null };
}

/** A place that has a name already is the same place: nothing changes. */
function addPlace(session: YardSession, text: string): YardSession {
	const place = readPlace(text);
	if (place === null) throw new RangeError(`"${text}" names no place.`);
	if (session.places.some(({ name }) => name === place.name)) return session;
	return { ...session, places: [...session.places, place], backAtKit: false };
}

function dropPlace(session: YardSession, place: number): YardSession {
	const name = nameOf(session, place);
	if (runCount(session) > 0)
		throw new RangeError(`${name} stays: runs were made. A wrong name can be put right.`);
	return { ...session, places: session.places.filter((_, i) => i !== place), wanted: [] };
}

/** A place's name put right, everywhere. */
export function renamePlace(session: YardSession, place: number, text: string): YardSession {
	nameOf(session, place);
	const name = text.trim();
	if (name === '' || name.length > MOST_NAME) throw new RangeError(`"${text}" is no name for a place.`);
	if (session.places.some((other, i) => i !== place && other.name === name))
		throw new RangeError(`Another place is called ${name}.`);
	return { ...session, places: session.places.map((old, i) => (i === place ? { ...old, name } : old)) };
}

function nameOf({ places }: YardSession, place: number): string {
	const found = places[place];
	if (found === undefined) throw new RangeError(`There is no place ${place + 1}.`);
	return found.name;
}

const LISTS = {
	visit: 'visits',
	verdict: 'verdictRuns',
	company: 'companyRuns',
	walk: 'walkRuns',
	endurance: 'enduranceRuns',
} as const;

function runCount(session: YardSession): number {
	return Object.values(LISTS).reduce((sum, list) => sum + session[list].length, 0);
}

const PROFILE_OF = {
	visit: 'brief',
	verdict: 'verdict',
	company: 'brief',
	walk: 'brief',
	endurance: 'long',
} as const;
/** Long enough for a tablet to get warm; a battery takes longer: common practice, no source. */
const ENDURANCE_MS = 1_800_000;

export type BegunRun = {
	readonly session: YardSession;
	readonly run: YardRun;
	readonly kind: YardRunKind;
	readonly place: Place;
	readonly profile: 'brief' | 'verdict' | 'long';
	/** The profile's; for the run that answers as much more as there is time; half an hour to see what changes. */
	readonly observedMs: number;
};

/** The next run as begun: keep its session before anything is measured, so that a cut shows. */
export function beginRun(
	session: YardSession,
	{ kind, place: index }: { readonly kind: YardRunKind; readonly place: number },
): BegunRun {
	const place = session.places[index];
	if (place === undefined) throw new RangeError(`There is no place ${index + 1}.`);
	const run: YardRun = {
		place: index,
		runId: `${session.name}-${runCount(session) + 1}-${kind}`,
		state: 'begun',
		reading: null,
		note: null,
	};
	const profile = PROFILE_OF[kind];
	const { observedMs } = profileOf(profile);
	const freeMs =
		kind === 'verdict'
			? (planOf(session).verdictMin - WARM_UP_MIN) * 60_000
			: kind === 'endurance'
				? ENDURANCE_MS
				: 0;
	return {
		...{ run, kind, place },
		session: { ...session, [LISTS[kind]]: [...session[LISTS[kind]], run] },
		profile,
		observedMs: Math.max(observedMs, freeMs),
	};
}

/** The run's end, in `session` as it is by now; null: nothing could be measured. A wanted run is wanted no longer. */
export function endRun(
	session: YardSession,
	{ run, kind }: Pick<BegunRun, 'run' | 'kind'>,
	reading: YardReading | null,
): YardSession {
	const ended: YardRun = { ...run, state: reading === null ? 'nothingMeasured' : 'done', reading };
	const [first, ...others] = session.wanted;
	const wasWanted = first !== undefined && first.kind === kind && first.place === run.place;
	return {
		...session,
		wanted: wasWanted ? others : session.wanted,
		[LISTS[kind]]: session[LISTS[kind]].map((one) => (one.runId === run.runId ? ended : one)),
	};
}

/**
 * One yard check as facts and nothing else: what was asked, named, measured, chosen. The next step follows from the facts alone, so
 * that a closed lid, a dead tablet or a cut at any step loses at most the run that was under way.
 */
import { z } from 'zod';
import { type PlaceRanking, rankPlaces } from './places.ts';
import { planYard, type YardPlan } from './yardPlan.ts';

export const YARD_FORMAT = 'steerworthy-yard';
export const YARD_VERSION = 1;

/** Whose Wi-Fi: the kit's own, an access point that both join, or the laptop's. `shutOut`: the laptop cannot join, or cannot reach the tablet. */
export const WIFI = ['kit', 'shared', 'laptop', 'shutOut'] as const;
export type Wifi = (typeof WIFI)[number];

const placeSchema = z.object({
	name: z.string().min(1).max(80),
	distanceM: z.number().positive().nullable(),
	heightM: z.number().nonnegative().nullable(),
});
export type Place = z.infer<typeof placeSchema>;

/** Of a viewer (metrics/viewerDevice.ts); null: it does not say, or the check is older than the question. */
const deviceSchema = z
	.object({ system: z.string(), browser: z.string(), displayHz: z.number().positive().nullable() })
	.nullable()
	.default(null);

const readingSchema = z.object({
	/** What was judged, when (the laptop's clock, for people) and how long it was observed; null: a check older than the question. */
	made: z
		.object({ subject: z.string(), startedAt: z.string(), observedS: z.number().nonnegative() })
		.nullable()
		.default(null),
	overLimitRatio: z.number().min(0).max(1),
	effectiveCount: z.number().nonnegative(),
	/** The run's own headline, as its report says it. */
	headline: z.string(),
	/** Required lines that this visit alone shows not met, by their labels. */
	against: z.array(z.string()),
	/** What repeats, the surest first (metrics/repeating.ts); null: it could not be looked for. */
	repeats: z
		.array(
			z.object({
				periodS: z.number().positive(),
				periodUncertaintyS: z.number().nonnegative(),
				falseAlarmRatio: z.number().min(0).max(1),
				strengthRatio: z.number().min(0).max(1),
				bothWays: z.boolean(),
				carriedBy: z.enum(['probes', 'pictures']),
			}),
		)
		.nullable(),
	/** Each way's packets (metrics/air.ts). */
	air: z.array(
		z.object({
			way: z.enum(['toViewer', 'toBench']),
			carriedBy: z.enum(['probes', 'pictures']),
			sent: z.number().int(),
			lostRatio: z.number().min(0).max(1),
			pdvP95Ms: z.number().nonnegative(),
			burstCount: z.number().int(),
			longestBurstMs: z.number().nonnegative(),
			reordered: z.number().int(),
			/** Packets lost in a row, and that come between two such runs, by a Gilbert chain; null: too few to say, or an older check. */
			gilbert: z
				.object({ meanBurst: z.number().positive(), meanGap: z.number().positive() })
				.nullable()
				.default(null),
			/** Of the losses, those within 16 packets of another (RFC 3357). */
			closeLossRatio: z.number().min(0).max(1).nullable().default(null),
		}),
	),
	/** Fresh delay of the run; null where it was not measured. */
	delay: z
		.object({ medianMs: z.number(), p95Ms: z.number(), uncertaintyMs: z.number().nonnegative() })
		.nullable(),
	device: deviceSchema,
	/** Of the three: `yes` only from a verdict run. */
	steer: z.enum(['yes', 'no', 'undetermined', 'notAsked']),
	order: z.string(),
	/** By how many looked on besides (metrics/company.ts); empty where nobody did. */
	company: z
		.array(
			z.object({
				others: z.number().int().nonnegative(),
				seconds: z.number().nonnegative(),
				overLimitRatio: z.number().min(0).max(1),
				ageMeanMs: z.number(),
				delayMedianMs: z.number(),
			}),
		)
		.default([]),
	/** A long run by its stretches, and what moved in it (metrics/endurance.ts); null: another run, or too short for that. */
	overTime: z
		.object({
			minutes: z.number().positive(),
			rows: z.array(
				z.object({
					atMs: z.number(),
					delayMs: z.number().nullable(),
					ageMs: z.number().nullable(),
					lostRatio: z.number().nullable(),
					colour: z.number().nullable(),
				}),
			),
			changes: z.array(
				z.object({
					quantity: z.enum(['delayMs', 'ageMs', 'lostRatio', 'colour']),
					atMs: z.number(),
					before: z.number(),
					after: z.number(),
				}),
			),
		})
		.nullable()
		.default(null),
	/** Where the picture stood for a second or more, and how it came back (metrics/linkBreaks.ts). */
	breaks: z
		.array(
			z.object({
				atMs: z.number(),
				lengthMs: z.number().nonnegative(),
				steadyAfterMs: z.number().nullable(),
			}),
		)
		.default([]),
});
export type YardReading = z.infer<typeof readingSchema>;

const runSchema = z.object({
	place: z.number().int().nonnegative(),
	runId: z.string(),
	/** `begun` in a file that is read again means that it was cut off. */
	state: z.enum(['begun', 'done', 'nothingMeasured']),
	reading: readingSchema.nullable(),
	/** Of a walk: how far the person was when the picture stood, and whether the kit's own app warned on the same way. */
	note: z
		.object({ distanceM: z.number().positive().nullable(), warned: z.enum(['yes', 'no', 'notTried']) })
		.nullable()
		.default(null),
});
export type YardRun = z.infer<typeof runSchema>;

/** Place of a run among all that were begun: its name carries it (yardActs.ts); 0 where it does not. */
export function turnOf({ runId }: YardRun): number {
	return Number(/-(\d+)-[a-z]+$/.exec(runId)?.[1] ?? 0);
}

/**
 * A visit for two minutes; the run that answers; two minutes while others come and go; two minutes of walking away and back; half an
 * hour to see what changes.
 */
const YARD_RUN_KINDS = ['visit', 'verdict', 'company', 'walk', 'endurance'] as const;
export type YardRunKind = (typeof YARD_RUN_KINDS)[number];

export const yardSchema = z.object({
	format: z.literal(YARD_FORMAT),
	version: z.number().int(),
	name: z.string(),
	startedAt: z.string(),
	wifi: z.enum(WIFI).nullable(),
	minutes: z.number().positive().nullable(),
	/** As typed; null: not asked yet; empty: not known. */
	channel: z.string().nullable(),
	/** What was said of the channel when it was named, with what could be heard then. */
	channelAdvice: z.array(z.string()).default([]),
	places: z.array(placeSchema),
	placesNamed: z.boolean(),
	visits: z.array(runSchema),
	/** Runs at the chosen place, each fresh: the visits that chose it are not in them. */
	verdictRuns: z.array(runSchema),
	/** Runs with others looking on: in no ranking and no answer, told beside it. */
	companyRuns: z.array(runSchema).default([]),
	walkRuns: z.array(runSchema).default([]),
	enduranceRuns: z.array(runSchema).default([]),
	/** Runs that the person asked for besides the plan, first first. */
	wanted: z
		.array(z.object({ kind: z.enum(YARD_RUN_KINDS), place: z.number().int().nonnegative() }))
		.default([]),
	/** Fresh delay of this tablet at home, to stand beside; null: none given. */
	home: z
		.object({
			runId: z.string(),
			startedAt: z.string().nullable().default(null),
			medianMs: z.number(),
			p95Ms: z.number(),
			uncertaintyMs: z.number().nonnegative(),
			device: deviceSchema,
		})
		.nullable()
		.default(null),
	/** How many visits had been measured, each time that the answer was shown and more was asked for. */
	shownAfter: z.array(z.number().int().nonnegative()).default([]),
	/** Runs that were an hour old and more when the check was opened last: the air has had time to change. */
	staleRuns: z.array(z.string()).default([]),
	/** The person asked to stop and be told. */
	stopped: z.boolean(),
	backAtKit: z.boolean(),
});
export type YardSession = z.infer<typeof yardSchema>;

export function newYardSession(name: string, startedAt: string): YardSession {
	return {
		format: YARD_FORMAT,
		version: YARD_VERSION,
		...{
			name,
			startedAt,
			wifi: null,
			minutes: null,
			channel: null,
			channelAdvice: [],
			places: [],
			placesNamed: false,
		},
		...{ visits: [], verdictRuns: [], companyRuns: [], walkRuns: [], enduranceRuns: [] },
		...{ wanted: [], home: null },
		...{ shownAfter: [], staleRuns: [], stopped: false, backAtKit: false },
	};
}

export type YardStep =
	| {
			readonly kind:
				| 'askWifi'
				| 'askMinutes'
				| 'askChannel'
				| 'askPlaces'
				| 'filmInstead'
				| 'backToKit'
				| 'done';
	  }
	| { readonly kind: YardRunKind; readonly place: number };

/** A run that measured nothing is tried again so often. */
const MOST_TRIES = 2;

export function nextStep(session: YardSession): YardStep {
	if (session.backAtKit) return { kind: 'done' };
	if (session.stopped) return { kind: 'backToKit' };
	if (session.wifi === null) return { kind: 'askWifi' };
	if (session.minutes === null) return { kind: 'askMinutes' };
	if (!session.placesNamed || session.places.length === 0) return { kind: 'askPlaces' };
	if (session.wifi === 'shutOut') return { kind: 'filmInstead' };
	if (session.channel === null) return { kind: 'askChannel' };
	const [wanted] = session.wanted;
	if (wanted !== undefined) return wanted;
	const visit = nextVisit(session);
	if (visit !== null) return { kind: 'visit', place: visit };
	const { verdictMin } = planOf(session);
	const settled =
		session.verdictRuns.some(({ state }) => state === 'done') || tries(session.verdictRuns) >= MOST_TRIES;
	if (verdictMin === 0 || settled) return { kind: 'backToKit' };
	return { kind: 'verdict', place: chosenPlace(session) };
}

export function planOf({ minutes, places }: YardSession): YardPlan {
	return planYard(minutes ?? 20, Math.max(1, places.length));
}

/** By turns: the place with the fewest visits, the first of equals. */
function nextVisit(session: YardSession): number | null {
	const { rounds, placesVisited } = planOf(session);
	if (placesVisited === 0) return null;
	const counts = session.places.slice(0, placesVisited).map((_, place) => {
		const runs = session.visits.filter((visit) => visit.place === place);
		const done = runs.filter(({ state }) => state === 'done').length;
		// What cannot be measured twice is passed over, as if it had been visited.
		return tries(runs) >= MOST_TRIES ? rounds : done;
	});
	const fewest = Math.min(...counts);
	return fewest >= rounds ? null : counts.indexOf(fewest);
}

function tries(runs: readonly YardRun[]): number {
	return runs.filter(({ state }) => state === 'nothingMeasured').length;
}

/** The best by its visits, else the first that was not found unmeasurable. */
export function chosenPlace(session: YardSession): number {
	const best = rankingOf(session).order[0];
	return best === undefined ? 0 : session.places.findIndex(({ name }) => name === best.place);
}

export function rankingOf(session: YardSession): PlaceRanking {
	const { places, shownAfter } = session;
	return rankPlaces(
		measuredVisits(session).map(({ place, reading }) => ({
			place: places[place]?.name ?? '?',
			overLimitRatio: reading.overLimitRatio,
			effectiveCount: reading.effectiveCount,
		})),
		shownAfter,
	);
}

/** In the order in which they were made. */
export function measuredVisits({
	visits,
}: Pick<YardSession, 'visits'>): (YardRun & { readonly reading: YardReading })[] {
	return visits.flatMap((run) =>
		run.state === 'done' && run.reading !== null ? [{ ...run, reading: run.reading }] : [],
	);
}

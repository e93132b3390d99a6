/**
 * What a yard check says, as plain paragraphs: for the terminal and for the page to show or print. Computes no figure; names no
 * device as found, and sends nobody to someone else's fence.
 */
import type { YardPlan } from '../verdict/yardPlan.ts';
import {
	rankingOf,
	type Wifi,
	type YardReading,
	type YardRunKind,
	type YardSession,
} from '../verdict/yardSession.ts';
import { breakWords, NEVER_STOOD, overTimeWords } from './enduranceWords.ts';
import { formatMs, formatShare } from './numbers.ts';
import { type CausesOf, repeatWords } from './repeatWords.ts';
import type { Section } from './wordSection.ts';
import { answeringRun, answerWords } from './yardAnswer.ts';
import { besideHome } from './yardHome.ts';

export const WIFI_WORDS: Readonly<Record<Wifi, string>> = {
	kit: "the kit's own network",
	shared: 'a network of the place, which the kit, the tablet and this laptop have joined',
	laptop: "this laptop's own network",
	shutOut: 'this laptop cannot join it, or cannot reach the tablet over it',
};

export const ROLES: readonly string[] = [
	"Assistant: the laptop, at the place and height of the scope's handle.",
	'Clinician: the tablet, where you will look at it.',
	'Horse and handler: where they will stand. A body in the way is part of the air. Before sedation.',
];

export const FILM_INSTEAD: readonly string[] = [
	'This laptop and the tablet cannot reach each other here, so the air between them cannot be sounded.',
	"Instead: at the place you would choose, look through the scope at the laptop's card and film both screens for 40 s in one go: 30 s must be left when the ends are taken off, and less says nothing (steerworthy card --serve, then steerworthy optical; or on the laptop's page). It can only say no: it may show what rules this place out, never that you may steer.",
];

const MAY_BE_SHUT_OUT =
	'No run measured anything. Either the tablet was not there, or this network keeps its devices from one another; then look whether another Wi-Fi joins both.';

/** The last screen, always. */
export const BACK_TO_THE_KIT: readonly string[] = [
	'Nothing of ours is sending any more.',
	"Put the tablet back on the kit's own Wi-Fi, and close other apps.",
	'Move the tip, and see the picture move.',
	'Was the kit restarted or moved since the run? Then what was measured is not what you have now: look for 30 s by eye; to have it judged, run the check again first.',
	'Only then go on.',
];

export function planWords({
	minutes,
	setUpMin,
	rounds,
	placesVisited,
	visitMin,
	verdictMin,
	backMin,
	caution,
}: YardPlan): string[] {
	const visits =
		rounds === 0
			? 'no visits to compare'
			: `${visitMin} min a place for ${placesVisited} place${placesVisited === 1 ? '' : 's'}${rounds === 1 ? '' : `, ${rounds} times by turns`}`;
	const where = rounds === 0 ? 'the first place named' : 'the best';
	const best = verdictMin === 0 ? 'no time for a run that could say yes' : `${verdictMin} min at ${where}`;
	return [
		`${minutes} min: ${setUpMin} to set up, ${visits}, ${best}, ${backMin} back to the kit. Stop now and tell me: at any time.`,
		...(caution === null ? [] : [caution]),
	];
}

/** What the next run is, for whoever stands ready. */
export function runWords(kind: YardRunKind, { visitMin, verdictMin }: YardPlan): string {
	if (kind === 'visit') return `visit, ${visitMin} minutes`;
	if (kind === 'verdict')
		return verdictMin === 0 ? 'the run that answers' : `the run that answers, ${verdictMin} minutes`;
	if (kind === 'endurance') return 'half an hour, to see what changes: heat, battery, channel';
	return kind === 'company'
		? `${visitMin} minutes while a second and a third tablet look on, coming and going`
		: `${visitMin} minutes: walk away with the tablet until the picture stands, wait there, come back`;
}

/** The whole answer so far; whatever was measured is told, however early it was stopped. */
export function yardSections(session: YardSession, causesOf: CausesOf): Section[] {
	const sections: Section[] = [{ title: 'May I steer?', items: answerWords(session) }];
	const places = placeWords(session);
	if (places.length > 0) sections.push({ title: 'The places', items: places });
	const read = placesRead(session);
	if (read.length > 0) {
		sections.push({
			title: 'The air',
			items: read.flatMap(({ name, readings }) => airWords(name, readings.at(-1)!)),
		});
		sections.push({ title: 'What repeats', items: repeatWords(read, causesOf) });
	}
	if (session.channelAdvice.length > 0) sections.push({ title: 'The channel', items: session.channelAdvice });
	const walks = walkWords(session);
	if (walks.length > 0) sections.push({ title: 'Walking away', items: walks });
	const overTime = enduranceWords(session);
	if (overTime.length > 0) sections.push({ title: 'Half an hour', items: overTime });
	const company = companyWords(session);
	if (company.length > 0) sections.push({ title: 'With others looking on', items: company });
	const home = besideHome(session.home, answeringRun(session));
	if (home.length > 0) sections.push({ title: 'Beside the reading at home', items: home });
	if (isShutOut(session))
		sections.push({ title: 'A film instead', items: [MAY_BE_SHUT_OUT, ...FILM_INSTEAD] });
	return sections;
}

/** Tried, and nobody ever came: what the person cannot know beforehand of a network that parts its guests. */
function isShutOut({ visits, verdictRuns }: YardSession): boolean {
	const runs = [...visits, ...verdictRuns];
	return runs.some(({ state }) => state === 'nothingMeasured') && runs.every(({ state }) => state !== 'done');
}

function placeWords(session: YardSession): string[] {
	const { order, pairs, looks } = rankingOf(session);
	const read = placesRead(session);
	const unmeasured = session.places
		.filter((place) => !read.some(({ name }) => name === place.name))
		.map(({ name }) => `${name}: not measured.`);
	if (order.length === 0) return read.length === 0 ? [] : unmeasured;
	const [best] = order;
	const isOld = session.visits.some(({ runId }) => session.staleRuns.includes(runId));
	const rows = order.map(({ place, meanRatio, visits }) => {
		const at = session.places.find(({ name }) => name === place);
		const where = [
			at?.distanceM == null ? '' : `${at.distanceM} m away`,
			at?.heightM == null ? '' : `${at.heightM} m high`,
		];
		const told = where.filter((words) => words !== '').join(', ');
		return `${place}${told === '' ? '' : ` (${told})`}: picture too old ${formatShare(meanRatio)} of the time, in ${visits} visit${visits === 1 ? '' : 's'}.`;
	});
	const against = order.flatMap(({ place }) => {
		const lines = new Set(
			session.visits.flatMap((visit) =>
				session.places[visit.place]?.name === place ? (visit.reading?.against ?? []) : [],
			),
		);
		return lines.size === 0 ? [] : [`Against ${place}: ${[...lines].join('; ')}.`];
	});
	const judged = pairs.map(({ first, second, answer, because }) =>
		answer === 'firstBetter'
			? `${first} is better than ${second}: ${because}.`
			: `${first} and ${second}: ${because}.`,
	);
	return [
		`Look longer first at: ${best?.place ?? ''}.`,
		...rows,
		...against,
		...judged,
		...(looks === 1
			? []
			: [
					`Visits were made after an answer had been shown: this is look ${looks}. Each look asks for a clearer difference than the one before, so that going on until one place wins does not make it better.`,
				]),
		...(isOld ? [OLD_VISITS] : []),
		...unmeasured,
	];
}

const OLD_VISITS =
	'Visits here were made an hour ago and more. Do not set new ones against them: begin a new check.';

/** Told beside the answer, never in it. */
function companyWords({ companyRuns, places }: YardSession): string[] {
	return companyRuns.flatMap(({ state, place, reading }) => {
		if (state !== 'done' || reading === null) return [];
		const name = places[place]?.name ?? '?';
		if (reading.company.length === 0)
			return [`${name}: nobody looked on for 5 s or more, so nothing is known of company.`];
		return reading.company.map(({ others, seconds, overLimitRatio, ageMeanMs, delayMedianMs }) => {
			const who = others === 0 ? 'alone' : `with ${others} more looking on`;
			return `${name}, ${who} (${seconds.toFixed(0)} s): picture too old ${formatShare(overLimitRatio)} of the time, ${formatMs(ageMeanMs)} old on average; delay ${formatMs(delayMedianMs)} in the middle.`;
		});
	});
}

function enduranceWords({ enduranceRuns, places }: YardSession): string[] {
	return enduranceRuns.flatMap(({ state, place, reading }) => {
		if (state !== 'done' || reading === null) return [];
		const name = places[place]?.name ?? '?';
		if (reading.overTime === null) return [`${name}: too short to say what changes over time.`];
		const breaks = reading.breaks.length === 0 ? [NEVER_STOOD] : reading.breaks.map(breakWords);
		return [`${name}: ${reading.headline}.`, ...overTimeWords(reading.overTime), ...breaks];
	});
}

function walkWords({ walkRuns, places }: YardSession): string[] {
	return walkRuns.flatMap(({ state, place, reading, note }) => {
		if (state !== 'done' || reading === null) return [];
		const { breaks } = reading;
		const far = note?.distanceM == null ? '' : ` It stood at about ${note.distanceM} m, as noted.`;
		const warned = WARNED_WORDS[note?.warned ?? 'notTried'];
		const stood = breaks.length === 0 ? [NEVER_STOOD] : breaks.map(breakWords);
		return [`From ${places[place]?.name ?? '?'}: ${stood.join(' ')}${far} ${warned}`];
	});
}

const WARNED_WORDS = {
	yes: 'The kit’s own app warned on that way.',
	no: 'The kit’s own app did not warn: look for a standing picture yourself.',
	notTried: 'Whether the kit’s own app warns was not tried.',
} as const;

type MeasuredPlace = { readonly name: string; readonly readings: readonly YardReading[] };

/** Every measured place with its visits and its runs that answer, the latest last. */
function placesRead({ places, visits, verdictRuns, enduranceRuns }: YardSession): MeasuredPlace[] {
	return places.flatMap(({ name }, i) => {
		const readings = [...visits, ...verdictRuns, ...enduranceRuns].flatMap(({ place, state, reading }) =>
			place === i && state === 'done' && reading !== null ? [reading] : [],
		);
		return readings.length === 0 ? [] : [{ name, readings }];
	});
}

export function airWords(name: string, { air }: Pick<YardReading, 'air'>): string[] {
	return air.map((row) => {
		const { way, carriedBy, sent, lostRatio, pdvP95Ms, burstCount, longestBurstMs, reordered } = row;
		const direction = way === 'toViewer' ? 'to the tablet' : 'back from the tablet';
		const bursts =
			burstCount === 0
				? 'no bursts of loss'
				: `${burstCount} bursts of loss, the longest ${formatMs(longestBurstMs)}`;
		const order = reordered === 0 ? '' : `; ${reordered} overtaken on the way`;
		return `${name}, ${direction} (${sent} ${carriedBy === 'probes' ? 'small packets' : 'pictures'}): ${formatShare(lostRatio)} lost, 19 times in 20 at most ${formatMs(pdvP95Ms)} later than the fastest; ${bursts}${order}.${lossWords(row)}`;
	});
}

/** How losses lie: singly, or in runs that a picture does not survive. */
function lossWords({ gilbert, closeLossRatio, carriedBy }: YardReading['air'][number]): string {
	const what = carriedBy === 'probes' ? 'packets' : 'pictures';
	const close =
		closeLossRatio === null
			? ''
			: ` ${formatShare(closeLossRatio)} of the lost ones lie within 16 of another.`;
	return gilbert === null
		? close
		: ` Losses: ${gilbert.meanBurst.toFixed(1)} in a row on average, about once in ${gilbert.meanGap.toFixed(0)} ${what}.${close}`;
}

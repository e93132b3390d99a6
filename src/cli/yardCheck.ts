/**
 * The course of a yard check: asks, measures, keeps after every step, tells. Which step comes next is the session's own
 * (verdict/yardSession.ts); here it is only walked, so that it can be cut and taken up again anywhere.
 */
import { candidateCauses } from '../metrics/repeatCauses.ts';
import {
	FILM_INSTEAD,
	planWords,
	ROLES,
	type Section,
	WIFI_WORDS,
	yardSections,
} from '../report/yardWords.ts';
import { adviseOnChannel, readTypedChannel } from '../rigs/air/channelAdvice.ts';
import { mhzToChannel } from '../rigs/air/channels.ts';
import type { SeenAir } from '../rigs/air/lookAtAir.ts';
import {
	nextStep,
	type Place,
	planOf,
	WIFI,
	type YardReading,
	type YardRun,
	type YardSession,
	type YardStep,
} from '../verdict/yardSession.ts';

export type Measured = {
	readonly place: Place;
	readonly runId: string;
	readonly profile: 'brief' | 'verdict';
	readonly minutes: number;
};

export type YardDoors = {
	/** Null: no more answers, or "stop". */
	readonly ask: (question: string) => Promise<string | null>;
	readonly tell: (section: Section) => void;
	/** A run at a place; null: nothing could be measured. Rejects only when the program itself must end. */
	readonly measure: (what: Measured) => Promise<YardReading | null>;
	/** The person pressed stop. */
	readonly isStopped: () => boolean;
	readonly keep: (session: YardSession) => Promise<void>;
	readonly air: () => Promise<SeenAir | null>;
	/** The channel as given beforehand; null: not given. */
	readonly typedChannel: string | null;
	/** Beside the tablet's reading at home, in words; null where none was given. */
	readonly home: (reading: YardReading) => string | null;
};

/** Walks until nothing is left to do; gives the session as kept last. */
export async function walkYard(begun: YardSession, doors: YardDoors): Promise<YardSession> {
	let session = begun;
	let planTold = false;
	for (;;) {
		if (doors.isStopped() && !session.stopped && !session.backAtKit) {
			session = { ...session, stopped: true };
			await doors.keep(session);
		}
		const step = nextStep(session);
		if (step.kind === 'done') return session;
		if (!planTold && (step.kind === 'askChannel' || 'place' in step)) {
			planTold = true;
			doors.tell({ title: 'The plan', items: planWords(planOf(session)) });
			doors.tell({ title: 'Who stands where', items: ROLES });
		}
		session = await take(step, session, doors);
		await doors.keep(session);
	}
}

async function take(step: YardStep, session: YardSession, doors: YardDoors): Promise<YardSession> {
	switch (step.kind) {
		case 'askWifi':
			return askWifi(session, doors);
		case 'askMinutes':
			return askMinutes(session, doors);
		case 'askPlaces':
			return askPlaces(session, doors);
		case 'askChannel':
			return askChannel(session, doors);
		case 'visit':
		case 'verdict':
			return measureAt(step, session, doors);
		case 'filmInstead':
			doors.tell({ title: 'A film instead', items: FILM_INSTEAD });
			return { ...session, stopped: true };
		default:
			for (const section of answerOf(session, doors)) doors.tell(section);
			return { ...session, backAtKit: true };
	}
}

/** All that is known so far. */
export function answerOf(session: YardSession, doors: Pick<YardDoors, 'home'>): Section[] {
	const run = session.verdictRuns.find(({ state }) => state === 'done');
	return yardSections(session, candidateCauses, run?.reading == null ? null : doors.home(run.reading));
}

async function askWifi(session: YardSession, doors: YardDoors): Promise<YardSession> {
	const choices = WIFI.map((wifi, i) => `${i + 1} ${WIFI_WORDS[wifi]}`);
	doors.tell({ title: 'Whose Wi-Fi is it?', items: choices });
	for (;;) {
		const answer = await doors.ask('1 to 4');
		if (isStop(answer)) return { ...session, stopped: true };
		const wifi = WIFI[Number(answer) - 1] ?? WIFI.find((name) => name === answer);
		if (wifi !== undefined) return { ...session, wifi };
	}
}

async function askMinutes(session: YardSession, doors: YardDoors): Promise<YardSession> {
	for (;;) {
		const answer = await doors.ask('How long have you got, in minutes? (20)');
		if (isStop(answer)) return { ...session, stopped: true };
		const minutes = answer === '' ? 20 : Number(answer);
		if (minutes > 0 && minutes <= 480) return { ...session, minutes };
	}
}

async function askPlaces(session: YardSession, doors: YardDoors): Promise<YardSession> {
	const places: Place[] = [...session.places];
	doors.tell({
		title: 'The places',
		items: [
			'One a line: its name, how far the scope is from the tablet, how high; as in "box door, 4 m, 1.2 m".',
			'An empty line ends the list.',
		],
	});
	for (;;) {
		const answer = await doors.ask(`Place ${places.length + 1}`);
		if (isStop(answer)) return { ...session, places, stopped: true };
		if (answer === '' && places.length > 0) break;
		const place = readPlace(answer);
		if (place !== null && !places.some(({ name }) => name === place.name)) places.push(place);
	}
	return { ...session, places, placesNamed: true };
}

/** `box door, 4 m, 1.2 m`; distance and height may be left out. Null for no name. */
export function readPlace(text: string): Place | null {
	const [name = '', ...sizes] = text.split(/[,;]/).map((part) => part.trim());
	if (name === '' || name.length > 80) return null;
	const [distanceM, heightM] = sizes.map((size) => {
		const metres = Number(/^(\d+(?:\.\d+)?)\s*m?$/i.exec(size)?.[1] ?? Number.NaN);
		return metres >= 0 ? metres : null;
	});
	return { name, distanceM: distanceM != null && distanceM > 0 ? distanceM : null, heightM: heightM ?? null };
}

async function askChannel(session: YardSession, doors: YardDoors): Promise<YardSession> {
	const seen = await doors.air();
	const freqMHz = seen?.link?.freqMHz ?? null;
	const joined = freqMHz === null ? null : mhzToChannel(Math.round(freqMHz));
	const own = seen?.heard?.find((network) => network.joined);
	const known = own ?? (joined === null ? null : readTypedChannel(`${joined.band} GHz ${joined.channel}`));
	const answer =
		known == null
			? (doors.typedChannel ?? (await doors.ask('Channel of the Wi-Fi, as in 6 or 36@80 (empty: not known)')))
			: null;
	if (known == null && answer === null) return { ...session, stopped: true };
	const channel = known ?? readTypedChannel(answer ?? '');
	if (channel == null) return { ...session, channel: answer ?? '' };
	const heard = seen?.heard?.filter((network) => !network.joined) ?? null;
	const advice = adviseOnChannel(channel, heard);
	const items = advice.map(({ seen: what, advice: todo }) => `${sentence(what)} ${todo}`);
	if (items.length > 0) doors.tell({ title: 'The channel', items });
	return {
		...session,
		channel: answer ?? `${channel.band} GHz ${channel.channel}@${channel.takes.widthMHz}`,
	};
}

function sentence(text: string): string {
	return `${text.charAt(0).toUpperCase()}${text.slice(1)}${text.endsWith('.') ? '' : '.'}`;
}

async function measureAt(
	{ kind, place: index }: Extract<YardStep, { place: number }>,
	session: YardSession,
	doors: YardDoors,
): Promise<YardSession> {
	const list = kind === 'visit' ? 'visits' : 'verdictRuns';
	const place = session.places[index]!;
	const what = kind === 'visit' ? 'visit, 2 minutes' : 'the run that answers';
	const answer = await doors.ask(`${place.name}: ${what}. Everyone in place? Enter begins`);
	if (isStop(answer)) return { ...session, stopped: true };
	const count = session.visits.length + session.verdictRuns.length + 1;
	const run: YardRun = {
		place: index,
		runId: `${session.name}-${count}-${kind}`,
		state: 'begun',
		reading: null,
	};
	const begun = { ...session, [list]: [...session[list], run] };
	await doors.keep(begun);
	const reading = await doors.measure({
		place,
		runId: run.runId,
		profile: kind === 'visit' ? 'brief' : 'verdict',
		minutes: kind === 'visit' ? planOf(session).visitMin : planOf(session).verdictMin,
	});
	// Stopped in the middle: what was cut off says nothing of the place.
	if (doors.isStopped()) return begun;
	const ended: YardRun = { ...run, state: reading === null ? 'nothingMeasured' : 'done', reading };
	if (reading === null)
		doors.tell({ title: place.name, items: ['Nothing could be measured. It will be tried once more.'] });
	return { ...session, [list]: [...session[list], ended] };
}

function isStop(answer: string | null): answer is null {
	return answer === null || /^(stop|q|quit)$/i.test(answer.trim());
}

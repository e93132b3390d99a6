/**
 * The course of a yard check: asks, measures, keeps after every step, tells. Which step comes next is the session's own
 * (verdict/yardSession.ts); here it is only walked, so that it can be cut and taken up again anywhere.
 */
import { candidateCauses } from '../metrics/repeatCauses.ts';
import type { Section } from '../report/wordSection.ts';
import { FILM_INSTEAD, planWords, ROLES, runWords, WIFI_WORDS, yardSections } from '../report/yardWords.ts';
import { channelSeen, channelWords } from '../rigs/air/channelWords.ts';
import type { SeenAir } from '../rigs/air/lookAtAir.ts';
import { applyAct, type BegunRun, beginRun, endRun, type YardAct } from '../verdict/yardActs.ts';
import {
	nextStep,
	planOf,
	WIFI,
	type YardReading,
	type YardSession,
	type YardStep,
} from '../verdict/yardSession.ts';

export type YardDoors = {
	/** Null: no more answers, or "stop". */
	readonly ask: (question: string) => Promise<string | null>;
	readonly tell: (section: Section) => void;
	/** A run at a place; null: nothing could be measured. Rejects only when the program itself must end. */
	readonly measure: (what: BegunRun) => Promise<YardReading | null>;
	/** The person pressed stop. */
	readonly isStopped: () => boolean;
	readonly keep: (session: YardSession) => Promise<void>;
	readonly air: () => Promise<SeenAir | null>;
	/** The channel as given beforehand; null: not given. */
	readonly typedChannel: string | null;
	/** Nobody waits to be asked: runs begin at once, and nothing besides the plan is offered. */
	readonly isHurried: boolean;
};

/** Walks until nothing is left to do; gives the session as kept last. */
export async function walkYard(begun: YardSession, doors: YardDoors): Promise<YardSession> {
	let session = begun;
	let planTold = false;
	for (;;) {
		if (doors.isStopped() && !session.stopped && !session.backAtKit) {
			session = applyAct(session, { kind: 'stop' });
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
		case 'company':
		case 'walk':
		case 'endurance':
			return measureAt(step, session, doors);
		case 'filmInstead':
			doors.tell({ title: 'A film instead', items: FILM_INSTEAD });
			return applyAct(session, { kind: 'stop' });
		default:
			for (const section of answerOf(session)) doors.tell(section);
			return (await askMore(session, doors)) ?? applyAct(session, { kind: 'backAtKit' });
	}
}

/** All that is known so far. */
export function answerOf(session: YardSession): Section[] {
	return yardSections(session, candidateCauses);
}

/** The session, changed; null where the change cannot be, and why was told. */
function tryAct(session: YardSession, act: YardAct, { tell }: YardDoors): YardSession | null {
	try {
		return applyAct(session, act);
	} catch (refused) {
		if (!(refused instanceof RangeError)) throw refused;
		tell({ title: 'Not so', items: [refused.message] });
		return null;
	}
}

/** Before the last screen: anything again? Null: no. */
async function askMore(session: YardSession, doors: YardDoors): Promise<YardSession | null> {
	if (doors.isHurried || session.stopped || session.places.length === 0) return null;
	doors.tell({ title: 'Anything again?', items: placeNumbers(session) });
	for (;;) {
		const answer = await doors.ask(
			'A number: two minutes more there; number and "long": a run that answers; number and "company": while others look on; number and "walk": walking away and back; number and "half": half an hour, to see what changes; Enter: back to the kit',
		);
		if (isStop(answer) || answer === '') return null;
		const act = wantedBy(answer, session);
		const changed = act === null ? null : tryAct(session, act, doors);
		if (changed !== null) return changed;
	}
}

function placeNumbers({ places }: YardSession): string[] {
	return places.map(({ name }, i) => `${i + 1} ${name}`);
}

const WANTED_BY = { long: 'verdict', company: 'company', walk: 'walk', half: 'endurance' } as const;

/** `2`, `2 long`, `2 company`, `2 walk`, `2 half`, or a place's name in the number's stead; null for anything else. */
function wantedBy(answer: string, { places }: YardSession): YardAct | null {
	const [, where = '', how] = /^(.*?)(?:\s+(long|company|walk|half))?$/i.exec(answer.trim()) ?? [];
	const named = places.findIndex(({ name }) => name === where);
	const place = named >= 0 ? named : Number(where) - 1;
	if (places[place] === undefined) return null;
	const run = WANTED_BY[how?.toLowerCase() as keyof typeof WANTED_BY] ?? 'visit';
	return { kind: 'want', run, place };
}

async function askWifi(session: YardSession, doors: YardDoors): Promise<YardSession> {
	const choices = WIFI.map((wifi, i) => `${i + 1} ${WIFI_WORDS[wifi]}`);
	doors.tell({ title: 'Whose Wi-Fi is it?', items: choices });
	for (;;) {
		const answer = await doors.ask('1 to 4');
		if (isStop(answer)) return applyAct(session, { kind: 'stop' });
		const wifi = WIFI[Number(answer) - 1] ?? WIFI.find((name) => name === answer);
		if (wifi !== undefined) return applyAct(session, { kind: 'wifi', wifi });
	}
}

async function askMinutes(session: YardSession, doors: YardDoors): Promise<YardSession> {
	for (;;) {
		const answer = await doors.ask('How long have you got, in minutes? (20)');
		if (isStop(answer)) return applyAct(session, { kind: 'stop' });
		const minutes = answer === '' ? 20 : Number(answer);
		const changed = tryAct(session, { kind: 'minutes', minutes }, doors);
		if (changed !== null) return changed;
	}
}

async function askPlaces(session: YardSession, doors: YardDoors): Promise<YardSession> {
	let changed = session;
	doors.tell({
		title: 'The places',
		items: [
			'One a line: its name, how far the scope is from the tablet, how high; as in "box door, 4 m, 1.2 m".',
			'An empty line ends the list.',
		],
	});
	for (;;) {
		const answer = await doors.ask(`Place ${changed.places.length + 1}`);
		if (isStop(answer)) return applyAct(changed, { kind: 'stop' });
		if (answer === '' && changed.places.length > 0) break;
		changed = tryAct(changed, { kind: 'addPlace', text: answer }, doors) ?? changed;
	}
	return applyAct(changed, { kind: 'placesNamed' });
}

async function askChannel(session: YardSession, doors: YardDoors): Promise<YardSession> {
	const seen = await doors.air();
	const answer =
		channelSeen(seen) === null
			? (doors.typedChannel ?? (await doors.ask('Channel of the Wi-Fi, as in 6 or 36@80 (empty: not known)')))
			: '';
	if (isStop(answer)) return applyAct(session, { kind: 'stop' });
	const { channel, words } = channelWords(answer, seen);
	if (words.length > 0) doors.tell({ title: 'The channel', items: words });
	return applyAct(session, { kind: 'channel', text: channel, advice: words });
}

async function measureAt(
	step: Extract<YardStep, { place: number }>,
	session: YardSession,
	doors: YardDoors,
): Promise<YardSession> {
	const { name } = session.places[step.place]!;
	const other =
		session.places.length > 1 && step.kind === 'visit' ? '; or another place first: its number' : '';
	const answer = doors.isHurried
		? ''
		: await doors.ask(
				`${name}: ${runWords(step.kind, planOf(session))}. Everyone in place? Enter begins${other}`,
			);
	if (isStop(answer)) return applyAct(session, { kind: 'stop' });
	const wanted = answer === '' ? null : wantedBy(answer, session);
	if (wanted !== null) return applyAct(session, wanted);
	const begun = beginRun(session, step);
	await doors.keep(begun.session);
	const reading = await doors.measure(begun);
	// Stopped in the middle: what was cut off says nothing of the place.
	if (doors.isStopped()) return begun.session;
	if (reading === null)
		doors.tell({ title: name, items: ['Nothing could be measured. It will be tried once more.'] });
	const ended = endRun(begun.session, begun, reading);
	return step.kind === 'walk' && reading !== null ? noteWalk(ended, begun.run.runId, doors) : ended;
}

/** What only the person saw. */
async function noteWalk(session: YardSession, runId: string, doors: YardDoors): Promise<YardSession> {
	const far = doors.isHurried
		? null
		: await doors.ask('How far were you when the picture stood, in metres? (empty: not known)');
	const told = doors.isHurried
		? null
		: await doors.ask("Now the same way with the kit's own app: did it warn? (yes, no; empty: not tried)");
	const distanceM = Number(far ?? '') > 0 ? Number(far) : null;
	const warned = told === 'yes' || told === 'no' ? told : 'notTried';
	return applyAct(session, { kind: 'noteWalk', runId, note: { distanceM, warned } });
}

function isStop(answer: string | null): answer is null {
	return answer === null || /^(stop|q|quit)$/i.test(answer.trim());
}

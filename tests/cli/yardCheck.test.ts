/** The course of a yard check with invented runs: every question, every step, cut and taken up again. */
import { expect, test } from 'vitest';
import { answerOf, walkYard, type YardDoors } from '../../src/cli/yardCheck.ts';
import type { Section } from '../../src/report/wordSection.ts';
import { type BegunRun, readPlace } from '../../src/verdict/yardActs.ts';
import {
	newYardSession,
	type YardReading,
	type YardSession,
	yardSchema,
} from '../../src/verdict/yardSession.ts';

const SHARES: Readonly<Record<string, number>> = { door: 0.3, box: 0.01, arch: 0.2 };
const ANSWERS = ['1', '20', 'door, 4 m, 1.2 m', 'box', 'arch, 9', '', '36@80', '', '', '', ''];

function readingAt({ place, profile }: BegunRun): YardReading {
	return {
		overLimitRatio: SHARES[place.name] ?? 0,
		effectiveCount: 200,
		headline: profile === 'verdict' ? 'fit for live steering' : 'nothing against it in two minutes',
		against: [],
		repeats: [
			{
				...{ periodS: 1.25, periodUncertaintyS: 0.002, falseAlarmRatio: 1e-6, strengthRatio: 0.2 },
				...{ bothWays: true, carriedBy: 'probes' },
			},
		],
		air: [],
		delay: { medianMs: 60, p95Ms: 90, uncertaintyMs: 4 },
		device: null,
		steer: profile === 'verdict' ? 'yes' : 'undetermined',
		order: 'Steer.',
		company: [],
		breaks: [],
		made: null,
		overTime: null,
	};
}

type Told = { readonly sections: Section[]; readonly measured: BegunRun[]; kept: YardSession };

class Cut extends Error {}

/** Doors that answer from a list; `cutAt`: the so-manieth keeping of the session is the last thing that happens. */
function openDoors(
	session: YardSession,
	answers: readonly string[],
	cutAt = Number.POSITIVE_INFINITY,
): YardDoors & Told {
	const left = [...answers];
	let keeps = 0;
	const told: Told = { sections: [], measured: [], kept: session };
	return Object.assign(told, {
		ask: async () => left.shift() ?? null,
		tell: (section: Section) => void told.sections.push(section),
		measure: async (what: BegunRun) => {
			told.measured.push(what);
			return readingAt(what);
		},
		isStopped: () => false,
		keep: async (now: YardSession) => {
			// As on disk: what is kept is text.
			told.kept = yardSchema.parse(JSON.parse(JSON.stringify(now)));
			if (++keeps === cutAt) throw new Cut();
		},
		air: async () => null,
		typedChannel: null,
		isHurried: false,
	} satisfies YardDoors);
}

const fresh = () => newYardSession('t', '2026-01-01T00:00:00Z');

test('three places are visited, the best one gets a run of its own, and nothing of the visits is used again', async () => {
	const doors = openDoors(fresh(), ANSWERS);
	const session = await walkYard(fresh(), doors);
	expect(doors.measured.map(({ place, profile }) => `${place.name} ${profile}`)).toEqual([
		'door brief',
		'box brief',
		'arch brief',
		'box verdict',
	]);
	expect(new Set(doors.measured.map(({ run }) => run.runId)).size).toBe(4);
	expect(session.backAtKit).toBe(true);
	expect(doors.sections[0]?.title).toBe('Whose Wi-Fi is it?');
	const answer = answerOf(session).flatMap(({ items }) => items);
	expect(answer[0]).toBe('box: fit for live steering');
	expect(answer).toContain('box and arch: one visit each: difference not judged.');
	const said = doors.sections.filter(({ title }) => title === 'The channel');
	// When it was typed, and in the answer.
	expect(said).toHaveLength(2);
	expect(said[0]?.items.length).toBeGreaterThan(0);
	expect(said[1]?.items).toEqual(said[0]?.items);
});

test('it says what repeats and what to try, and claims no device', async () => {
	const doors = openDoors(fresh(), ANSWERS);
	const words =
		answerOf(await walkYard(fresh(), doors)).find(({ title }) => title === 'What repeats')?.items ?? [];
	expect(words[0]).toMatch(/something repeats every 1\.25 s/);
	expect(words[1]).toMatch(/^It may be an electric fence energiser; that was not identified\./);
	expect(words[1]).toMatch(/never switch it off yourself/);
});

test('cut at every step and taken up again, it ends with the same answer', async () => {
	const whole = openDoors(fresh(), ANSWERS);
	const expected = answerOf(await walkYard(fresh(), whole));
	let cuts = 0;
	for (let cutAt = 1; ; cutAt++) {
		const first = openDoors(fresh(), ANSWERS, cutAt);
		const ended = await walkYard(fresh(), first).then(
			() => true,
			(error: unknown) => {
				if (!(error instanceof Cut)) throw error;
				return false;
			},
		);
		if (ended) break;
		cuts++;
		const { wifi, minutes, placesNamed, channel } = first.kept;
		const open = [
			...(wifi === null ? ['1'] : []),
			...(minutes === null ? ['20'] : []),
			...(placesNamed ? [] : ['door, 4 m, 1.2 m', 'box', 'arch, 9', '']),
			...(channel === null ? ['36@80'] : []),
		];
		const second = openDoors(first.kept, [...open, '', '', '', '']);
		const session = await walkYard(first.kept, second);
		expect(answerOf(session), `cut ${cutAt}`).toEqual(expected);
	}
	// Four questions, four runs kept twice each, and back to the kit.
	expect(cuts).toBe(13);
});

test('"stop" at any question leads back to the kit, with what is known so far', async () => {
	for (let stopAt = 0; stopAt < 10; stopAt++) {
		const doors = openDoors(fresh(), [...ANSWERS.slice(0, stopAt), 'stop']);
		const session = await walkYard(fresh(), doors);
		expect(session.backAtKit).toBe(true);
		expect(doors.sections.at(-1)?.items.length ?? 0).toBeGreaterThan(0);
		const headline = answerOf(session)[0]?.items[0];
		expect(headline).toContain('treat as not fit to steer');
	}
});

test('what was measured when stop was pressed in the middle says nothing of its place', async () => {
	const doors = openDoors(fresh(), ANSWERS);
	let isStopped = false;
	const session = await walkYard(fresh(), {
		...doors,
		isStopped: () => isStopped,
		measure: async (what) => {
			isStopped = what.place.name === 'box';
			return doors.measure(what);
		},
	});
	expect(session.visits.map(({ state, reading }) => [state, reading === null])).toEqual([
		['done', false],
		['begun', true],
	]);
	expect(session).toMatchObject({ stopped: true, backAtKit: true, verdictRuns: [] });
	expect(answerOf(session).flatMap(({ items }) => items)).toContain('box: not measured.');
});

test('where the laptop is shut out, a film is offered and no run is made', async () => {
	const doors = openDoors(fresh(), ['4', '20', 'door', '']);
	await walkYard(fresh(), doors);
	expect(doors.measured).toEqual([]);
	const film = doors.sections.find(({ title }) => title === 'A film instead')?.items.join(' ');
	expect(film).toContain('can only say no');
});

test('a place that cannot be measured is tried once more, then passed over', async () => {
	const doors = openDoors(fresh(), [...ANSWERS, '', '']);
	const failing: YardDoors = {
		...doors,
		measure: async (what) => (what.place.name === 'door' ? null : doors.measure(what)),
	};
	const session = await walkYard(fresh(), failing);
	expect(session.visits.filter(({ state }) => state === 'nothingMeasured')).toHaveLength(2);
	expect(answerOf(session).flatMap(({ items }) => items)).toContain('door: not measured.');
	expect(session.verdictRuns[0]).toMatchObject({ place: 1, state: 'done' });
});

test('before the last screen a number, or a name, and a word ask for any run at any place; what is none of them is asked again', async () => {
	// Of the plan, four runs; then each wish and its Enter, and an Enter that ends it.
	const wishes = ['2', '1 long', 'arch company', '3 WALK', '2 half'];
	const noted = ['', '12', 'no'];
	const typed = wishes.flatMap((wish) => [wish, ...(/walk/i.test(wish) ? noted : [''])]);
	const doors = openDoors(fresh(), [...ANSWERS.slice(0, -1), '9 half', 'nonsense', ...typed, '']);
	const session = await walkYard(fresh(), doors);
	expect(
		doors.measured.slice(4).map(({ place, kind, profile }) => `${place.name} ${kind} ${profile}`),
	).toEqual([
		'box visit brief',
		'door verdict verdict',
		'arch company brief',
		'arch walk brief',
		'box endurance long',
	]);
	expect(session.walkRuns[0]?.note).toEqual({ distanceM: 12, warned: 'no' });
	expect(session.backAtKit).toBe(true);
});

test('a place is read as people write it', () => {
	expect(readPlace('box door, 4 m, 1.2 m')).toEqual({ name: 'box door', distanceM: 4, heightM: 1.2 });
	expect(readPlace('arch; 9')).toEqual({ name: 'arch', distanceM: 9, heightM: null });
	expect(readPlace('yard, far')).toEqual({ name: 'yard', distanceM: null, heightM: null });
	expect(readPlace(', 4 m')).toBeNull();
});

import fc from 'fast-check';
import { expect, test } from 'vitest';
import { createRandom } from '../../src/statistics/random.ts';
import { rankPlaces, type VisitReading } from '../../src/verdict/places.ts';
import { renamePlace } from '../../src/verdict/yardActs.ts';
import { planYard } from '../../src/verdict/yardPlan.ts';
import {
	chosenPlace,
	newYardSession,
	nextStep,
	rankingOf,
	type YardSession,
	yardSchema,
} from '../../src/verdict/yardSession.ts';

const visit = (place: string, overLimitRatio: number): VisitReading => ({
	place,
	overLimitRatio,
	effectiveCount: 200,
});

test('twenty minutes and three places are three to set up, two a place, the rest at the best, three back', () => {
	expect(planYard(20, 3)).toMatchObject({ setUpMin: 3, rounds: 1, visitMin: 2, verdictMin: 8, backMin: 3 });
	expect(planYard(20, 3).caution).toContain('One visit');
	expect(planYard(40, 3)).toMatchObject({ rounds: 3, verdictMin: 16, caution: null });
	expect(planYard(8, 3)).toMatchObject({ rounds: 1, placesVisited: 1, verdictMin: 0 });
	expect(planYard(8, 3).caution).toContain('no time for a run that could say yes');
});

test('no plan takes longer than there is, and one that can say yes leaves over five minutes at the best', () => {
	fc.assert(
		fc.property(fc.integer({ min: 1, max: 240 }), fc.integer({ min: 1, max: 8 }), (minutes, places) => {
			const plan = planYard(minutes, places);
			const used =
				plan.setUpMin + plan.backMin + plan.rounds * plan.visitMin * plan.placesVisited + plan.verdictMin;
			if (minutes >= 8) expect(used).toBeLessThanOrEqual(minutes);
			if (plan.verdictMin > 0) expect(plan.verdictMin).toBeGreaterThanOrEqual(5);
		}),
	);
});

test('one visit each is not judged, nor are visits all of one before the other', () => {
	const once = rankPlaces([visit('door', 0), visit('box', 0.5)]);
	expect(once.pairs).toMatchObject([
		{ answer: 'notJudged', because: 'one visit each: difference not judged' },
	]);
	expect(once.order.map(({ place }) => place)).toEqual(['door', 'box']);
	const blocks = rankPlaces([visit('a', 0), visit('a', 0), visit('b', 0.5), visit('b', 0.5)]);
	expect(blocks.pairs[0]?.because).toContain('not visited by turns');
});

test.each([
	['a a b b', false],
	['b b a a', false],
	['a a a b a', false],
	['b b a b', false],
	['a b a b', true],
	['a b b a', true],
	['b a a b', true],
	['a b a', false],
	// Nearly all of one before the other, in spite of the one in between.
	['a a a b a b b b', false],
	['a a b a b', false],
	['a b a b a b', true],
	['a b b b a', true],
	// A third place between them does not make turns.
	['a c a b c b', false],
	['a c b a c b', true],
] as const)('visits in the order %s are by turns: %s', (order, isByTurns) => {
	const visits = order.split(' ').map((place) => visit(place, { a: 0, b: 0.5, c: 0.2 }[place] ?? 0));
	const pair = rankPlaces(visits).pairs.find(({ first, second }) => first === 'a' && second === 'b');
	expect(pair?.answer).toBe(isByTurns ? 'firstBetter' : 'notJudged');
});

test('visits by turns that stand clear of their spread say which place is better', () => {
	const visits = [0.01, 0.02, 0.01].flatMap((share, i) => [
		visit('door', share),
		visit('box', 0.3 + 0.02 * i),
	]);
	expect(rankPlaces(visits).pairs).toMatchObject([{ first: 'door', second: 'box', answer: 'firstBetter' }]);
});

test('a difference within the spread of the visits is none seen, however it falls', () => {
	const visits = [0.02, 0.4, 0.05].flatMap((share, i) => [visit('door', share), visit('box', 0.3 - 0.1 * i)]);
	expect(rankPlaces(visits).pairs[0]).toMatchObject({ answer: 'noDifferenceSeen' });
	// Nor is one of under two points, however well the visits agree.
	const near = [1, 2, 3].flatMap(() => [visit('door', 0.01), visit('box', 0.025)]);
	expect(rankPlaces(near).pairs[0]).toMatchObject({ answer: 'noDifferenceSeen' });
	const surely = near.map((each) => ({ ...each, effectiveCount: 1e6 }));
	expect(rankPlaces(surely).pairs[0]).toMatchObject({ answer: 'noDifferenceSeen' });
	const clean = [1, 2, 3].flatMap(() => [visit('door', 0), visit('box', 0)]);
	expect(rankPlaces(clean).pairs[0]).toMatchObject({ answer: 'noDifferenceSeen' });
});

test('visits that happen to agree are no surer than the readings in them', () => {
	const few = (place: string, share: number) => ({ ...visit(place, share), effectiveCount: 10 });
	const visits = [0, 1, 2].flatMap(() => [few('door', 0.1), few('box', 0.2)]);
	expect(rankPlaces(visits).pairs[0]?.answer).toBe('noDifferenceSeen');
});

test('of many places the error is shared among all pairs', () => {
	const sure = (place: string, share: number) => ({ ...visit(place, share), effectiveCount: 1e6 });
	const two = [0.05, 0.09].flatMap((share, i) => [sure('door', share), sure('box', 0.25 + 0.04 * i)]);
	expect(rankPlaces(two).pairs[0]?.answer).toBe('firstBetter');
	const more = ['c', 'd', 'e', 'f'].flatMap((name) => [sure(name, 0.9), sure(name, 0.9)]);
	const pair = rankPlaces([...two, ...more]).pairs.find(
		({ first, second }) => first === 'door' && second === 'box',
	);
	expect(pair?.answer).toBe('noDifferenceSeen');
});

test('visits made after an answer was shown are a further look, which asks for a clearer difference', () => {
	const sure = (place: string, share: number) => ({ ...visit(place, share), effectiveCount: 1e6 });
	const visits = [0.05, 0.06, 0.08].flatMap((share, i) => [
		sure('door', share),
		sure('box', 0.11 + 0.02 * i),
	]);
	expect(rankPlaces(visits)).toMatchObject({ looks: 1, pairs: [{ answer: 'firstBetter' }] });
	expect(rankPlaces(visits, [4, 4])).toMatchObject({ looks: 2, pairs: [{ answer: 'firstBetter' }] });
	expect(rankPlaces(visits, [4, 5])).toMatchObject({ looks: 3, pairs: [{ answer: 'noDifferenceSeen' }] });
	// After one visit each there was nothing to stop at; and what nobody went on from is no look of its own.
	expect(rankPlaces(visits, [0, 2, 6]).looks).toBe(1);
});

test('alike places are called different in at most one check of twenty by who goes on visiting until one wins', () => {
	const random = createRandom(4);
	let wrong = 0;
	const checks = 600;
	for (let check = 0; check < checks; check++) {
		const visits: VisitReading[] = [];
		const shownAfter: number[] = [];
		for (let round = 0; round < 6; round++) {
			for (const place of ['door', 'box']) visits.push(visit(place, 0.1 + 0.3 * random.next()));
			if (visits.length < 4) continue;
			if (rankPlaces(visits, shownAfter).pairs[0]?.answer !== 'noDifferenceSeen') {
				wrong++;
				break;
			}
			shownAfter.push(visits.length);
		}
	}
	// Seven of a hundred where the looks are not counted (computed).
	expect(wrong / checks).toBeLessThanOrEqual(0.05);
	expect(wrong).toBeGreaterThan(0);
});

const places = [
	{ name: 'door', distanceM: 4, heightM: 1.2 },
	{ name: 'box', distanceM: 8, heightM: 1.2 },
];
const reading = (overLimitRatio: number) => ({
	overLimitRatio,
	effectiveCount: 200,
	headline: '',
	against: [],
	repeats: [],
	air: [],
	delay: null,
	device: null,
	steer: 'undetermined' as const,
	order: '',
	company: [],
	breaks: [],
	made: null,
	overTime: null,
});
const done = (place: number, overLimitRatio: number) => ({
	place,
	runId: `r${place}`,
	state: 'done' as const,
	reading: reading(overLimitRatio),
	note: null,
});

test('whose Wi-Fi is asked first, and back to the kit is always the last', () => {
	let session: YardSession = newYardSession('y', '2026-01-01T00:00:00Z');
	expect(nextStep(session)).toEqual({ kind: 'askWifi' });
	session = { ...session, wifi: 'kit', minutes: 20, places, placesNamed: true, channel: '' };
	expect(nextStep(session)).toEqual({ kind: 'visit', place: 0 });
	session = { ...session, visits: [done(0, 0.4)] };
	expect(nextStep(session)).toEqual({ kind: 'visit', place: 1 });
	session = { ...session, visits: [done(0, 0.4), done(1, 0)] };
	expect(nextStep({ ...session, minutes: 16 })).toEqual({ kind: 'verdict', place: 1 });
	expect(nextStep({ ...session, stopped: true })).toEqual({ kind: 'backToKit' });
	// In eight minutes nothing could say yes: what was visited is told.
	expect(nextStep({ ...session, minutes: 8 })).toEqual({ kind: 'backToKit' });
	session = { ...session, minutes: 16, verdictRuns: [done(1, 0)] };
	expect(nextStep(session)).toEqual({ kind: 'backToKit' });
	expect(nextStep({ ...session, backAtKit: true })).toEqual({ kind: 'done' });
});

test('a run that was begun and never ended is made again; one that measures nothing twice is passed over', () => {
	const session = {
		...newYardSession('y', ''),
		wifi: 'kit' as const,
		minutes: 16,
		places,
		placesNamed: true,
		channel: '',
	};
	const cut = { place: 0, runId: 'a', state: 'begun' as const, reading: null, note: null };
	const nothing = { ...cut, state: 'nothingMeasured' as const };
	expect(nextStep({ ...session, visits: [cut] })).toEqual({ kind: 'visit', place: 0 });
	expect(nextStep({ ...session, visits: [nothing, nothing] })).toEqual({ kind: 'visit', place: 1 });
	expect(nextStep({ ...session, visits: [done(0, 0), done(1, 0)], verdictRuns: [{ ...cut }] })).toEqual({
		kind: 'verdict',
		place: 0,
	});
});

test('where the laptop is shut out, a film is offered instead of any run', () => {
	const session = {
		...newYardSession('y', ''),
		wifi: 'shutOut' as const,
		minutes: 20,
		places,
		placesNamed: true,
	};
	expect(nextStep(session)).toEqual({ kind: 'filmInstead' });
});

test('a wrong name is put right and takes its visits along', () => {
	const session = { ...newYardSession('y', ''), places, visits: [done(0, 0.4), done(1, 0)] };
	const renamed = renamePlace(session, 1, 'arch');
	expect(rankingOf(renamed).order[0]).toMatchObject({ place: 'arch', meanRatio: 0 });
	expect(chosenPlace(renamed)).toBe(1);
	expect(() => renamePlace(session, 1, 'door')).toThrow(RangeError);
	expect(yardSchema.parse(JSON.parse(JSON.stringify(renamed)))).toEqual(renamed);
});

import { expect, test } from 'vitest';
import { applyAct, beginRun, endRun, type YardAct } from '../../src/verdict/yardActs.ts';
import {
	newYardSession,
	nextStep,
	turnOf,
	type YardReading,
	type YardSession,
} from '../../src/verdict/yardSession.ts';

const reading: YardReading = {
	...{ overLimitRatio: 0.01, effectiveCount: 200, headline: '', against: [], repeats: [], air: [] },
	...{
		delay: null,
		device: null,
		steer: 'undetermined',
		order: '',
		company: [],
		breaks: [],
		made: null,
		overTime: null,
	},
};

const after = (session: YardSession, ...acts: readonly YardAct[]): YardSession =>
	acts.reduce(applyAct, session);

/** Sixteen minutes and two places: one visit each, then the run that answers. */
const asked = after(
	newYardSession('y', ''),
	{ kind: 'wifi', wifi: 'shared' },
	{ kind: 'minutes', minutes: 16 },
	{ kind: 'addPlace', text: 'door, 4 m' },
	{ kind: 'addPlace', text: 'arch' },
	{ kind: 'placesNamed' },
	{ kind: 'channel', text: '36' },
);

/** Makes the next run and ends it. */
function made(session: YardSession, result: YardReading | null = reading): YardSession {
	const step = nextStep(session);
	if (!('place' in step)) throw new Error(`no run is next, but ${step.kind}`);
	const begun = beginRun(session, step);
	return endRun(begun.session, begun, result);
}

test('any place can be visited again before the plan goes on, and the wish is spent by the visit', () => {
	const again = after(made(asked), { kind: 'want', run: 'visit', place: 0 });
	expect(nextStep(again)).toEqual({ kind: 'visit', place: 0 });
	const onwards = made(again);
	expect(onwards.visits.map(({ place }) => place)).toEqual([0, 0]);
	expect(nextStep(onwards)).toEqual({ kind: 'visit', place: 1 });
});

test('after the answer, a run that answers, company or a walk can be asked for at any place; each is kept apart', () => {
	const answered = made(made(made(asked)));
	expect(nextStep(answered)).toEqual({ kind: 'backToKit' });
	const runs = (['verdict', 'company', 'walk', 'endurance'] as const).map((run) => ({
		kind: 'want' as const,
		run,
		place: 1,
	}));
	const more = made(made(made(made(after({ ...answered, backAtKit: true }, ...runs)))));
	const { visits, verdictRuns, companyRuns, walkRuns, enduranceRuns } = more;
	expect(verdictRuns.map(({ place }) => place)).toEqual([0, 1]);
	for (const list of [companyRuns, walkRuns, enduranceRuns])
		expect(list.map(({ place }) => place)).toEqual([1]);
	expect(visits).toHaveLength(2);
	const inTurn = [...visits, ...verdictRuns, ...companyRuns, ...walkRuns, ...enduranceRuns];
	expect(inTurn.map(turnOf)).toEqual([1, 2, 3, 4, 5, 6, 7]);
	expect(nextStep(more)).toEqual({ kind: 'backToKit' });
});

test('a wanted run that measures nothing is wanted no longer; one that is cut off is', () => {
	const wanted = after(made(made(made(asked))), { kind: 'want', run: 'company', place: 0 });
	expect(nextStep(made(wanted, null))).toEqual({ kind: 'backToKit' });
	const cut = beginRun(wanted, { kind: 'company', place: 0 }).session;
	expect(nextStep(cut)).toEqual({ kind: 'company', place: 0 });
});

test('the run that answers takes the time that there is, and never less than its profile', () => {
	const long = after(asked, { kind: 'minutes', minutes: 60 });
	expect(beginRun(asked, { kind: 'verdict', place: 0 })).toMatchObject({
		profile: 'verdict',
		observedMs: 330_000,
	});
	expect(beginRun(long, { kind: 'verdict', place: 0 }).observedMs).toBeGreaterThan(330_000);
	expect(
		beginRun(after(asked, { kind: 'minutes', minutes: 5 }), { kind: 'verdict', place: 0 }).observedMs,
	).toBe(310_000);
	expect(beginRun(asked, { kind: 'endurance', place: 0 })).toMatchObject({
		profile: 'long',
		observedMs: 1_800_000,
	});
	expect(beginRun(asked, { kind: 'walk', place: 0 })).toMatchObject({
		profile: 'brief',
		observedMs: 120_000,
	});
});

test('stop drops what was wanted and leads back to the kit; going on takes up the plan where it was', () => {
	const stopped = after(made(asked), { kind: 'want', run: 'visit', place: 0 }, { kind: 'stop' });
	expect(nextStep(stopped)).toEqual({ kind: 'backToKit' });
	expect(nextStep(after(stopped, { kind: 'goOn' }))).toEqual({ kind: 'visit', place: 1 });
	expect(nextStep(after(stopped, { kind: 'backAtKit' }))).toEqual({ kind: 'done' });
});

test('what cannot be is refused in words: no place, no minutes, a name that is taken, a place with runs', () => {
	const refusals: readonly [YardSession, YardAct, RegExp][] = [
		[newYardSession('y', ''), { kind: 'placesNamed' }, /one place at least/],
		[asked, { kind: 'minutes', minutes: 0 }, /Between 1 and 480/],
		[asked, { kind: 'minutes', minutes: Number.NaN }, /Between 1 and 480/],
		[asked, { kind: 'addPlace', text: ', 4 m' }, /names no place/],
		[asked, { kind: 'rename', place: 1, name: 'door' }, /Another place is called door/],
		[asked, { kind: 'rename', place: 7, name: 'x' }, /no place 8/],
		[asked, { kind: 'want', run: 'visit', place: 2 }, /no place 3/],
		[made(asked), { kind: 'dropPlace', place: 1 }, /arch stays: runs were made/],
	];
	for (const [session, act, words] of refusals) expect(() => applyAct(session, act)).toThrow(words);
	expect(applyAct(asked, { kind: 'dropPlace', place: 0 }).places.map(({ name }) => name)).toEqual(['arch']);
	expect(applyAct(asked, { kind: 'addPlace', text: 'arch, 9' })).toEqual(asked);
});

test('what was shown before more was asked for is kept in mind, once for each time, and by nothing else', () => {
	const visited = made(made(asked));
	// Before the answer: another visit in between shows nothing.
	expect(after(visited, { kind: 'want', run: 'visit', place: 0 }).shownAfter).toEqual([]);
	const answered = made(visited);
	const again = after(answered, { kind: 'want', run: 'visit', place: 0 });
	expect(again.shownAfter).toEqual([2]);
	expect(after(again, { kind: 'want', run: 'visit', place: 1 }).shownAfter).toEqual([2]);
	// Stopped, told, and gone on with; or done, and opened again.
	expect(after(made(asked), { kind: 'stop' }, { kind: 'goOn' }).shownAfter).toEqual([1]);
	const done = after(made(again), { kind: 'backAtKit' });
	expect(after(done, { kind: 'goOn' }).shownAfter).toEqual([2, 3]);
});

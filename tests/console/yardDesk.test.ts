/** The yard check as the laptop's page walks it, with invented runs: step by step, cut off, stopped, and taken up again from disk. */
import { mkdtempSync, readFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { YardDesk, type YardLaunch } from '../../src/console/yardDesk.ts';
import { OutsideFailure } from '../../src/failure.ts';
import { type YardOrder, yardStateSchema } from '../../src/protocol/yard.ts';
import type { YardReading } from '../../src/verdict/yardSession.ts';

const reading = (overLimitRatio: number): YardReading => ({
	...{
		overLimitRatio,
		effectiveCount: 200,
		headline: 'fit for live steering',
		against: [],
		repeats: [],
		air: [],
	},
	delay: { medianMs: 60, p95Ms: 90, uncertaintyMs: 3 },
	device: null,
	...{ steer: 'yes', order: 'Steer.', company: [], breaks: [], made: null, overTime: null },
});
const SHARES: Readonly<Record<string, number>> = { door: 0.3, arch: 0.01 };

type Launch = (what: YardLaunch) => Promise<YardReading | null>;
const usual: Launch = async ({ place }) => reading(SHARES[place] ?? 0);

function openDesk(runsFolder: string, launch: Launch = usual) {
	const launched: YardLaunch[] = [];
	let stops = 0;
	const desk = new YardDesk({
		...{ runsFolder, toolVersion: '0' },
		newName: () => 'yard-1',
		launch: (what) => {
			launched.push(what);
			return launch(what);
		},
		stopRun: () => {
			stops++;
		},
		home: async (folder) => ({
			...{ runId: folder, startedAt: null, device: null },
			...{ medianMs: 40, p95Ms: 50, uncertaintyMs: 4 },
		}),
		onChange: () => {},
	});
	const step = () => yardStateSchema.parse(desk.state()).check?.step ?? null;
	return { desk, launched, step, stopCount: () => stops };
}

const folder = (): string => mkdtempSync(join(tmpdir(), 'steerworthy-yard-'));
const MEASURE: YardOrder = { kind: 'measure', transport: 'websocket' };
const QUESTIONS: readonly (readonly [YardOrder, string])[] = [
	[{ kind: 'open', name: '' }, 'askWifi'],
	[{ kind: 'wifi', wifi: 'shared' }, 'askMinutes'],
	[{ kind: 'minutes', minutes: 16 }, 'askPlaces'],
	[{ kind: 'addPlace', text: 'door, 4' }, 'askPlaces'],
	[{ kind: 'addPlace', text: 'arch' }, 'askPlaces'],
	[{ kind: 'placesNamed' }, 'askChannel'],
	[{ kind: 'channel', text: '52' }, 'visit'],
];
const RUNS: readonly (readonly [YardOrder, string])[] = [
	[MEASURE, 'visit'],
	[MEASURE, 'verdict'],
	[MEASURE, 'backToKit'],
	[{ kind: 'backAtKit' }, 'done'],
];

test('from whose Wi-Fi to back at the kit, each order leads to the next step, and the best place gets the run that answers', async () => {
	const { desk, launched, step } = openDesk(folder());
	for (const [order, next] of [...QUESTIONS, ...RUNS]) {
		await desk.obey(order);
		expect(step(), JSON.stringify(order)).toBe(next);
	}
	expect(launched.map(({ place, profile, observedMs }) => [place, profile, observedMs])).toEqual([
		['door', 'brief', 120_000],
		['arch', 'brief', 120_000],
		['arch', 'verdict', 330_000],
	]);
	const { check } = desk.state();
	expect(check?.sections[0]?.items[0]).toBe('arch: fit for live steering');
	expect(check?.frame).toBe('steering');
	expect(check?.channel.join(' ')).toContain('radar channels');
	const said = check?.sections.find(({ title }) => title === 'The channel');
	expect(said?.items).toEqual(check?.channel);
	expect(desk.state().refused).toBeNull();
});

test('left at any step and opened again by another console, it goes on with the same answer', async () => {
	const expected = openDesk(folder());
	for (const [order] of [...QUESTIONS, ...RUNS]) await expected.desk.obey(order);
	const all = [...QUESTIONS, ...RUNS];
	for (let cutAfter = 1; cutAfter < all.length; cutAfter++) {
		const root = folder();
		const first = openDesk(root);
		for (const [order] of all.slice(0, cutAfter)) await first.desk.obey(order);
		const second = openDesk(root);
		expect(second.desk.state().kept.map(({ name }) => name)).toEqual(['yard-1']);
		for (const order of [
			{ kind: 'open', name: 'yard-1' } as const,
			...all.slice(cutAfter).map(([each]) => each),
		])
			await second.desk.obey(order);
		expect(second.desk.state().check?.sections, `cut after ${cutAfter}`).toEqual(
			expected.desk.state().check?.sections,
		);
	}
});

test('a console that dies in the middle of a run loses that run and nothing else', async () => {
	const root = folder();
	const dying = openDesk(root, () => new Promise(() => {}));
	for (const [order] of QUESTIONS) await dying.desk.obey(order);
	void dying.desk.obey(MEASURE);
	await expect.poll(() => dying.launched.length).toBe(1);
	const file = JSON.parse(readFileSync(join(root, 'yards/yard-1/yard.json'), 'utf8'));
	expect(file.visits).toMatchObject([{ place: 0, state: 'begun', runId: 'yard-1-1-visit' }]);
	const { desk, launched } = openDesk(root);
	await desk.obey({ kind: 'open', name: 'yard-1' });
	await desk.obey(MEASURE);
	expect(launched).toMatchObject([{ place: 'door', runId: 'yard-1-2-visit' }]);
});

test('"Stop now and tell me" in the middle of a run ends it, throws it away and tells what is known; going on makes it again', async () => {
	let end: (value: YardReading) => void = () => {};
	const { desk, step, launched, stopCount } = openDesk(
		folder(),
		() => new Promise((resolve) => (end = resolve)),
	);
	for (const [order] of QUESTIONS) await desk.obey(order);
	const run = desk.obey(MEASURE);
	await expect.poll(() => desk.state().check?.isMeasuring).toBe(true);
	await desk.obey({ kind: 'minutes', minutes: 5 });
	expect(desk.state().refused).toBe('A run is on: stop it first.');
	await desk.obey({ kind: 'stop' });
	expect(stopCount()).toBe(1);
	end(reading(0));
	await run;
	expect(step()).toBe('backToKit');
	expect(desk.state().check?.sections.map(({ title }) => title)).toEqual(['May I steer?', 'The channel']);
	expect(desk.state().check?.sections[0]?.items[0]).toContain('treat as not fit to steer');
	await desk.obey({ kind: 'goOn' });
	void desk.obey(MEASURE);
	await expect.poll(() => launched.map(({ place }) => place)).toEqual(['door', 'door']);
});

test('a tablet that is dead leaves its place untold; it is tried once more, and then the next one is looked at', async () => {
	const dead: Launch = async (what) => (what.place === 'door' ? null : usual(what));
	const { desk, launched } = openDesk(folder(), dead);
	for (const [order] of QUESTIONS) await desk.obey(order);
	for (let i = 0; i < 3; i++) await desk.obey(MEASURE);
	expect(launched.map(({ place }) => place)).toEqual(['door', 'door', 'arch']);
	expect(desk.state().check?.places[0]?.runs).toBe('could not be measured');
	expect(desk.state().check?.next?.name).toBe('arch');
});

test('what fails outside (no code shown yet) is thrown for the console to tell, and no run counts', async () => {
	const { desk, step } = openDesk(folder(), () =>
		Promise.reject(new OutsideFailure('consoleBusy', 'a', 'b')),
	);
	for (const [order] of QUESTIONS) await desk.obey(order);
	await expect(desk.obey(MEASURE)).rejects.toThrow(OutsideFailure);
	expect(desk.state().check?.isMeasuring).toBe(false);
	expect(step()).toBe('visit');
});

test('the reading at home stands beside the answer, difference and doubt', async () => {
	const { desk } = openDesk(folder());
	for (const [order] of [...QUESTIONS, ...RUNS.slice(0, 3)]) await desk.obey(order);
	await desk.obey({ kind: 'atHome', runId: 'at-home' });
	const home = desk.state().check?.sections.find(({ title }) => title === 'Beside the reading at home');
	// 60 here less 40 at home; 90 less 50; the two doubts of 3 and 4 in quadrature.
	expect(home?.items[0]?.replace(/\s/g, ' ')).toMatch(
		/median \+20\.0 ms, 19 times in 20 \+40\.0 ms, give or take 5\.0 ms/,
	);
});

test('a name that would leave the folder is refused, and so is a run that is asked for before there is a place', async () => {
	const { desk } = openDesk(folder());
	await desk.obey({ kind: 'open', name: '../elsewhere' });
	expect(desk.state()).toMatchObject({ check: null, refused: expect.stringContaining('A name of letters') });
	await desk.obey({ kind: 'open', name: '' });
	await desk.obey(MEASURE);
	expect(desk.state().refused).toBe('No run is next.');
});

test('a walk asks afterwards what only the person saw, and tells it with where the picture stood', async () => {
	const breaks = [{ atMs: 62_000, lengthMs: 4000, steadyAfterMs: 1500 }];
	const { desk } = openDesk(folder(), async ({ runId }) => ({
		...reading(0),
		breaks: runId.endsWith('walk') ? breaks : [],
	}));
	for (const [order] of [...QUESTIONS, ...RUNS.slice(0, 3)]) await desk.obey(order);
	await desk.obey({ kind: 'want', run: 'walk', place: 1 });
	await desk.obey(MEASURE);
	const walked = desk.state().check?.walkToNote;
	expect(walked).toMatch(/walk$/);
	const told = (): string =>
		(desk.state().check?.sections.find(({ title }) => title === 'Walking away')?.items ?? [])
			.join(' ')
			.replace(/\s/g, ' ');
	expect(told()).toBe(
		'From arch: 1:02 min: no new picture for 4.0 s; steady again 1500 ms after the first new picture. Whether the kit’s own app warns was not tried.',
	);
	await desk.obey({ kind: 'noteWalk', runId: walked ?? '', note: { distanceM: 14, warned: 'yes' } });
	expect(desk.state().check?.walkToNote).toBeNull();
	expect(told()).toContain('It stood at about 14 m, as noted. The kit’s own app warned on that way.');
});

import { appendFileSync, cpSync, mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { expect, test } from 'vitest';
import { enterRuns } from '../../src/register/enterRuns.ts';
import { lostEntries, runFaults } from '../../src/register/integrity.ts';
import { mergeRegisters } from '../../src/register/mergeRegisters.ts';
import { readRegister, writeKit } from '../../src/register/registerFolder.ts';
import { readRunIndex } from '../../src/register/runIndex.ts';
import { sealFolder } from '../../src/register/seal.ts';
import { searchRuns } from '../../src/register/searchRuns.ts';
import { trendOf } from '../../src/register/trend.ts';
import { emptyRoot, enterRun, madeKit, madeRunFolder } from './madeRegister.ts';

async function twoRuns(): Promise<string> {
	const root = emptyRoot();
	await madeRunFolder(root, { runId: 'early', startedAt: '2026-02-01T10:00:00Z', p95Ms: 110 });
	await madeRunFolder(root, { runId: 'late', startedAt: '2026-03-01T10:00:00Z', p95Ms: 140 });
	await enterRun(root, { runId: 'early', kit: 'lark' });
	return root;
}

async function found(root: string, filter: Parameters<typeof searchRuns>[2] = {}) {
	return searchRuns(await readRunIndex(root), await readRegister(root), filter);
}

test('runs are listed newest first with the kit and session they were entered under', async () => {
	const runs = await found(await twoRuns());
	expect(runs.map(({ facts, kit, session }) => [facts.runId, kit, session])).toEqual([
		['late', null, null],
		['early', 'lark', 'session-early'],
	]);
});

test('runs are found by kit, by day and by words', async () => {
	const root = await twoRuns();
	const ids = async (filter: Parameters<typeof searchRuns>[2]) =>
		(await found(root, filter)).map(({ facts }) => facts.runId);
	expect(await ids({ kit: 'lark' })).toEqual(['early']);
	expect(await ids({ since: '2026-02-15' })).toEqual(['late']);
	expect(await ids({ until: '2026-02-01' })).toEqual(['early']);
	expect(await ids({ search: 'LARK session-early' })).toEqual(['early']);
	expect(await ids({ search: 'nowhere' })).toEqual([]);
	expect(await ids({ fitness: 'unfit' })).toEqual([]);
});

test('the index is made again from the folders when it is torn, gone, or a folder came or changed', async () => {
	const root = await twoRuns();
	await readRunIndex(root);
	const index = join(root, '.runs-index.json');
	writeFileSync(index, readFileSync(index, 'utf8').slice(0, 200));
	expect(await found(root)).toHaveLength(2);
	rmSync(index);
	await madeRunFolder(root, { runId: 'new', startedAt: '2026-04-01T10:00:00Z', p95Ms: 99.5 });
	expect((await found(root))[0]?.facts.figures['freshDelay.p95Ms']).toBe(99.5);
	await madeRunFolder(root, { runId: 'new', startedAt: '2026-04-01T10:00:00Z', p95Ms: 101.25 });
	expect((await found(root))[0]?.facts.figures['freshDelay.p95Ms']).toBe(101.25);
	rmSync(join(root, 'new'), { recursive: true });
	expect(await found(root)).toHaveLength(2);
});

test('a changed file, a missing file and a swapped run are each named', async () => {
	const root = await twoRuns();
	const entry = (await readRegister(root)).entries.get('early') ?? null;
	const folder = join(root, 'early');
	expect(await runFaults(folder, entry)).toEqual([]);
	appendFileSync(join(folder, 'result.json'), ' ');
	expect((await runFaults(folder, entry)).join()).toContain('result.json (changed)');
	rmSync(join(folder, 'result.json'));
	expect((await runFaults(folder, entry)).join()).toContain('result.json (missing)');
	rmSync(folder, { recursive: true });
	cpSync(join(root, 'late'), folder, { recursive: true });
	expect((await runFaults(folder, entry)).join()).toContain('its observations are others');
});

test('a torn result and a run of a newer version are named, both versions with it, and hide no other run', async () => {
	const root = await twoRuns();
	const result = join(root, 'late', 'result.json');
	writeFileSync(result, readFileSync(result, 'utf8').slice(0, 500));
	const seal = join(root, 'early', 'run.json');
	writeFileSync(seal, readFileSync(seal, 'utf8').replace('"version": 1', '"version": 7'));
	await madeRunFolder(root, { runId: 'whole' });
	const rows = await readRunIndex(root);
	const troubles = rows.map(({ trouble }) => trouble).join('\n');
	expect(troubles).toContain('result.json is torn');
	expect(troubles).toMatch(/version 7; this program knows versions up to 1/);
	expect(rows.filter(({ trouble }) => trouble === null).map(({ folder }) => folder)).toEqual(['whole']);
});

test('a result of an earlier program is listed with its figures; what it lacks is no point of a trend', async () => {
	const root = emptyRoot();
	const fixture = resolve(import.meta.dirname, '../../fixtures/results/before-largest-cluster.json');
	const older = JSON.parse(readFileSync(fixture, 'utf8'));
	await madeRunFolder(root, { runId: 'older', change: (result) => Object.assign(result, older) });
	await madeRunFolder(root, { runId: 'today' });
	const runs = await found(root, {});
	expect(runs.map(({ trouble }) => trouble)).toEqual([null, null]);
	const valuesOf = (path: string) => trendOf(runs, path).points.length;
	expect(valuesOf('pictureAge.p95UpperMs')).toBe(2);
	expect(valuesOf('pictureAge.overLimit.clusterRatio')).toBe(1);
	expect(trendOf(runs, 'pictureAge.overLimit.clusterRatio').withoutIt).toBe(1);
});

test('a result of a newer version is named with both versions', async () => {
	const root = emptyRoot();
	const change = (result: { version: number }) => Object.assign(result, { version: 5 });
	await madeRunFolder(root, { runId: 'late', change });
	const [row] = await readRunIndex(root);
	expect(row?.trouble).toMatch(/result.json is of version 5; this program knows versions up to 1/);
	expect(row?.facts).toBeNull();
});

test('two folders that hold one run id are both named', async () => {
	const root = await twoRuns();
	await madeRunFolder(root, { runId: 'early', p95Ms: 300 }, 'early-again');
	const rows = await readRunIndex(root);
	expect(rows.filter(({ trouble }) => trouble?.includes('early and early-again'))).toHaveLength(2);
});

test('a kit file of a newer version is named with both versions and the other kits stand', async () => {
	const root = await twoRuns();
	await writeKit(root, madeKit('owl'));
	const file = join(root, 'register/kits/lark.json');
	writeFileSync(file, readFileSync(file, 'utf8').replace('"version": 1', '"version": 3'));
	const register = await readRegister(root);
	expect([...register.kits.keys()]).toEqual(['owl']);
	expect(register.troubles.join()).toMatch(/version 3; this program knows versions up to 1/);
});

test('two registers become one: runs and records come over, the later kit wins with its own reference, and that is named', async () => {
	const [here, there] = [await twoRuns(), emptyRoot()];
	await madeRunFolder(there, { runId: 'theirs', p95Ms: 120 });
	await enterRun(there, { runId: 'theirs', kit: 'lark' });
	await writeKit(
		there,
		madeKit('lark', { firmware: '1.1', referenceRuns: ['theirs'], changedAt: '2026-05-01T00:00:00Z' }),
	);
	await writeKit(here, madeKit('lark', { referenceRuns: ['early'] }));
	const merged = await mergeRegisters(there, here);
	expect(merged.conflicts).toEqual([
		'Kit lark has other reference runs on the other side; these stand: theirs.',
	]);
	expect(merged.runsCopied).toEqual(['theirs']);
	const register = await readRegister(here);
	expect(register.kits.get('lark')?.firmware).toBe('1.1');
	expect(register.kits.get('lark')?.referenceRuns).toEqual(['theirs']);
	expect((await found(here, { kit: 'lark' })).map(({ facts }) => facts.runId).sort()).toEqual([
		'early',
		'theirs',
	]);
	const again = await mergeRegisters(there, here);
	expect([again.runsCopied, again.recordsTaken]).toEqual([[], 0]);
});

test('a run that both registers have under one name with other contents is named and left as it is', async () => {
	const [here, there] = [await twoRuns(), emptyRoot()];
	await madeRunFolder(there, { runId: 'early', p95Ms: 999 });
	const merged = await mergeRegisters(there, here);
	expect(merged.conflicts.join()).toContain('early was not copied');
	expect((await found(here, { kit: 'lark' }))[0]?.facts.figures['freshDelay.p95Ms']).toBe(110);
});

test('a run without a seal that holds something else on the other side is named; the same one is not', async () => {
	const [here, there] = [emptyRoot(), emptyRoot()];
	for (const root of [here, there])
		rmSync(join(await madeRunFolder(root, { runId: 'brokenOff', p95Ms: 110 }), 'run.json'));
	expect((await mergeRegisters(there, here)).conflicts).toEqual([]);
	appendFileSync(join(there, 'brokenOff', 'observations.jsonl'), 'one more');
	expect((await mergeRegisters(there, here)).conflicts.join()).toContain('brokenOff was not copied');
});

test('a later copy of a kit that leaves something blank takes nothing away, its reference least of all', async () => {
	const [here, there] = [await twoRuns(), emptyRoot()];
	await writeKit(here, madeKit('lark', { referenceRuns: ['early'] }));
	await writeKit(
		there,
		madeKit('lark', {
			...{ firmware: '1.1', tabletVersion: '', serialNumbers: {}, changedAt: '2026-05-01T00:00:00Z' },
		}),
	);
	await mergeRegisters(there, here);
	expect((await readRegister(here)).kits.get('lark')).toMatchObject({
		firmware: '1.1',
		tabletVersion: 'a tablet',
		serialNumbers: { scope: 'lark-1' },
		referenceRuns: ['early'],
	});
});

test('two sessions that go by one name on two computers are never made one', async () => {
	const [here, there] = [await twoRuns(), emptyRoot()];
	await madeRunFolder(there, { runId: 'theirs' });
	await enterRun(there, { runId: 'theirs', kit: 'owl' });
	const file = join(there, 'register/sessions/session-theirs.json');
	writeFileSync(
		join(there, 'register/sessions/session-early.json'),
		readFileSync(file, 'utf8').replace('session-theirs', 'session-early'),
	);
	const entry = join(there, 'register/runs/theirs.json');
	writeFileSync(entry, readFileSync(entry, 'utf8').replace('session-theirs', 'session-early'));
	const merged = await mergeRegisters(there, here);
	expect(merged.conflicts.join()).toContain('Session session-early is there on both sides');
	const register = await readRegister(here);
	expect(register.sessions.get('session-early')?.kit).toBe('lark');
	expect(register.entries.has('theirs')).toBe(false);
});

test('acceptances come over with the register, and one that is signed here stands', async () => {
	const [here, there] = [await twoRuns(), await twoRuns()];
	for (const [root, text] of [
		[here, 'ours'],
		[there, 'theirs'],
	] as const) {
		mkdirSync(join(root, 'register/acceptances'));
		writeFileSync(join(root, 'register/acceptances/lark-1.html'), text);
	}
	writeFileSync(join(there, 'register/acceptances/lark-2.html'), 'theirs');
	const merged = await mergeRegisters(there, here);
	expect(merged.conflicts.join()).toContain('lark-1.html is there on both sides');
	expect(readFileSync(join(here, 'register/acceptances/lark-1.html'), 'utf8')).toBe('ours');
	expect(readFileSync(join(here, 'register/acceptances/lark-2.html'), 'utf8')).toBe('theirs');
});

test('a run that was entered and is gone, and one whose session is another kit’s, are named', async () => {
	const root = await twoRuns();
	await enterRun(root, { runId: 'late', kit: 'owl' });
	const session = join(root, 'register/sessions/session-late.json');
	writeFileSync(session, readFileSync(session, 'utf8').replace('"kit": "owl"', '"kit": "lark"'));
	expect((await found(root, { kit: 'owl' }))[0]?.trouble).toContain(
		'its session session-late is one of lark',
	);
	rmSync(join(root, 'early'), { recursive: true });
	const lost = lostEntries(await readRunIndex(root), await readRegister(root));
	expect(lost.map(({ why }) => why)).toEqual([
		'Run early is entered as one of lark, and its folder is not there.',
	]);
});

test('what the index remembers is not believed where it matters', async () => {
	const root = await twoRuns();
	await readRunIndex(root);
	const index = join(root, '.runs-index.json');
	writeFileSync(index, readFileSync(index, 'utf8').replaceAll('140', '40'));
	const p95 = (rows: Awaited<ReturnType<typeof readRunIndex>>) =>
		rows.find(({ folder }) => folder === 'late')?.facts?.figures['freshDelay.p95Ms'];
	expect(p95(await readRunIndex(root))).toBe(40);
	expect(p95(await readRunIndex(root, { afresh: true }))).toBe(140);
});

test('one folder copied over the other by hand is a register too', async () => {
	const [here, there] = [await twoRuns(), emptyRoot()];
	await madeRunFolder(there, { runId: 'theirs', p95Ms: 120 });
	await enterRun(there, { runId: 'theirs', kit: 'owl' });
	await found(there);
	cpSync(there, here, { recursive: true });
	expect((await found(here, { kit: 'owl' })).map(({ facts }) => facts.runId)).toEqual(['theirs']);
	expect(await found(here)).toHaveLength(3);
});

test('a figure over time shows where its level changed', async () => {
	const root = emptyRoot();
	for (let i = 0; i < 16; i++) {
		const startedAt = `2026-01-${String(i + 1).padStart(2, '0')}T10:00:00Z`;
		await madeRunFolder(root, { runId: `run-${i}`, startedAt, p95Ms: (i < 9 ? 110 : 160) + (i % 3) });
	}
	const trend = trendOf(await found(root), 'freshDelay.p95Ms');
	expect(trend.points).toHaveLength(16);
	expect(trend.changes).toEqual([{ index: 9, before: 111, after: 161, startedAt: '2026-01-10T10:00:00Z' }]);
	expect(trendOf(await found(root), 'sharpness.none').withoutIt).toBe(16);
});

test('a figure over several kits or rigs is listed and no change is told', async () => {
	const root = emptyRoot();
	for (let i = 0; i < 16; i++) {
		const startedAt = `2026-01-${String(i + 1).padStart(2, '0')}T10:00:00Z`;
		const runId = `run-${i}`;
		await madeRunFolder(root, { runId, startedAt, p95Ms: (i < 9 ? 110 : 160) + (i % 3) });
		await enterRun(root, { runId, kit: i < 9 ? 'lark' : 'owl' });
	}
	const mixed = trendOf(await found(root), 'freshDelay.p95Ms');
	expect(mixed).toMatchObject({ changes: [], mixed: ['of more than one kit: lark; owl'] });
	expect(trendOf(await found(root, { kit: 'lark' }), 'freshDelay.p95Ms').mixed).toEqual([]);
});

test('many runs of one session are one point of a trend: a session is one draw', async () => {
	const root = emptyRoot();
	for (let i = 0; i < 16; i++) {
		const startedAt = `2026-01-${String(i + 1).padStart(2, '0')}T10:00:00Z`;
		const runId = `run-${i}`;
		await madeRunFolder(root, { runId, startedAt, p95Ms: (i < 9 ? 110 : 160) + (i % 3) });
		await enterRun(root, { runId, kit: 'lark' });
		const entry = join(root, 'register/runs', `${runId}.json`);
		const session = `session-run-${i < 9 ? 0 : 9}`;
		writeFileSync(entry, readFileSync(entry, 'utf8').replace(`session-${runId}`, session));
	}
	expect(trendOf(await found(root), 'freshDelay.p95Ms')).toMatchObject({ sessionCount: 2, changes: [] });
});

test('a run is entered once for good: not under another kit, and not with other observations under its name', async () => {
	const root = await twoRuns();
	const enter = (kit: string, session: string) => enterRuns({ root, kit, runs: ['early'], session });
	await writeKit(root, madeKit('owl'));
	await expect(enter('owl', 'morning')).rejects.toThrow(/entered as one of lark/);
	await expect(enter('owl', 'session-early')).rejects.toThrow(/session-early is one of lark/);
	await enterRuns({ root, kit: 'lark', runs: [join(root, 'early')], session: 'morning', poweredOff: true });
	expect((await found(root, { kit: 'lark' }))[0]?.session).toBe('morning');
	writeFileSync(join(root, 'early', 'observations.jsonl'), 'others\n');
	const { files: _files, ...facts } = JSON.parse(readFileSync(join(root, 'early', 'run.json'), 'utf8'));
	await sealFolder(join(root, 'early'), facts);
	await expect(enter('lark', 'morning')).rejects.toThrow(/entered before with other observations/);
	await expect(enterRuns({ root, kit: 'lark', runs: ['../early'], session: 'x' })).rejects.toThrow(
		/is no run in/,
	);
});

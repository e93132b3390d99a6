/** A real link run from outside, and what can be done with the folder it leaves. */
import { appendFileSync, readFileSync, truncateSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, expect, test } from 'vitest';
import type { ResultDocument } from '../../src/verdict/resultDocument.ts';
import { type Ended, emptyFolder, steerworthy } from './program.ts';

const out = emptyFolder();
const folder = join(out, 'one');
let linked: Ended;

beforeAll(async () => {
	const words = ['--tablet', 'none', '--profile', 'demo', '--seconds', '12', '--air', 'fencePulse'];
	linked = await steerworthy([
		'link',
		...words,
		'--name',
		'one',
		'--json',
		'--csv',
		'--out',
		out,
		'--place',
		'the shed',
	]);
});

test('a run prints one result document, and nothing else, on stdout', () => {
	expect(linked.code).toBe(0);
	const result: ResultDocument = JSON.parse(linked.stdout);
	expect(result.run).toMatchObject({
		id: 'one',
		rig: 'link',
		place: 'the shed',
		profile: 'demo',
		viewerClock: 'pinged',
	});
	expect(result.run.subject).toMatchObject({ kind: 'computer', invented: false });
	expect(result.run.observedMs).toBeGreaterThanOrEqual(12_000);
	// A demo never says yes, and a reader on this computer is no tablet.
	expect(result.verdict.steer).not.toBe('yes');
	if (result.metrics.frames.kind !== 'measured') throw new Error('no ledger');
	const { sent, presented, notDrawn, unreadable, overtaken, late, lost } = result.metrics.frames;
	expect(presented + notDrawn + unreadable + overtaken + late + lost).toBe(sent);
	expect(sent).toBeGreaterThan(300);
});

test('judge makes the same result again, to the last digit', async () => {
	const { code, stdout } = await steerworthy(['judge', folder]);
	expect(code).toBe(0);
	expect(stdout).toContain('Every file is as it was when the run was sealed.');
	expect(stdout).toContain('The result is the kept one, to the last digit.');
	const again = await steerworthy(['judge', folder, '--json']);
	expect(again.stdout).toBe(readFileSync(join(folder, 'result.json'), 'utf8'));
});

test('a demo that is required to be fit for steering is not', async () => {
	expect((await steerworthy(['judge', folder, '--require', 'steering'])).code).toBe(4);
	expect((await steerworthy(['judge', folder, '--require', 'breakfast'])).code).toBe(2);
});

test('runs lists it by place and headline', async () => {
	const { stdout } = await steerworthy(['runs', '--in', out]);
	expect(stdout).toContain(folder);
	expect(stdout.toLowerCase()).toContain('not enough evidence yet');
});

test('the tables parse back to what the ledger counted', () => {
	const [heading = '', ...rows] = readFileSync(join(folder, 'frames.csv'), 'utf8').trim().split('\n');
	expect(heading).toContain('shownMs');
	const result: ResultDocument = JSON.parse(linked.stdout);
	if (result.metrics.frames.kind !== 'measured') throw new Error('no ledger');
	expect(rows.length).toBeGreaterThanOrEqual(result.metrics.frames.sent);
});

test('a file that was changed after sealing is named', async () => {
	appendFileSync(join(folder, 'report.html'), '<!-- touched -->');
	const { stdout } = await steerworthy(['judge', folder]);
	expect(stdout).toContain('report.html (changed)');
});

test('a torn file is judged by what it still holds, says so, and is fit for nothing', async () => {
	const path = join(folder, 'observations.jsonl');
	const { length } = readFileSync(path);
	truncateSync(path, Math.floor(length * 0.6));
	const { code, stdout } = await steerworthy(['judge', folder, '--json']);
	expect(code).toBe(0);
	const result: ResultDocument = JSON.parse(stdout);
	expect(result.run.torn).toBe(true);
	expect(result.verdict.steer).not.toBe('yes');
	expect(result.verdict.record).not.toBe('yes');
	expect(result.warnings.map(({ code: word }) => word).join()).toMatch(/torn/i);
	if (result.metrics.freshDelay.kind !== 'measured') throw new Error('a torn file lost what it held');
	expect(result.metrics.freshDelay.count).toBeGreaterThan(100);
});

test('bad input gets one sentence of what happened and one of what to do', async () => {
	const air = join(out, 'air.json');
	writeFileSync(air, '{\n\t"delayMs": -4\n}\n');
	const criteria = join(out, 'criteria.json');
	writeFileSync(
		criteria,
		'{\n"format": "steerworthy-criteria",\n"version": 1,\n"name": "mine",\n"lines": {\n"age": { "limit": "x" }\n}\n}\n',
	);
	const cases: readonly [words: string[], code: number, says: RegExp][] = [
		[['link', '--air', 'nosuchair'], 3, /no air called nosuchair[\s\S]*fencePulse/],
		[['link', '--air', air], 3, /line 2[\s\S]*delayMs/],
		[['link', '--criteria', criteria], 3, /line 6[\s\S]*age/],
		[['link', '--profile', 'forever'], 2, /Allowed choices are demo, brief, verdict, long/],
		[['link', '--name', '../up'], 2, /cannot name a run/],
		[['link', '--name', 'one', '--out', out], 3, /is there already[\s\S]*--name/],
		[['judge', join(out, 'nowhere')], 3, /holds no observations\.jsonl[\s\S]*runs/],
		[['card', '--tick', '-1'], 2, /whole number/],
		[['nonsense'], 2, /unknown command/],
	];
	for (const [words, code, says] of cases) {
		const ended = await steerworthy(words);
		expect({ words, code: ended.code }).toEqual({ words, code });
		expect(ended.stderr).toMatch(says);
		expect(ended.stdout).toBe('');
	}
});

import { readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { checkAcceptances, signOffCode, writeAcceptance } from '../../src/register/acceptances.ts';
import { gatherArms } from '../../src/register/arms.ts';
import { gatherAcceptance } from '../../src/register/gatherAcceptance.ts';
import { kitOf, readRegister, writeKit, writeSession } from '../../src/register/registerFolder.ts';
import { readRunIndex } from '../../src/register/runIndex.ts';
import { searchRuns } from '../../src/register/searchRuns.ts';
import { blankForm } from '../../src/verdict/acceptanceForm.ts';
import type { AcceptanceRecord } from '../../src/verdict/acceptanceRecord.ts';
import { emptyRoot, enterRun, madeKit, madeRunFolder, madeSession } from './madeRegister.ts';

/** Three reference runs in February, three and one broken attempt in March. */
async function repaired(): Promise<string> {
	const root = emptyRoot();
	const runs = [
		...[114, 115, 116].map((p95Ms, i) => ({
			runId: `old-${i}`,
			startedAt: `2026-02-0${i + 1}T10:00:00Z`,
			p95Ms,
		})),
		...[115, 117, 114].map((p95Ms, i) => ({
			runId: `new-${i}`,
			startedAt: `2026-03-0${i + 1}T10:00:00Z`,
			p95Ms,
		})),
		{ runId: 'new-warm', startedAt: '2026-03-05T10:00:00Z', p95Ms: 300 },
	];
	for (const run of runs) {
		await madeRunFolder(root, run);
		await enterRun(root, { runId: run.runId, kit: 'lark' });
	}
	await writeSession(root, madeSession('session-new-warm', 'lark', { poweredOffBefore: false }));
	await writeKit(root, madeKit('lark', { referenceRuns: ['old-0', 'old-1', 'old-2'] }));
	return root;
}

async function gather(root: string, rig: string | null = null) {
	const register = await readRegister(root);
	const form = {
		...blankForm(),
		returnedOn: '2026-02-20',
		orientation: 'upright' as const,
		wheelUpPictureUp: true,
	};
	const rows = await readRunIndex(root);
	return gatherAcceptance({ root, rows, register, kit: kitOf(register, 'lark'), form, rig });
}

test('every attempt since the return stands in the record, and one not begun from power off does not count', async () => {
	const root = await repaired();
	await madeRunFolder(root, { runId: 'stray', startedAt: '2026-03-04T10:00:00Z' });
	const { acceptance, attempts, referenceRuns, notEntered } = await gather(root);
	expect(notEntered.join()).toMatch(/^stray: /);
	expect(acceptance.outcome).toBe('acceptable');
	expect(referenceRuns).toEqual(['old-0', 'old-1', 'old-2']);
	expect(attempts.map(({ runId, counted }) => [runId, counted])).toEqual([
		['new-0', true],
		['new-1', true],
		['new-2', true],
		['new-warm', false],
	]);
});

test('a reference run that was changed is no reference', async () => {
	const root = await repaired();
	writeFileSync(join(root, 'old-1', 'observations.jsonl'), 'others\n');
	await expect(gather(root)).rejects.toThrow(/observations.jsonl \(changed\)/);
});

test('a reference run that is gone, or did not begin from power off, is not passed over', async () => {
	const gone = await repaired();
	rmSync(join(gone, 'old-1'), { recursive: true });
	await expect(gather(gone)).rejects.toThrow(/Reference run old-1 is not there/);
	const warm = await repaired();
	await writeSession(warm, madeSession('session-old-1', 'lark', { poweredOffBefore: false }));
	await expect(gather(warm)).rejects.toThrow(/old-1: its session did not begin from power off/);
});

test('a reference of two sessions opens no way by the limits alone', async () => {
	const root = await repaired();
	await writeKit(root, madeKit('lark', { referenceRuns: ['old-0', 'old-2'] }));
	const { acceptance } = await gather(root);
	expect(acceptance).toMatchObject({ outcome: 'notEnoughEvidence', against: 'reference' });
	expect(acceptance.reasons.join()).toContain('the reference has 2 of the 3 sessions');
});

test('a kit read in another place than its reference is not held against it', async () => {
	const root = await repaired();
	await writeSession(root, madeSession('session-new-1', 'lark', { place: 'barn' }));
	await expect(gather(root)).rejects.toThrow(/more than one place \(barn; none stated\)/);
});

test('a kit with earlier sessions of which none is named as reference is not accepted by the limits alone', async () => {
	const root = await repaired();
	await writeKit(root, madeKit('lark'));
	const { acceptance, earlier } = await gather(root);
	expect(earlier).toHaveLength(3);
	expect(acceptance).toMatchObject({ outcome: 'notEnoughEvidence', against: 'limitsOnly' });
	expect(acceptance.reasons.join()).toContain('none is named as its reference');
});

test('an attempt that was entered and deleted, and one that failed without counting, stand in the way', async () => {
	const root = await repaired();
	rmSync(join(root, 'new-warm'), { recursive: true });
	// Entered before the return: nothing of it.
	expect((await gather(root)).acceptance.outcome).toBe('acceptable');
	const entry = join(root, 'register/runs/new-warm.json');
	writeFileSync(entry, readFileSync(entry, 'utf8').replace('2026-02-02', '2026-03-06'));
	const { acceptance, attempts } = await gather(root);
	expect(acceptance).toMatchObject({ outcome: 'notEnoughEvidence' });
	expect(attempts.at(-1)).toMatchObject({ runId: 'new-warm', counted: false });
	await madeRunFolder(root, {
		runId: 'new-warm',
		startedAt: '2026-03-05T10:00:00Z',
		change: (result) => {
			result.verdict.steer = 'no';
		},
	});
	expect((await gather(root)).acceptance.reasons.join()).toContain('new-warm says no and does not count');
});

test('runs judged by two sets of criteria are no acceptance; by one, the record names it', async () => {
	const root = await repaired();
	const gentle = (runId: string, startedAt: string) =>
		madeRunFolder(root, {
			...{ runId, startedAt, p95Ms: 115 },
			change: (result) => {
				result.criteriaSet = {
					name: 'gentle',
					hash: 'fe',
					differsFromStandard: ['age: level 340 instead of 240'],
				};
			},
		});
	expect((await gather(root)).criteria).toMatchObject({ name: 'standard', differsFromStandard: [] });
	await gentle('new-0', '2026-03-01T10:00:00Z');
	await enterRun(root, { runId: 'new-0', kit: 'lark' });
	await writeKit(root, madeKit('lark', { referenceRuns: ['old-0', 'old-1', 'old-2'] }));
	await expect(gather(root)).rejects.toThrow(/more than one set of criteria/);
});

test('a run of the morning of the return counts wherever the sun rises first', async () => {
	const root = await repaired();
	await madeRunFolder(root, { runId: 'dawn', startedAt: '2026-02-19T19:00:00Z' });
	await enterRun(root, { runId: 'dawn', kit: 'lark' });
	await writeKit(root, madeKit('lark', { referenceRuns: ['old-0', 'old-1', 'old-2'] }));
	expect((await gather(root)).attempts[0]).toMatchObject({ runId: 'dawn', counted: true });
});

test('runs of another rig are named as attempts and do not count', async () => {
	const root = await repaired();
	const { attempts, referenceRuns } = await gather(root, 'optical');
	expect(attempts.every(({ counted }) => !counted)).toBe(true);
	expect(attempts[0]?.failures.join()).toContain('it is one of the rig link');
	expect(referenceRuns).toEqual([]);
});

test('a new run that was changed stands in the record with its fault and does not count', async () => {
	const root = await repaired();
	writeFileSync(join(root, 'new-1', 'observations.jsonl'), 'others\n');
	const { acceptance, attempts } = await gather(root);
	expect(attempts[1]).toMatchObject({ counted: false });
	expect(attempts[1]?.failures.join()).toContain('changed');
	expect(acceptance.outcome).toBe('notEnoughEvidence');
});

test('a signed record is never written over, and its code changes with anything in it', async () => {
	const root = await repaired();
	const record: AcceptanceRecord = {
		format: 'steerworthy-acceptance',
		version: 1,
		toolVersion: '0',
		kit: 'lark',
		form: { ...blankForm(), jobNumber: '42' },
		...(await gather(root)),
		signedAt: null,
	};
	expect(signOffCode({ ...record, kit: 'owl' })).not.toBe(signOffCode(record));
	expect(signOffCode({ ...record, signedAt: 'now' })).toBe(signOffCode(record));
	await writeAcceptance(root, record, 'draft');
	const page = await writeAcceptance(root, { ...record, signedAt: 'now' }, 'signed');
	expect(readFileSync(page, 'utf8')).toBe('signed');
	expect(await checkAcceptances(root)).toEqual([]);
	writeFileSync(page, 'signed by others');
	expect((await checkAcceptances(root)).join()).toContain('its page was changed');
	writeFileSync(page, 'signed');
	const file = page.replace(/html$/, 'json');
	const kept = readFileSync(file, 'utf8');
	writeFileSync(file, kept.replace('"outcome": "acceptable"', '"outcome": "notAcceptable"'));
	expect((await checkAcceptances(root)).join()).toContain('is not the acceptance that was signed');
	writeFileSync(file, kept);
	await expect(writeAcceptance(root, record, 'again')).rejects.toThrow(/is signed and stays/);
	expect(readFileSync(page, 'utf8')).toBe('signed');
});

test('arms are kits with one session a power-off, oldest first; a warm session is left out and named', async () => {
	const root = await repaired();
	const register = await readRegister(root);
	const found = searchRuns(await readRunIndex(root), register, {});
	const { arms, leftOut } = gatherArms(found, register, { by: 'kit', names: ['lark'] });
	expect(arms[0]?.sessions.map(({ key }) => key)).toEqual(
		['old-0', 'old-1', 'old-2', 'new-0', 'new-1', 'new-2'].map((id) => `session-${id}`),
	);
	expect(leftOut.join()).toContain('new-warm');
});

test('one kit at home and the other in the barn are not compared; at one place they are', async () => {
	const root = emptyRoot();
	for (const [kit, place] of [
		['lark', 'home'],
		['owl', 'barn'],
		['owl', 'home'],
	] as const) {
		const runId = `${kit}-${place}`;
		await madeRunFolder(root, { runId });
		await enterRun(root, { runId, kit, place });
	}
	const register = await readRegister(root);
	const rows = await readRunIndex(root);
	const gathered = (filter: { place?: string }) =>
		gatherArms(searchRuns(rows, register, filter), register, { by: 'kit', names: ['lark', 'owl'] });
	expect(gathered({}).confounded.join()).toContain('more than one place (barn; home)');
	expect(gathered({ place: 'home' }).confounded).toEqual([]);
	expect(gathered({ place: 'home' }).runs[0]?.criteria).toMatch(/^standard, [0-9a-f]{16}: nothing differs/);
});

test('runs that name another kit than they are entered for are told of', async () => {
	const root = emptyRoot();
	for (const [kit, subject] of [
		['lark', 'the Lark'],
		['owl', 'the Owl'],
		['owl2', 'the Lark'],
	] as const) {
		await madeRunFolder(root, {
			runId: kit,
			change: (result) => {
				result.verdict.subject = subject;
			},
		});
		await enterRun(root, { runId: kit, kit });
	}
	const register = await readRegister(root);
	const found = searchRuns(await readRunIndex(root), register, {});
	const notes = (names: readonly string[]) =>
		gatherArms(found, register, { by: 'kit', names }).leftOut.join();
	expect(notes(['lark', 'owl'])).toBe('');
	expect(notes(['lark', 'owl2'])).toContain('runs of lark and owl2 name the same kit (the Lark)');
});

test('a run that was broken off stands in the record and does not count', async () => {
	const root = await repaired();
	await madeRunFolder(root, {
		runId: 'new-torn',
		startedAt: '2026-03-06T10:00:00Z',
		change: (result) => {
			result.run.torn = true;
		},
	});
	await enterRun(root, { runId: 'new-torn', kit: 'lark' });
	const torn = (await gather(root)).attempts.find(({ runId }) => runId === 'new-torn');
	expect(torn).toMatchObject({ counted: false });
	expect(torn?.failures).toContain('it was broken off');
});

test('a run that read a mirror image blocks, whatever a person said', async () => {
	const root = await repaired();
	await madeRunFolder(root, {
		runId: 'new-mirror',
		startedAt: '2026-03-06T10:00:00Z',
		p95Ms: 115,
		change: ({ criteria }) => {
			const line = criteria.find(({ id }: { id: string }) => id === 'orientation');
			Object.assign(line, { state: 'notMet', required: ['steer'] });
		},
	});
	await enterRun(root, { runId: 'new-mirror', kit: 'lark' });
	const { acceptance } = await gather(root);
	expect(acceptance).toMatchObject({ outcome: 'notAcceptable', blocked: true });
});

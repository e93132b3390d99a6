import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { signOffCode, writeAcceptance } from '../../src/register/acceptances.ts';
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

async function gather(root: string) {
	const register = await readRegister(root);
	const form = {
		...blankForm(),
		returnedOn: '2026-02-20',
		orientation: 'upright' as const,
		wheelUpPictureUp: true,
	};
	const rows = await readRunIndex(root);
	return gatherAcceptance({ root, rows, register, kit: kitOf(register, 'lark'), form, rig: null });
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

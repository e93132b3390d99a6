/** A practice's year from outside: kits, sessions, a comparison, an acceptance with its second press, a pack. */
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { enterRuns } from '../../src/register/enterRuns.ts';
import { writeKit } from '../../src/register/registerFolder.ts';
import { madeKit, madeRunFolder } from '../register/madeRegister.ts';
import { emptyFolder, steerworthy } from './program.ts';

const KITS = { lark: [114, 116, 115], owl: [383, 380, 386] };

/** Made in this process: what the commands for it do is tried once, below. */
async function practice(): Promise<string> {
	const root = emptyFolder();
	let hour = 10;
	for (const [kit, delays] of Object.entries(KITS)) {
		await writeKit(root, madeKit(kit));
		for (const [day, p95Ms] of delays.entries()) {
			const runId = `${kit}-${day}`;
			await madeRunFolder(root, { runId, startedAt: `2026-02-0${day + 1}T${hour}:00:00Z`, p95Ms });
			await enterRuns({ root, kit, runs: [runId], session: runId, poweredOff: true });
		}
		hour++;
	}
	return root;
}

test('kits are compared by sessions, and the page is written', async () => {
	const root = await practice();
	const page = join(root, 'comparison.html');
	const { code, stdout } = await steerworthy(['compare', 'lark', 'owl', '--in', root, '--html', page]);
	expect(code).toBe(0);
	expect(stdout).toContain('delay, 19 times in 20: lark is better than owl.');
	expect(readFileSync(page, 'utf8')).toContain('What we did not test');
	expect((await steerworthy(['compare', 'lark', 'wren', '--in', root])).code).toBe(3);
	expect((await steerworthy(['runs', '--kit', 'owl', '--check', '--in', root])).stdout).toContain(
		'as it was',
	);
});

test('an acceptance is signed with the second press only, and never again', async () => {
	const root = await practice();
	await steerworthy(['kits', 'set', 'lark', '--in', root, '--serial', 'scope=lark1']);
	const entered = await steerworthy([
		...['kits', 'enter', 'lark', 'lark-0', '--session', 'lark-0', '--powered-off', '--in', root],
	]);
	expect(entered.code, entered.stderr).toBe(0);
	await steerworthy(['kits', 'reference', 'lark', 'lark-0', 'lark-1', 'lark-2', '--in', root]);
	for (const [day, p95Ms] of [115, 117, 114].entries()) {
		const runId = `back-${day}`;
		await madeRunFolder(root, { runId, startedAt: `2026-03-0${day + 1}T10:00:00Z`, p95Ms });
		await enterRuns({ root, kit: 'lark', runs: [runId], session: runId, poweredOff: true });
	}
	const form = join(root, 'form.json');
	await steerworthy(['accept', 'lark', '--blank', form, '--in', root]);
	const blank = JSON.parse(readFileSync(form, 'utf8'));
	for (const key of Object.keys(blank)) if (blank[key] === '') blank[key] = 'said';
	for (const check of Object.values<Record<string, string>>(blank.checks))
		Object.assign(check, { state: 'done', by: 'Ann', reference: '1' });
	Object.assign(blank, { jobNumber: 'J1', returnedOn: '2026-02-20', orientation: 'upright' });
	Object.assign(blank, { wheelUpPictureUp: true, decision: 'released' });
	writeFileSync(form, JSON.stringify(blank));

	const accept = (...more: string[]) =>
		steerworthy(['accept', 'lark', '--form', form, '--in', root, ...more]);
	expect((await accept()).code).toBe(0);
	const first = await accept('--sign-off');
	expect(first.stdout).toContain('NOT SIGNED');
	const code = /--sign-off ([0-9a-f]+)/.exec(first.stderr)?.[1] ?? '';
	expect((await accept('--sign-off', 'ffffffff')).code).toBe(2);
	expect((await accept('--sign-off', code)).stdout).toContain('SIGNED OFF');
	expect((await accept('--sign-off', code)).stderr).toContain('(alreadySigned)');
});

test('a pack asks for consent, and holds the run it was made under', async () => {
	const root = emptyFolder();
	await madeRunFolder(root, { runId: 'lark-0' });
	const out = join(root, 'pack.zip');
	const words = [
		'pack',
		join(root, 'lark-0', 'result.json'),
		'--out',
		out,
		'--animal',
		'Bess',
		'--question',
		'Why?',
	];
	expect((await steerworthy(words)).code).toBe(2);
	expect(existsSync(out)).toBe(false);
	const packed = await steerworthy([...words, '--consent', 'the owner, today']);
	expect(packed.code, packed.stderr).toBe(0);
	expect(packed.stdout).toContain('not encrypted');
	expect(existsSync(out)).toBe(true);
});

import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { readRegister, writeKit } from '../../src/register/registerFolder.ts';
import { blankForm, CHECKS, FORM_WORDS } from '../../src/verdict/acceptanceForm.ts';
import { emptyRoot, enterRun, madeKit, madeRunFolder } from '../register/madeRegister.ts';
import { ask } from './askRoutes.ts';

/** Three sessions of each of two kits, in turn, and three of the first after its return. */
async function practice(): Promise<string> {
	const root = emptyRoot();
	for (let day = 1; day <= 3; day++)
		for (const [kit, hour, p95Ms] of [
			['lark', 10, 114 + day],
			['owl', 12, 380 + 2 * day],
		] as const) {
			const runId = `${kit}-${day}`;
			await madeRunFolder(root, { runId, p95Ms, startedAt: `2026-02-0${day}T${hour}:00:00Z` });
			await enterRun(root, { runId, kit });
		}
	for (let day = 1; day <= 3; day++) {
		const runId = `back-${day}`;
		await madeRunFolder(root, { runId, p95Ms: 113 + day, startedAt: `2026-03-0${day}T10:00:00Z` });
		await enterRun(root, { runId, kit: 'lark' });
	}
	await writeKit(root, madeKit('lark', { referenceRuns: ['lark-1', 'lark-2', 'lark-3'] }));
	return root;
}

test('runs are listed with a link to each report, found by kit, and a name is never markup', async () => {
	const root = await practice();
	await writeKit(root, madeKit('owl', { name: '<b>owl</b>' }));
	const page = await ask(root, '/ask/register');
	expect(page).toContain('href="/runs/lark-1/report.html"');
	expect(page).not.toContain('<b>owl');
	const owls = await ask(root, '/ask/register?kit=owl&trend=freshDelay.p95Ms');
	expect(owls).toContain('3 runs of 3 sessions');
	expect(owls).not.toContain('/runs/lark-1/');
});

test('a run is entered from the page, and what is wrong is said', async () => {
	const root = await practice();
	await madeRunFolder(root, { runId: 'new' });
	const fields = { run: 'new', kit: 'owl', session: 'morning', poweredOff: 'yes' };
	expect(await ask(root, '/ask/register/enter', fields)).toContain(
		'new is entered as session morning of owl.',
	);
	expect((await readRegister(root)).sessions.get('morning')).toMatchObject({
		kit: 'owl',
		poweredOffBefore: true,
	});
	await expect(ask(root, '/ask/register/enter', { ...fields, kit: 'lark' })).rejects.toThrow(/is one of owl/);
});

test('a comparison from the page is the page for the partners, and a plan is a plan', async () => {
	const root = await practice();
	const kits = '/ask/register/compare?name=lark&name=owl&until=2026-02-28';
	expect(await ask(root, `${kits}&do=compare`)).toContain('delay, 19 times in 20: lark is better than owl.');
	expect(await ask(root, `${kits}&do=plan`)).toContain('6 sessions');
});

function filled(): Record<string, string> {
	const words = Object.keys(FORM_WORDS).map((key) => [key, 'said']);
	const checks = Object.keys(CHECKS).flatMap((key) => [
		[`checks.${key}.state`, 'done'],
		[`checks.${key}.by`, 'Ann'],
	]);
	return {
		...{ kit: 'lark', newPart: 'none', use: 'steering', orientation: 'upright', wheelUpPictureUp: 'yes' },
		...Object.fromEntries([...words, ...checks]),
		...{ returnedOn: '2026-02-20', decision: 'released', jobNumber: 'J1' },
	};
}

test('the page signs with the second press and the code of what was shown, and never otherwise', async () => {
	const root = await practice();
	const form = filled();
	const shown = await ask(root, '/ask/register/accept', form);
	expect(shown).toContain('acceptable: no worse than before');
	expect(shown).not.toContain('signed off 20');
	const pressed = await ask(root, '/ask/register/accept', { ...form, press: 'first' });
	const code = /name="press" value="([0-9a-f]{8})"/.exec(pressed)?.[1] ?? '';
	const press = (over: Record<string, string>) =>
		ask(root, '/ask/register/accept', { ...form, press: code, ...over });
	await expect(press({ releasedBy: 'another' })).rejects.toThrow(/Something changed/);
	expect(await press({})).toContain('signed off 20');
	await expect(press({})).rejects.toThrow(/is signed and stays/);
	await expect(ask(root, '/ask/register/accept', { ...form, use: 'both' })).rejects.toThrow(/"use"/);
});

test('a form of the page knows what the register knows, and asks for every field of the record', async () => {
	const page = await ask(await practice(), '/ask/register/accept?kit=lark');
	expect(page).toContain('value="scope lark-1"');
	const asked = [...Object.keys(FORM_WORDS), ...Object.keys(CHECKS).map((key) => `checks.${key}.state`)];
	for (const key of [...asked, 'returnedOn', 'newPart', 'use', 'orientation', 'wheelUpPictureUp', 'decision'])
		expect(page).toContain(`name="${key}"`);
	expect(Object.keys(blankForm())).toHaveLength(2 + Object.keys(FORM_WORDS).length + 9);
});

test('criteria are written from the page with what differs; the binding line has no field and a mistake is named', async () => {
	const root = emptyRoot();
	const page = await ask(root, '/ask/register/criteria?from=gentle');
	expect(page).toContain('value="340"');
	expect(page).not.toContain('name="half-second.');
	// No number without its unit.
	for (const label of ['counted from (ms)', 'limit (share, 0.05 is 5 %)', 'comfortable (pictures a second)'])
		expect(page).toContain(label);
	const sent = (fields: Record<string, string>) =>
		ask(root, '/ask/register/criteria', { name: 'our yard', ...fields });
	const written = await sent({ 'age.level': '220', 'delay.level': '200' });
	expect(written).toContain('age: level 220 instead of 240');
	expect(written).toContain('Without a source, and every report will say so: age.');
	const file = JSON.parse(readFileSync(join(root, 'register/criteria/our-yard.json'), 'utf8'));
	expect(file.lines).toEqual({ age: { level: 220 } });
	await expect(sent({ 'age.level': 'soon' })).rejects.toThrow(/line \d+: "lines.age.level" is wrong/);
	await expect(sent({ name: 'standard', 'age.level': '300' })).rejects.toThrow(/built-in set/);
});

test('a by-hand sheet is kept from the page and stands beside the figures of a comparison', async () => {
	const root = await practice();
	const sheet = {
		kit: 'owl',
		person: 'Ann',
		presentScope: 'the old one',
		day: '2026-02-04',
		'light.than': 'worse',
	};
	expect(await ask(root, '/ask/register/sheet', sheet)).toContain('The sheet of Ann on owl is kept.');
	const page = await ask(root, '/ask/register/compare?name=lark&name=owl&until=2026-02-28&do=compare');
	expect(page).toContain('owl: Ann (2026-02-04, against the old one).');
	expect(page).toContain('1 worse');
	await expect(ask(root, '/ask/register/sheet', { ...sheet, person: '' })).rejects.toThrow(
		/"person" is wrong/,
	);
	await expect(ask(root, '/ask/register/sheet', { ...sheet, 'light.than': 'great' })).rejects.toThrow(
		/light/,
	);
});

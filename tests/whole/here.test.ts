/** The kit here from outside: three kept runs in, one answer out. */
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, expect, test } from 'vitest';
import type { ObservationRecord } from '../../src/observations/records.ts';
import { OBSERVATIONS_FILE, RunFolder } from '../../src/register/runFolder.ts';
import type { KitHere } from '../../src/verdict/kitHere.ts';
import { clear, kitRecords, linkRecords } from '../verdict/threeRuns.ts';
import { emptyFolder, steerworthy } from './program.ts';

const out = emptyFolder();
const at = (name: string): string => join(out, name);

async function keep(name: string, records: readonly ObservationRecord[]): Promise<void> {
	const folder = await RunFolder.create(out, name);
	for (const record of records) if (!folder.append(record)) await folder.drained();
	await folder.close();
}

beforeAll(async () => {
	await keep('lark', kitRecords());
	await keep('home', linkRecords(clear, 5));
	await keep('arch', linkRecords(clear, 6));
});

test('a kit whose link does here as at home may be steered by, in one document, within 80 columns, and on a page', async () => {
	const words = ['here', '--kit', at('lark'), '--link', at('arch'), '--home', at('home')];
	const { code, stdout, stderr } = await steerworthy([
		...words,
		'--json',
		'--require',
		'steering',
		'--html',
		at('page.html'),
	]);
	expect(code, stderr).toBe(0);
	const found: KitHere = JSON.parse(stdout);
	expect(found).toMatchObject({ kit: 'the lark', place: 'the arch', steer: 'yes', fitness: 'steering' });
	const page = readFileSync(at('page.html'), 'utf8');
	expect(page).toMatch(/frame-steering/);
	expect(page).toMatch(/the lark, here: the arch/);
	const plain = await steerworthy(words);
	expect(plain.code).toBe(0);
	expect(plain.stdout).toMatch(/This kit is fit for live steering here/);
	expect(plain.stdout).toMatch(/Steer: this place, this channel, these settings\./);
	// Kept here without being sealed.
	expect(plain.stdout).toMatch(/never\s+sealed/);
	for (const line of plain.stdout.split('\n')) expect(line.length).toBeLessThanOrEqual(80);
});

test('a run in another’s place, a torn one and none at all are told with what to do', async () => {
	const swapped = await steerworthy([
		'here',
		'--kit',
		at('arch'),
		'--link',
		at('arch'),
		'--home',
		at('home'),
	]);
	expect([swapped.code, swapped.stderr]).toEqual([
		3,
		expect.stringMatching(/holds a run of the rig "link".*\n?.*steerworthy optical/s),
	]);
	const none = await steerworthy(['here', '--kit', at('lark'), '--link', at('gone'), '--home', at('home')]);
	expect(none.code).toBe(3);
	expect(none.stderr).toMatch(/gone/);
	await keep('torn', linkRecords(clear, 7));
	const file = join(at('torn'), OBSERVATIONS_FILE);
	const text = readFileSync(file, 'utf8');
	writeFileSync(file, text.slice(0, text.length * 0.9));
	const torn = await steerworthy([
		'here',
		'--kit',
		at('lark'),
		'--link',
		at('torn'),
		'--home',
		at('home'),
		'--require',
		'steering',
	]);
	expect([torn.code, torn.stdout]).toEqual([4, expect.stringMatching(/settle the link here\s+first/)]);
});

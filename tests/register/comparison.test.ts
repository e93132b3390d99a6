import { appendFileSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { type Comparing, gatherComparison } from '../../src/register/gatherComparison.ts';
import { emptyRoot, enterRun, madeRunFolder } from './madeRegister.ts';

type Made = { readonly torn?: boolean; readonly place?: string };

/** Two kits, three sessions each, in turns, a day apart. */
async function twoKits(owl: Made = {}): Promise<string> {
	const root = emptyRoot();
	for (let i = 0; i < 6; i++) {
		const kit = i % 2 === 0 ? 'lark' : 'owl';
		const runId = `${kit}-${i}`;
		const last = i === 5;
		await madeRunFolder(root, {
			runId,
			startedAt: `2026-02-0${i + 1}T10:00:00Z`,
			p95Ms: (kit === 'lark' ? 100 : 200) + i,
			change: (result) => {
				if (last && owl.torn === true) result.run.torn = true;
			},
		});
		await enterRun(root, { runId, kit, ...(last && owl.place !== undefined && { place: owl.place }) });
	}
	return root;
}

const compare = (root: string, over: Partial<Comparing> = {}) =>
	gatherComparison({
		root,
		by: 'kit',
		names: ['lark', 'owl'],
		filter: {},
		sheets: [],
		toolVersion: '0',
		...over,
	});

test('six sessions in turns compare two kits', async () => {
	const { figures, leftOut } = await compare(await twoKits());
	const delay = figures.find(({ figure }) => figure.path === 'freshDelay.p95Ms');
	expect(delay?.arms.map(({ readings }) => readings)).toEqual([
		[100, 102, 104],
		[201, 203, 205],
	]);
	expect(delay?.pairs[0]?.better).toBe('lark');
	expect(leftOut.filter((note) => note.includes('broken off'))).toEqual([]);
});

test('a run whose file was changed since it was sealed is compared with nothing', async () => {
	const root = await twoKits();
	appendFileSync(join(root, 'owl-3', 'observations.jsonl'), 'one more');
	await expect(compare(root)).rejects.toThrow(/observations.jsonl \(changed\)/);
});

test('kit and place that could not be told apart are refused, by the command’s own way too', async () => {
	await expect(compare(await twoKits({ place: 'barn' }))).rejects.toThrow(
		/more than one place \(barn; none stated\)/,
	);
});

test('a run that was broken off counts for nothing and is named', async () => {
	const { figures, leftOut } = await compare(await twoKits({ torn: true }));
	const delay = figures.find(({ figure }) => figure.path === 'freshDelay.p95Ms');
	expect(delay?.arms[1]?.readings).toEqual([201, 203]);
	expect(delay?.pairs[0]).toMatchObject({ better: null });
	expect(leftOut.join()).toContain('owl-5: it was broken off');
});

test('a run that was entered and is gone is named, whoever may have taken it away', async () => {
	const root = await twoKits();
	rmSync(join(root, 'owl-5'), { recursive: true });
	expect((await compare(root)).leftOut.join()).toContain('Run owl-5 is entered as one of owl');
});

test('one name, nine names and a name twice are the caller’s mistakes', async () => {
	const root = emptyRoot();
	await expect(compare(root, { names: ['lark'] })).rejects.toThrow(RangeError);
	await expect(compare(root, { names: ['lark', 'lark'] })).rejects.toThrow(RangeError);
	await expect(compare(root, { names: [...'abcdefghi'] })).rejects.toThrow(RangeError);
});

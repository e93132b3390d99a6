import { join } from 'node:path';
import { expect, test } from 'vitest';
import { herePage, type KitHereOf } from '../../src/console/registerHerePage.ts';
import type { ToldHere } from '../../src/report/kitHereWords.ts';
import { emptyRoot, madeRunFolder } from '../register/madeRegister.ts';

const restsOn = (runId: string) => ({
	runId,
	startedAt: '2030-05-01T08:00:00Z',
	observedMs: 311_000,
	simulatedAir: null,
	steer: 'no' as const,
});
const FOUND: ToldHere = {
	...{
		kit: 'the <lark',
		place: 'the arch',
		invented: false,
		notes: ['arch: a file was changed.'],
		steer: 'no',
		fitness: 'undetermined',
		decidedBy: ['freezes'],
		lines: [],
	},
	runs: { kit: restsOn('lark'), here: restsOn('arch'), home: restsOn('home') },
	shift: { kind: 'notMeasured', reason: 'noBound', explanation: 'It varies too slowly.' },
	...{ headline: 'this kit is not fit', order: 'Do not.', speaksFor: 'speaks for little' },
	criteria: { name: 'standard', hash: '0' },
};

async function rootWithRuns(): Promise<string> {
	const root = emptyRoot();
	for (const runId of ['arch', 'home']) await madeRunFolder(root, { runId });
	await madeRunFolder(root, {
		runId: 'lark',
		change: (result) => {
			result.run.rig = 'optical';
		},
	});
	return root;
}

const pageOf = async (root: string, words: Record<string, string>, kitHere: KitHereOf) =>
	String((await herePage({ root, kitHere }, new URLSearchParams(words))).body);
const never: KitHereOf = () => {
	throw new Error('asked too soon');
};

test('without the runs it needs the page says which; with them each is chosen among its own kind', async () => {
	expect(await pageOf(emptyRoot(), {}, never)).toMatch(/It needs films of the kit/);
	const page = await pageOf(await rootWithRuns(), {}, never);
	const [, kits = '', link = '', home = ''] = page.split('<select');
	expect([kits.includes('"lark"'), kits.includes('"arch"')]).toEqual([true, false]);
	// Newest for here, oldest for home: never the same run while there are two.
	const [, newest] = /value="([^"]+)"/.exec(home) ?? [];
	const [, chosen] = /value="([^"]+)" selected/.exec(home) ?? [];
	expect([newest, chosen].sort()).toEqual(['arch', 'home']);
	for (const links of [link, home])
		expect([links.includes('"arch"'), links.includes('"lark"')]).toEqual([true, false]);
});

test('the answer of the three chosen runs is shown in its frame', async () => {
	const root = await rootWithRuns();
	const asked: unknown[] = [];
	const page = await pageOf(root, { kit: 'lark', link: 'arch', home: 'home' }, async (folders) => {
		asked.push(folders);
		return FOUND;
	});
	expect(asked).toEqual([{ kit: join(root, 'lark'), link: join(root, 'arch'), home: join(root, 'home') }]);
	expect(page).toMatch(/frame-undetermined.*This kit is not fit/s);
	expect(page).toContain('the &lt;lark, here: the arch');
	expect(page).toContain('It varies too slowly.');
	expect(page).toContain('arch: a file was changed.');
});

test('a run that is not listed is refused, whatever its name', async () => {
	const root = await rootWithRuns();
	for (const link of ['gone', '../home', '/etc'])
		await expect(pageOf(root, { kit: 'lark', link, home: 'home' }, never)).rejects.toThrow(/No run called/);
});

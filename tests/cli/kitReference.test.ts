import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, onTestFinished, test } from 'vitest';
import { judgeFolder } from '../../src/cli/conclude.ts';
import { kitNamed, offeredReference, registeredKit, withEvents } from '../../src/cli/kitReference.ts';
import type { ObservationRecord } from '../../src/observations/records.ts';
import { setKit } from '../../src/register/kitEntry.ts';
import { readRegister, writeKit } from '../../src/register/registerFolder.ts';
import { RunFolder } from '../../src/register/runFolder.ts';
import { renderText } from '../../src/report/text.ts';
import { runStill } from '../../src/rigs/still/stillRun.ts';
import { standardCriteria } from '../../src/verdict/criteria.ts';
import { cardPicture } from '../reading/madeCardPicture.ts';

const raster = cardPicture({ widthPx: 560, heightPx: 430, pxPerMm: 6.4 });

function stillRecords(runId: string): ObservationRecord[] {
	const records: ObservationRecord[] = [];
	runStill(
		{
			...{ runId, toolVersion: '0', startedAt: '2026-01-01T00:00:00Z', place: null },
			...{ stills: [{ name: 'a still', raster }], against: 'nothing' },
			...{ distancesMm: null, lights: null, chart: null },
		},
		(record) => records.push(record),
	);
	return records;
}

async function keep(root: string, name: string, records: readonly ObservationRecord[]): Promise<string> {
	const folder = await RunFolder.create(root, name);
	for (const record of records) folder.append(record);
	await folder.close();
	return folder.path;
}

test('the kit’s own reference is named, taken by nobody, and asked for only where one of this card is kept', async () => {
	const root = mkdtempSync(join(tmpdir(), 'kit-reference-'));
	onTestFinished(() => rmSync(root, { recursive: true }));
	await keep(root, 'first', stillRecords('first'));
	await keep(root, 'second', stillRecords('second'));
	await setKit(root, 'lark', () => ({ name: 'The Lark' }));
	const asked = { root, rig: 'still', layout: 'detail' } as const;
	const bare = (await registeredKit('lark', root))!;
	expect(await offeredReference(bare, undefined, asked)).toEqual([]);
	await writeKit(root, { ...bare, referenceRuns: ['first', 'second', 'gone'] });
	const kit = (await registeredKit('the lark', root))!;
	expect(kit.key).toBe('lark');
	const offered = await offeredReference(kit, undefined, asked);
	const path = await keep(root, 'now', withEvents(stillRecords('now'), offered));
	const { result } = await judgeFolder(path, standardCriteria);
	expect(result.warnings).toContainEqual({
		code: 'kitReference',
		seen: 'The Lark has a reference in the register, second (and 1 more), and this run was not set beside it.',
		advice: expect.stringMatching(/^Add --reference second:/),
	});
	// Whole, and set beside nothing.
	expect(result.warnings.map(({ code }) => code)).not.toContain('torn');
	expect(result.metrics.againstReference).toBeUndefined();
	expect(result.metrics.colour).toMatchObject({ reason: 'noReference' });
	const text = renderText(result, {
		columns: 80,
		glyphs: 'unicode',
		colour: false,
		folder: null,
		everyLine: false,
	});
	expect(text).toContain('Add --reference second');
	// Given one, or of another rig or card, there is nothing to offer.
	expect(await offeredReference(kit, 'tower', asked)).toEqual([]);
	expect(await offeredReference(kit, undefined, { ...asked, rig: 'optical' })).toEqual([]);
	expect(await offeredReference(kit, undefined, { ...asked, layout: 'chart' })).toEqual([]);
	expect(await offeredReference(null, undefined, asked)).toEqual([]);
});

test('a kit is known by key or name in any letters; one that is not known is said so', async () => {
	const root = mkdtempSync(join(tmpdir(), 'kit-reference-'));
	onTestFinished(() => rmSync(root, { recursive: true }));
	await setKit(root, 'lark', () => ({ name: 'The Lark' }));
	const { kits } = await readRegister(root);
	expect(kitNamed([...kits.values()], ' LARK')?.key).toBe('lark');
	expect(kitNamed([...kits.values()], 'a lark')).toBeNull();
	expect(await registeredKit(undefined, root)).toBeNull();
	await expect(registeredKit('finch', root)).rejects.toMatchObject({ code: 'kitUnknown' });
});

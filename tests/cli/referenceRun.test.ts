import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, onTestFinished, test } from 'vitest';
import { judgeFolder } from '../../src/cli/conclude.ts';
import { findReference, layReference, requireReference } from '../../src/cli/referenceRun.ts';
import type { Raster } from '../../src/imaging/raster.ts';
import type { Header } from '../../src/observations/records.ts';
import { OBSERVATIONS_FILE, REFERENCE_FILE, RunFolder } from '../../src/register/runFolder.ts';
import { runStill } from '../../src/rigs/still/stillRun.ts';
import { standardCriteria } from '../../src/verdict/criteria.ts';
import { cardPicture } from '../reading/madeCardPicture.ts';

const STILL = { rig: 'still', layout: 'detail' } as const;
const VIEW = { widthPx: 560, heightPx: 430, pxPerMm: 6.4, noiseCodes: 1 };

function newRoot(): string {
	const root = mkdtempSync(join(tmpdir(), 'reference-'));
	onTestFinished(() => rmSync(root, { recursive: true }));
	return root;
}

async function keep(root: string, name: string, raster: Raster): Promise<string> {
	const folder = await RunFolder.create(root, name);
	runStill(
		{
			...{ runId: name, toolVersion: '0', startedAt: '2026-01-01T00:00:00Z', place: null },
			...{ stills: [{ name: 'a still', raster }], against: 'nothing' },
			...{ distancesMm: null, lights: null, chart: null },
		},
		(record) => folder.append(record),
	);
	await folder.close();
	return folder.path;
}

test('a run set beside a reference is judged the same when the reference is gone', async () => {
	const root = newRoot();
	await keep(root, 'tower', cardPicture({ ...VIEW, gain: [0.9, 0.8, 0.6] }));
	const path = await keep(root, 'scope', cardPicture({ ...VIEW, gain: [0.9, 0.8, 0.5], seed: 3 }));
	const before = await judgeFolder(path, standardCriteria);
	expect(before.result.metrics.colour).toMatchObject({ reason: 'noReference' });
	expect(before.result.metrics.againstReference).toBeUndefined();
	await layReference(path, await requireReference('tower', { root, ...STILL }));
	const beside = await judgeFolder(path, standardCriteria);
	expect(beside.result.metrics.againstReference).toMatchObject({ kind: 'measured', runId: 'tower' });
	expect(beside.result.metrics.colour).toMatchObject({ namedFault: expect.stringMatching(/^colour cast/) });
	// Both by the card as drawn: five sixths of the tower's blue, and what that makes of the reds.
	const own = before.result.metrics.fidelity;
	const against = beside.result.metrics.againstReference;
	if (own?.kind !== 'measured' || against?.kind !== 'measured') throw new Error('not measured');
	const row = (name: string) => against.rows.find((each) => each.name === name)!;
	expect(row('light').value).toBe(own.fit!.exposureRatio);
	expect(row('hue of the reds').value).toBeCloseTo(own.reds!.hueDeg, 1);
	expect(row('blue over green').ratio).toBeCloseTo(5 / 6, 1);
	rmSync(join(root, 'tower'), { recursive: true });
	expect((await judgeFolder(path, standardCriteria)).result).toEqual(beside.result);
	// Times of single pictures are not what a picture is like.
	expect(readFileSync(join(path, REFERENCE_FILE), 'utf8')).not.toMatch(/"kind":"presentations"/);
});

test('a reference is found by name or by folder; one that is not there, or shows another card, is refused', async () => {
	const root = newRoot();
	const path = await keep(root, 'tower', cardPicture(VIEW));
	expect(await findReference('tower', root)).toBe(path);
	expect(await findReference(path, '/nowhere')).toBe(path);
	expect(await findReference('another', root)).toBeNull();
	await expect(requireReference('another', { root, ...STILL })).rejects.toMatchObject({ code: 'noRun' });
	await expect(requireReference('tower', { root, ...STILL, layout: 'chart' })).rejects.toMatchObject({
		code: 'notComparable',
		message: expect.stringMatching(/shows the detail card, this run the chart card/),
	});
	expect(await requireReference(undefined, { root, ...STILL })).toBeNull();
});

/** The kept still's header said to be of another rig and card. */
function asRig(path: string, over: Partial<Header>): void {
	const file = join(path, OBSERVATIONS_FILE);
	const [first = '', ...others] = readFileSync(file, 'utf8').split('\n');
	writeFileSync(file, [JSON.stringify({ ...JSON.parse(first), ...over }), ...others].join('\n'));
}

test('a reference of another rig, of a card of other pixels or with another moving part is refused', async () => {
	const root = newRoot();
	const path = await keep(root, 'tower', cardPicture(VIEW));
	const asked = { root, rig: 'link', layout: 'link' } as const;
	const card = { size: '1280x720', difficulty: 'motion' } as const;
	const said = (own: Parameters<typeof requireReference>[1]) =>
		requireReference('tower', own).then(
			() => 'taken',
			({ code, message }) => `${code}: ${message}`,
		);
	expect(await said({ root, ...STILL, rig: 'optical' })).toMatch(/^notComparable: .*still run.*optical run/);
	asRig(path, {
		rig: 'link',
		source: { layout: 'link', widthPx: 1280, heightPx: 720, rateHz: 30, seed: 1, difficulty: 'motion' },
	});
	expect(await said({ ...asked, card })).toBe('taken');
	expect(await said({ ...asked, rig: 'recording', card })).toMatch(/^notComparable/);
	for (const size of ['1920x1080', '1280x960'] as const)
		expect(await said({ ...asked, card: { ...card, size } })).toMatch(/^notComparable: .*1280x720 pixels/);
	expect(await said({ ...asked, card: { ...card, difficulty: 'easy' } })).toMatch(
		/^notComparable: .*“motion”, this run “easy”/,
	);
});

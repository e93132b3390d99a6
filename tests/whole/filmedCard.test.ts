/** The printed card as a kit's tablet shows it, filmed: from real H.264 files to the report and, beside a reference, to its ratios. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { registeredKit } from '../../src/cli/kitReference.ts';
import { rasterToPlanes } from '../../src/imaging/rasterToPlanes.ts';
import { openClipWriter, WRITTEN_TICKS_HZ } from '../../src/media/node/clipWriter.ts';
import { setKit } from '../../src/register/kitEntry.ts';
import { writeKit } from '../../src/register/registerFolder.ts';
import type { ResultDocument } from '../../src/verdict/resultDocument.ts';
import { cardPicture } from '../reading/madeCardPicture.ts';
import { drawClip } from '../rigs/optical/drawnClip.ts';
import { emptyFolder, steerworthy } from './program.ts';

const LIMITED = { matrix: '709', range: 'limited' } as const;
const VIEW = { widthPx: 720, heightPx: 540, pxPerMm: 7.8, turnDeg: 2, bend: -0.06, noiseCodes: 1 };
const SECONDS = 3;
const RATE_HZ = 5;

async function filmCard(path: string, gain: readonly [number, number, number]): Promise<string> {
	const { widthPx, heightPx } = VIEW;
	const writer = await openClipWriter(path, { widthPx, heightPx, rateHz: RATE_HZ });
	const seen = [1, 2, 3].map((seed) => rasterToPlanes(cardPicture({ ...VIEW, gain, seed }), LIMITED));
	for (let i = 0; i < SECONDS * RATE_HZ; i++)
		writer.write(seen[i % seen.length]!, (i * WRITTEN_TICKS_HZ) / RATE_HZ);
	writer.close();
	return path;
}

function resultOf(folder: string): ResultDocument {
	return JSON.parse(readFileSync(join(folder, 'result.json'), 'utf8'));
}

test('a film of the printed card on the tablet tells its detail, and beside an earlier one the cast that has come', async () => {
	const out = emptyFolder();
	const films = await drawClip({ durationMs: 12_000 });
	const optical = async (
		name: string,
		gain: readonly [number, number, number],
		more: readonly string[] = [],
	) =>
		await steerworthy([
			...['optical', films, '--card', await filmCard(join(out, `${name}.mp4`), gain), '--kit', 'the lark'],
			...['--name', name, '--out', out, ...more],
		]);
	const alone = await optical('before', [0.9, 0.8, 0.6]);
	expect(alone.code, alone.stderr).toBe(0);
	expect(Math.max(...alone.stdout.split('\n').map((line) => line.length))).toBeLessThanOrEqual(80);
	expect(alone.stdout).toMatch(/before\.mp4 at 0\.0 s.*: card found, turned by 2 degrees, 7\.8 px/s);
	const { colour, sharpness, fidelity } = resultOf(join(out, 'before')).metrics;
	// Through a lens no colour is right or wrong by itself.
	expect(colour).toMatchObject({ kind: 'notMeasured', reason: 'noReference' });
	if (sharpness.kind !== 'measured' || fidelity?.kind !== 'measured') throw new Error('nothing was read');
	expect(sharpness.ofReferenceRatio).toBeNull();
	expect(Math.abs(fidelity.view!.bendRatio + 0.06)).toBeLessThan(0.02);
	// Red and green as the light was, through 4:2:0 and the limited range.
	expect(Math.abs(fidelity.fit!.redOverGreen - 0.9 / 0.8)).toBeLessThan(0.02);
	expect(Math.abs(fidelity.fit!.blueOverGreen - 0.6 / 0.8)).toBeLessThan(0.02);
	expect(fidelity.motion).toBeUndefined();
	expect(fidelity.motionUntold).toMatchObject({ reason: 'throughALens' });
	const page = readFileSync(join(out, 'before', 'report.html'), 'utf8');
	expect(page).toContain('What does movement cost?');
	expect(page).toContain('lay the card into a corner for another still to tell');

	const after = await optical('after', [0.9, 0.7, 0.5], ['--reference', 'before']);
	expect(after.code, after.stderr).toBe(0);
	const beside = resultOf(join(out, 'after')).metrics;
	expect(beside.colour).toMatchObject({ namedFault: expect.stringMatching(/^colour cast/) });
	if (beside.sharpness.kind !== 'measured' || beside.againstReference?.kind !== 'measured')
		throw new Error('not set beside the reference');
	expect(Math.abs(beside.sharpness.ofReferenceRatio! - 1)).toBeLessThan(0.05);
	const red = beside.againstReference.rows.find(({ name }) => name === 'red over green');
	// 0.9 / 0.7 beside 0.9 / 0.8 in light; the neutral patch tells both alike.
	expect(Math.abs(red!.ratio! - 0.8 / 0.7)).toBeLessThan(0.03);
	expect(after.stdout).toContain('BESIDE THE REFERENCE');

	await setKit(out, 'lark', () => ({ name: 'The Lark' }));
	const lark = (await registeredKit('lark', out))!;
	await writeKit(out, { ...lark, referenceRuns: ['before'] });
	const third = await steerworthy(['optical', films, '--kit', 'the lark', '--name', 'third', '--out', out]);
	expect(third.code, third.stderr).toBe(0);
	expect(third.stdout.replaceAll(/\s+/g, ' ')).toMatch(/The Lark has a reference.*Add --reference before/);
	expect(after.stdout).not.toContain('kitReference');
});

test('a film without the card leaves no run behind and says what to do', async () => {
	const out = emptyFolder();
	const films = await drawClip({ durationMs: 12_000 });
	const none = await steerworthy(['optical', films, '--card', films, '--name', 'none', '--out', out]);
	expect(none.code).toBe(3);
	expect(none.stderr).toMatch(/clip\.mp4 at 0\.0 s: .*Film the tablet again/s);
});

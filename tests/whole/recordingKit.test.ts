/** A kit's own recording, and the reference that the register holds for that kit. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { registeredKit } from '../../src/cli/kitReference.ts';
import { openClipWriter, WRITTEN_TICKS_HZ } from '../../src/media/node/clipWriter.ts';
import type { CardSpec } from '../../src/pattern/card.ts';
import { createCardPainter } from '../../src/pattern/painter.ts';
import { setKit } from '../../src/register/kitEntry.ts';
import { writeKit } from '../../src/register/registerFolder.ts';
import type { ResultDocument } from '../../src/verdict/resultDocument.ts';
import { emptyFolder, steerworthy } from './program.ts';

const CARD: CardSpec = { layout: 'link', size: '1280x720', seed: 1, difficulty: 'easy' };
const RATE_HZ = 25;
const PICTURES = 60;

test('a recording of a kit names the kit’s reference recording, and is silent when it is set beside it', async () => {
	const out = emptyFolder();
	const clip = join(out, 'kit.mp4');
	const writer = await openClipWriter(clip, { widthPx: 1280, heightPx: 720, rateHz: RATE_HZ });
	const painter = createCardPainter(CARD);
	for (let i = 0; i < PICTURES; i++) writer.write(painter.paintPlanes(i), (i * WRITTEN_TICKS_HZ) / RATE_HZ);
	writer.close();
	await setKit(out, 'lark', () => ({ name: 'The Lark' }));
	const recording = async (name: string, ...words: readonly string[]) => {
		const run = ['recording', clip, '--kit', 'the lark', '--name', name, '--out', out, ...words];
		const { code, stdout, stderr } = await steerworthy(run);
		expect(code, stderr).toBe(0);
		const result: ResultDocument = JSON.parse(readFileSync(join(out, name, 'result.json'), 'utf8'));
		const offered = result.warnings.filter(({ code: each }) => each === 'kitReference');
		return { result, offered, words: stdout.replaceAll(/\s+/g, ' ') };
	};
	expect((await recording('first')).offered).toEqual([]);

	const lark = (await registeredKit('lark', out))!;
	await writeKit(out, { ...lark, referenceRuns: ['first'] });
	const later = await recording('later');
	expect(later.words).toMatch(/The Lark has a reference in the register, first.*Add --reference first/);
	expect(later.result.metrics.againstReference).toBeUndefined();

	const beside = await recording('beside', '--reference', 'first');
	expect(beside.offered).toEqual([]);
	expect(beside.result.metrics.againstReference).toMatchObject({ kind: 'measured', runId: 'first' });
});

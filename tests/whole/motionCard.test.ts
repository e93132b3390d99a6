/** A link run of the card with parts that move, from outside, and a run beside it. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import type { ResultDocument } from '../../src/verdict/resultDocument.ts';
import { emptyFolder, steerworthy } from './program.ts';

test('a run of the moving card tells what movement costs, and is no reference for a card at rest', async () => {
	const out = emptyFolder();
	const link = (name: string, ...words: readonly string[]) =>
		steerworthy([
			...['link', '--tablet', 'none', '--profile', 'demo', '--seconds', '8', '--out', out, '--name', name],
			...words,
		]);
	const { code, stdout, stderr } = await link('one', '--difficulty', 'motion');
	expect(code, stderr).toBe(0);
	expect(stdout).toMatch(/Detail kept at 6 px a picture\?/);
	expect(Math.max(...stdout.split('\n').map((line) => line.length))).toBeLessThanOrEqual(80);
	const folder = join(out, 'one');
	const result: ResultDocument = JSON.parse(readFileSync(join(folder, 'result.json'), 'utf8'));
	const { fidelity } = result.metrics;
	if (fidelity?.kind !== 'measured' || fidelity.motion === undefined) throw new Error('nothing that moves');
	// A reader without air or display between holds still: what the codec takes is little.
	expect(fidelity.motion.speeds.map(({ speedPx }) => speedPx)).toEqual([2, 6]);
	for (const { detailKeptRatio } of fidelity.motion.speeds)
		expect(Math.abs(detailKeptRatio! - 1)).toBeLessThan(0.15);
	expect(Math.abs(fidelity.motion.earlierRatio!)).toBeLessThan(0.05);
	// Eight seconds hold four looks or so: too few for a pulse, and that is said.
	expect(fidelity.motion.pulse).toMatchObject({ reason: 'tooShort' });
	expect(readFileSync(join(folder, 'report.html'), 'utf8')).toContain('Does a small pulse survive?');
	const easy = await link('two', '--reference', 'one');
	expect(easy.code).toBe(3);
	expect(easy.stderr).toMatch(/moving part “motion”, this run “easy”/);
});

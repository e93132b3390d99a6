/** The kept example is judged again to the last digit: a change of figures cannot slip through without a word in CHANGELOG.md. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { judgeFolder } from '../../src/cli/conclude.ts';
import { brokenFiles, readSeal } from '../../src/register/seal.ts';
import { renderJson } from '../../src/report/json.ts';
import { standardCriteria } from '../../src/verdict/criteria.ts';

const EXAMPLE = join(import.meta.dirname, '../../reports/example');

test('the example gives the figures it gave', async () => {
	const { result } = await judgeFolder(EXAMPLE, standardCriteria);
	expect(renderJson(result)).toBe(readFileSync(join(EXAMPLE, 'result.json'), 'utf8'));
	expect(result.verdict.headline).toBe('fit for live steering; fit for recording (an invented kit)');
});

test('the example is as it was sealed, and its page opens with no network', async () => {
	const seal = await readSeal(EXAMPLE);
	expect(seal).not.toBeNull();
	if (seal !== null) expect(await brokenFiles(EXAMPLE, seal)).toEqual([]);
	expect(readFileSync(join(EXAMPLE, 'report.html'), 'utf8')).not.toMatch(
		/<(script|link|img)[^>]+(src|href)="(?!data:)/,
	);
});

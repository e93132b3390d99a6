/** The main job from outside: invented kits judged, real legs beside truth, a closed kit by films, reports that open offline. */
import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { resultSchema } from '../../src/verdict/resultDocument.ts';
import { emptyFolder, steerworthy } from './program.ts';

type Outcome = {
	readonly kit: string;
	readonly realLeg: { lostRead: number; droppedTruly: number; sent: number } | null;
	readonly folder: string;
	readonly verdict: { steer: string; record: string; headline: string };
	readonly deserved: { steer: string; record: string };
};

test('each invented kit gets the answer it deserves, with a whole report', async () => {
	const { code, stdout, stderr } = await steerworthy(['rehearse', '--json', '--out', emptyFolder()]);
	const outcomes: readonly Outcome[] = JSON.parse(stdout);
	expect(outcomes.map(({ verdict }) => verdict.headline)).toEqual([
		'fit for live steering; fit for recording (an invented kit)',
		'fit for recording only (an invented kit)',
		'unfit (an invented kit)',
		'fit for live steering; recording not settled (an invented kit)',
	]);
	for (const { verdict, deserved, folder, realLeg } of outcomes) {
		expect({ steer: verdict.steer, record: verdict.record }).toEqual(deserved);
		// Counts are exact on any machine; delays are printed beside truth and not asserted here.
		if (realLeg !== null) expect(realLeg.lostRead).toBe(realLeg.droppedTruly);
		const page = readFileSync(join(folder, 'report.html'), 'utf8');
		expect(page).toContain('INVENTED');
		expect(page).not.toMatch(/(src|href)="https?:/);
		expect(
			resultSchema.parse(JSON.parse(readFileSync(join(folder, 'result.json'), 'utf8'))).run.subject.invented,
		).toBe(true);
		expect(existsSync(join(folder, 'observations.jsonl'))).toBe(true);
	}
	expect(stderr).not.toMatch(/Error|undefined|NaN/);
	expect([0, 3]).toContain(code);
});

test('without its real legs the rehearsal still ends well, within 80 columns', async () => {
	const { code, stdout } = await steerworthy(['rehearse', '--no-real-legs', '--out', emptyFolder()]);
	expect(code).toBe(0);
	expect(stdout.match(/As deserved\./g)).toHaveLength(4);
	expect(Math.max(...stdout.split('\n').map((line) => line.length))).toBeLessThanOrEqual(80);
});

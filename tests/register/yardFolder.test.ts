/** A check on disk: what is old when it is opened again. */
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { openYard, saveYard } from '../../src/register/yardFolder.ts';
import { type YardReading, type YardRun, yardSchema } from '../../src/verdict/yardSession.ts';

const reading: YardReading = {
	...{ overLimitRatio: 0.01, effectiveCount: 200, headline: '', against: [], repeats: [], air: [] },
	...{ delay: null, device: null, steer: 'yes', order: '', company: [], breaks: [], overTime: null },
	made: null,
};
const run = (turn: number, startedAt: string | null): YardRun => ({
	...{ place: 0, runId: `y-${turn}-run`, state: 'done', note: null },
	reading: {
		...reading,
		made: startedAt === null ? null : { subject: 'tablet', startedAt, observedS: 120 },
	},
});

test('a check that is opened again knows which of its runs were made an hour ago and more', async () => {
	const root = mkdtempSync(join(tmpdir(), 'steerworthy-oldyard-'));
	const fresh = openYard(root, 'y', '2026-01-01T08:00:00Z');
	expect(fresh.staleRuns).toEqual([]);
	await saveYard(root, {
		...fresh,
		visits: [run(1, '2026-01-01T08:05:00Z'), run(2, '2026-01-01T09:30:00Z')],
		verdictRuns: [run(3, '2026-01-01T09:40:00Z')],
		// What does not say when it was made is as old as its check.
		enduranceRuns: [run(4, null)],
	});
	const staleAt = (now: string): string[] => openYard(root, 'y', now).staleRuns;
	expect(staleAt('2026-01-01T08:50:00Z')).toEqual([]);
	expect(staleAt('2026-01-01T09:59:00Z')).toEqual(['y-1-run', 'y-4-run']);
	expect(staleAt('2026-01-02T08:00:00Z')).toEqual(['y-1-run', 'y-2-run', 'y-3-run', 'y-4-run']);
});

test('a check kept by an earlier version is read, with nothing in what that one did not know', () => {
	const { staleRuns, enduranceRuns, ...older } = yardSchema.parse({
		...openYard(mkdtempSync(join(tmpdir(), 'steerworthy-oldyard-')), 'y', '2026-01-01T08:00:00Z'),
		visits: [run(1, null)],
	});
	const { made, overTime, ...olderReading } = reading;
	const read = yardSchema.parse({ ...older, visits: [{ ...run(1, null), reading: olderReading }] });
	expect([staleRuns, enduranceRuns, made, overTime]).toEqual([[], [], null, null]);
	expect(read.visits[0]?.reading).toMatchObject({ made: null, overTime: null });
	expect(read).toMatchObject({ staleRuns: [], enduranceRuns: [] });
});

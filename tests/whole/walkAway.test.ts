/** Walking away and back: the real harness loses its viewer and gets it back, and the check says where it broke and what was noted. */
import { spawn } from 'node:child_process';
import { readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, expect, test } from 'vitest';
import { measureBreaks } from '../../src/metrics/linkBreaks.ts';
import { placeRun } from '../../src/observations/placeRun.ts';
import type { ObservationRecord } from '../../src/observations/records.ts';
import { runLink } from '../../src/rigs/link/harness.ts';
import { usualLink } from '../../src/rigs/link/link.ts';
import { yardSchema } from '../../src/verdict/yardSession.ts';
import { emptyFolder, MAIN } from './program.ts';

const out = emptyFolder();
afterAll(() => rmSync(out, { recursive: true }));
const AWAY_MS = 3000;

test('a viewer that goes silent and comes back is one break from the last picture before to the first one after', async () => {
	const records: ObservationRecord[] = [];
	const stop = new AbortController();
	let pid: number | undefined;
	let isPaused = false;
	const seenIn = (wanted: number): number =>
		records.flatMap((record) =>
			record.kind === 'presentations' && record.segment === wanted
				? record.rows.filter(([, , , , , seenMs]) => seenMs !== null)
				: [],
		).length;
	await runLink(
		{
			...usualLink,
			...{ runId: 'walk', toolVersion: 'test', startedAt: '', profile: 'demo', observedMs: 60_000 },
			...{ warmUpMs: 300, lostAfterMs: 1000 },
			subject: { kind: 'computer', name: 'this computer', invented: false },
		},
		{
			record: (record) => records.push(record),
			evidence: () => {},
			progress: (progress) => {
				if (progress.stage === 'viewerStarted') pid = progress.pid;
				if (seenIn(1) > 10) stop.abort();
				if (progress.stage !== 'measuring' || isPaused || pid === undefined || seenIn(0) < 10) return;
				const away = pid;
				isPaused = true;
				process.kill(away, 'SIGSTOP');
				setTimeout(() => process.kill(away, 'SIGCONT'), AWAY_MS);
			},
			signal: stop.signal,
		},
	);
	const run = placeRun(records);
	expect(run.segments).toHaveLength(2);
	const seen = (segment: number): number[] =>
		[...run.frames].flatMap((frame) =>
			frame.segment === segment && frame.seenMs !== null ? [frame.seenMs] : [],
		);
	const [last, first] = [Math.max(...seen(0)), Math.min(...seen(1))];
	const broke = measureBreaks(run).find(({ lengthMs }) => lengthMs > AWAY_MS - 500);
	expect(broke?.atMs).toBeCloseTo(last - run.segments[0]!.startMs, 6);
	expect(broke?.lengthMs).toBeCloseTo(first - last, 6);
	expect(first - last).toBeGreaterThan(AWAY_MS - 500);
});

test('a walk in which the air is shut for three seconds is told with where it broke, the metres and what the kit’s app did', async () => {
	const airFile = join(out, 'walk.json');
	const outages = { scheduled: [{ atMs: 5000, lengthMs: AWAY_MS }], random: null, packets: 'held' };
	writeFileSync(airFile, JSON.stringify({ name: 'corner', delayMs: 2, outages }));
	const child = spawn(process.execPath, [
		...[MAIN, 'yard', '--name', 'walk', '--tablet', 'none', '--out', out, '--air', airFile],
		...['--wifi', 'shared', '--minutes', '8', '--place', 'door', '--channel', '36', '--seconds', '12'],
	]);
	let stdout = '';
	child.stdout.on('data', (text) => {
		stdout += text;
	});
	// Enter for the visit; a walk; Enter; twelve metres; the kit's app did not warn; nothing more.
	child.stdin.end(['', '1 walk', '', '12', 'no', ''].map((line) => `${line}\n`).join(''));
	expect(await new Promise((done) => child.on('close', done))).toBe(0);
	const file = join(out, 'yards/walk/yard.json');
	const { walkRuns, visits, backAtKit } = yardSchema.parse(JSON.parse(readFileSync(file, 'utf8')));
	expect(visits).toMatchObject([{ state: 'done' }]);
	expect(walkRuns).toMatchObject([{ state: 'done', note: { distanceM: 12, warned: 'no' } }]);
	// Held to its end: the picture stood at least as long as the air was shut, but for one picture's time.
	const longestMs = Math.max(...(walkRuns[0]?.reading?.breaks ?? []).map(({ lengthMs }) => lengthMs));
	expect(longestMs).toBeGreaterThan(AWAY_MS - 100);
	const walking = stdout.slice(stdout.lastIndexOf('WALKING AWAY')).replace(/\s+/g, ' ');
	expect(walking).toMatch(
		/From door: .*no new picture for \d+\.\d s; (steady again|it did not become steady)/,
	);
	expect(walking).toContain('It stood at about 12 m, as noted.');
	expect(walking).toContain('The kit’s own app did not warn: look for a standing picture yourself.');
	expect(backAtKit).toBe(true);
	expect(stdout.trimEnd()).toMatch(/Only then go on\.$/);
	// The way that was typed or given is what the runs say they went over.
	const [header] = readFileSync(join(out, visits[0]!.runId, 'observations.jsonl'), 'utf8').split('\n');
	expect(JSON.parse(header ?? '').joined).toContain('a network of the place');
});

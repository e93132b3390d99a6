/** The optical rig from outside: clips in, a run folder and an answer about the kit out. */
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import type { ResultDocument } from '../../src/verdict/resultDocument.ts';
import { drawClip, trueMeanAgeMs } from '../rigs/optical/drawnClip.ts';
import { emptyFolder, steerworthy } from './program.ts';

test('films of a kit, with its own recording, are one run about the kit that judge makes again', async () => {
	const out = emptyFolder();
	const clip = await drawClip({ durationMs: 12_000 });
	const own = join(out, 'own.mp4');
	await steerworthy([
		...['card', '--layout', 'scope', '--size', '1280x720', '--seconds', '4', '--rate', '30'],
		...['--tick', '10', '--out', own],
	]);
	const missing = join(out, 'missing.mp4');
	// The same film in another codec, its first two seconds cut away: no other start of the kit's app.
	const copy = await drawClip({
		...{ name: 'sent.mkv', codec: 'hevc', bitrateKbps: 300, durationMs: 12_000 },
		...{ keep: (ms) => ms > 2000, fileMs: (ms) => ms - 2000 },
	});
	const { code, stdout, stderr } = await steerworthy([
		...[
			'optical',
			clip,
			copy,
			missing,
			'--recording',
			own,
			'--kit',
			'the lark',
			'--name',
			'lark',
			'--out',
			out,
		],
		...['--json', '--require', 'steering'],
	]);
	expect(code, stderr).toBe(4);
	const result: ResultDocument = JSON.parse(stdout);
	expect(result.run).toMatchObject({ rig: 'optical', kit: 'the lark' });
	const { pictureAge } = result.metrics;
	if (pictureAge.kind !== 'measured') throw new Error('no age');
	const doubtMs = 1.96 * result.run.systematicStandardMs;
	expect(Math.abs(pictureAge.meanMs - trueMeanAgeMs(120))).toBeLessThan(doubtMs);
	// One short clip is no session, whatever it shows.
	expect(result.verdict.steer).toBe('undetermined');
	expect(result.verdict.order).toMatch(/film 3 more at 120 or 240 frames a second/);
	// The record answer is the recording's own.
	const continuity = result.criteria.find(({ id }) => id === 'continuity')!;
	expect(continuity.required).toEqual(['record']);
	const codes = result.warnings.map((warning) => warning.code);
	expect(codes).toContain('recordingJoined');
	// The copy is no second film, and the missing file does not stop the rest.
	const leftOut = result.warnings.filter(({ code }) => code === 'clipLeftOut');
	expect(leftOut).toHaveLength(2);
	expect(leftOut.find(({ seen }) => /sent\.mkv/i.test(seen))?.advice).toMatch(
		/the same pictures at the same instants as clip\.mp4: the same film, whole or in part\..*film anew/,
	);
	expect(result.run.segmentCount).toBe(1);
	const folder = join(out, 'lark');
	expect(readFileSync(join(folder, 'run.json'), 'utf8')).toContain('recording.jsonl');
	const again = await steerworthy(['judge', folder]);
	expect(again.stdout).toContain('The result is the kept one, to the last digit.');
	writeFileSync(join(folder, 'recording.jsonl'), '');
	// A recording that no longer says what it was is no recording, and nothing is answered without it.
	expect((await steerworthy(['judge', folder])).code).toBe(3);
});

test('with no clip that says anything there is no run', async () => {
	const out = emptyFolder();
	const clip = await drawClip({ tablet: 'frozen' });
	const empty = join(out, 'empty.mp4');
	writeFileSync(empty, '');
	const { code, stderr } = await steerworthy(['optical', clip, empty, '--name', 'none', '--out', out]);
	expect(code).toBe(3);
	expect(stderr).toMatch(/^clip\.mp4: The picture on the tablet did not change once in the whole clip/m);
	expect(stderr).toMatch(/^empty\.mp4 is empty \(zero bytes\)/m);
	expect(stderr).toMatch(/mended or filmed anew give all films of a session together.*card --serve/);
	expect(existsSync(join(out, 'none'))).toBe(false);
});

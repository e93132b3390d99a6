import { PassThrough } from 'node:stream';
import { expect, test } from 'vitest';
import { openProgress } from '../../src/cli/progressBar.ts';

/** What is written while a share is shown at each of some moments. */
function written(
	isTTY: boolean,
	steps: readonly (readonly [atMs: number, shareRatio: number, text: string])[],
): string {
	const stream = Object.assign(new PassThrough(), { isTTY }) as unknown as NodeJS.WriteStream & PassThrough;
	let nowMs = 0;
	const progress = openProgress(stream, 40, () => nowMs);
	for (const [atMs, share, text] of steps) {
		nowMs = atMs;
		progress.show(share, text);
	}
	return String(stream.read() ?? '');
}

test('without a terminal there is a line for each quarter, and one every ten seconds where a quarter takes long', () => {
	const steps = [
		[0, 0, 'a'],
		[1000, 0.2, 'b'],
		[2000, 0.25, 'c'],
		[11_999, 0.26, 'd'],
		[12_000, 0.27, 'e'],
		[13_000, 1.2, 'f'],
	] as const;
	expect(written(false, steps)).toBe('0 % a\n25 % c\n27 % e\n100 % f\n');
});

test('on a terminal one line is drawn over and over, never wider than the window', () => {
	const lines = written(true, [
		[0, 0, 'reading'],
		[1, 0.5, 'a name that is far too long for this window'],
	]).split('\r');
	expect(lines.slice(1).map((line) => line.length)).toEqual([39, 39]);
	expect(lines[2]).toMatch(/^\[#{14}\.{14}\] a name/);
});

import { mkdtempSync, readdirSync, readFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { FilmDesk } from '../../src/console/filmDesk.ts';
import { readFilmOrder } from '../../src/protocol/films.ts';

/** A command in place of the real one; it is given the words after it. */
function deskOf(script: string) {
	const root = mkdtempSync(join(tmpdir(), 'steerworthy-'));
	const program = [process.execPath, '-e', script, '--'];
	return { root, desk: new FilmDesk({ root, program, criteria: null, newRunId: () => 'films-1' }) };
}

async function* bytes() {
	yield Buffer.from('film');
}

const ended = async (desk: FilmDesk) => {
	while (desk.state.stage === 'reading') await new Promise((next) => setTimeout(next, 20));
	return desk.state;
};

const order = { kit: '', place: '', recording: null, turnedAsMeant: false };

test('a film is kept under a harmless name, and only what was kept can be judged', async () => {
	const { root, desk } = deskOf('');
	const kept = await desk.keep('../../../a film?.mp4', bytes());
	expect(kept).toMatch(/^[0-9a-f]{16}\/a-film-.mp4$/);
	expect(readFileSync(join(root, '.films', kept), 'utf8')).toBe('film');
	for (const name of ['../secret.mp4', '/etc/hosts', `${kept}/..`, `--out=${root}`])
		expect(() => desk.begin({ ...order, films: [name] })).toThrow(RangeError);
	// A page that stood open while the console was started anew.
	const gone = kept.replace('a-film', 'b-film');
	for (const names of [{ films: [gone] }, { films: [kept], recording: gone }])
		expect(() => desk.begin({ ...order, ...names })).toThrow(
			/^b-film-.mp4 is no longer here.*choose it again/,
		);
	await desk.close();
	expect(readdirSync(root)).toEqual([]);
});

test('the command gets the films and what was said of them, and its trouble is the page’s', async () => {
	const { root, desk } = deskOf(
		'process.stderr.write("0 % reading film.mp4\\n" + JSON.stringify(process.argv.slice(1)) + "\\n"); process.exitCode = 3',
	);
	const kept = await desk.keep('film.mp4', bytes());
	const own = await desk.keep('own.mp4', bytes());
	desk.begin({ films: [kept], recording: own, kit: '--help', place: 'yard', turnedAsMeant: true });
	expect(() => desk.begin({ ...order, films: [kept] })).toThrow(/being read already/);
	const state = await ended(desk);
	if (state.stage !== 'failed') throw new Error(state.stage);
	const said: string[] = JSON.parse(state.words);
	expect(said.slice(0, 3)).toEqual(['optical', join(root, '.films', kept), '--json']);
	expect(said).toEqual(
		expect.arrayContaining([join(root, '.films', own), '--kit=--help', '--place=yard', '--turned-as-meant']),
	);
});

test('how far the command has come is told in its own last words, and nothing else of what it says', async () => {
	const { desk } = deskOf(
		'process.stderr.write("0 % reading a.mp4\\n25 % reading a.mp4\\nno tick here\\n50 % reading b.mp4\\n"); setTimeout(() => {}, 60_000)',
	);
	desk.begin({ ...order, films: [await desk.keep('a.mp4', bytes())] });
	expect(desk.state).toEqual({ stage: 'reading', words: 'looking at the first film' });
	await expect
		.poll(() => desk.state, { timeout: 20_000 })
		.toEqual({ stage: 'reading', words: '50 % reading b.mp4' });
	await desk.close();
});

test('an order is stopped, and an answer that is none is told', async () => {
	const slow = deskOf('setTimeout(() => {}, 60_000)');
	slow.desk.begin({ ...order, films: [await slow.desk.keep('a.mp4', bytes())] });
	slow.desk.stop();
	expect(await ended(slow.desk)).toEqual({ stage: 'failed', words: 'Stopped.' });
	const killed = deskOf('process.kill(process.pid, "SIGKILL")');
	killed.desk.begin({ ...order, films: [await killed.desk.keep('a.mp4', bytes())] });
	expect(await ended(killed.desk)).toMatchObject({
		stage: 'failed',
		words: expect.stringMatching(/memory full\?.*`steerworthy optical` on the command line\. \(SIGKILL\)/),
	});
	const odd = deskOf('console.log("{}")');
	odd.desk.begin({ ...order, films: [await odd.desk.keep('a.mp4', bytes())] });
	expect(await ended(odd.desk)).toMatchObject({
		stage: 'failed',
		words: expect.stringMatching('come whole'),
	});
});

test('an order without a film is refused by name', () => {
	expect(() => readFilmOrder({ ...order, films: [] })).toThrow(/at least one film/);
	expect(() => readFilmOrder('judge')).toThrow(RangeError);
});

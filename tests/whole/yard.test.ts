/** The yard check as a person walks it: answers typed, cut off, taken up again under the same name. */
import { spawn } from 'node:child_process';
import { readFileSync, rmSync } from 'node:fs';
import { createServer } from 'node:net';
import { join, resolve } from 'node:path';
import { afterAll, expect, test } from 'vitest';
import { yardSchema } from '../../src/verdict/yardSession.ts';
import { emptyFolder, steerworthy } from './program.ts';

const MAIN = resolve(import.meta.dirname, '../../dist/cli/main.js');
const out = emptyFolder();
afterAll(() => rmSync(out, { recursive: true }));

/** All that is typed, then the end of it. */
function yard(
	typed: readonly string[],
	...words: string[]
): Promise<{ code: number | null; stdout: string }> {
	return new Promise((done) => {
		const child = spawn(process.execPath, [
			MAIN,
			'yard',
			'--name',
			'morning',
			'--tablet',
			'none',
			'--out',
			out,
			...words,
		]);
		let stdout = '';
		child.stdout.on('data', (text) => {
			stdout += text;
		});
		child.on('close', (code) => done({ code, stdout }));
		child.stdin.end(typed.map((line) => `${line}\n`).join(''));
	});
}

/** A check of twelve minutes on the kit's own network, with nobody at the keys. */
const besideTheKit = (name: string): string[] => [
	...['yard', '--name', name, '--tablet', 'none', '--out', out, '--yes'],
	...['--wifi', 'kit', '--minutes', '12'],
];
const LAST_SCREEN = /BACK TO THE KIT[\s\S]*Only then\s+go on\.\s*$/;

const kept = () => yardSchema.parse(JSON.parse(readFileSync(join(out, 'yards/morning/yard.json'), 'utf8')));

test('a check whose answers end is told as far as it came, goes on where it was left, and always leads back to the kit', async () => {
	const first = await yard(['1', '8', 'box door, 4 m, 1.2 m', 'arch', '', '52']);
	expect(first.code).toBe(0);
	expect(first.stdout.indexOf('WHOSE WI-FI IS IT?')).toBeGreaterThan(-1);
	expect(first.stdout).toContain('radar channels');
	expect(first.stdout).toContain('treat as not fit to steer');
	expect(first.stdout.indexOf('BACK TO THE KIT')).toBeGreaterThan(first.stdout.indexOf('MAY I STEER?'));
	expect(first.stdout).toMatch(LAST_SCREEN);
	expect(kept()).toMatchObject({
		stopped: true,
		visits: [],
		places: [{ name: 'box door', distanceM: 4 }, { name: 'arch' }],
	});

	const second = await yard([], '--yes', '--seconds', '6', '--rename', 'arch=gate');
	expect(second.code).toBe(0);
	expect(second.stdout).not.toContain('WHOSE WI-FI');
	const { visits, places, backAtKit } = kept();
	expect(visits).toMatchObject([{ place: 0, state: 'done', runId: 'morning-1-visit' }]);
	expect(places.map(({ name }) => name)).toEqual(['box door', 'gate']);
	expect(backAtKit).toBe(true);
	const page = readFileSync(join(out, 'yards/morning/yard.html'), 'utf8');
	expect(page).toContain('Back to the kit');
	expect(page).toContain('box door');
	expect(page).not.toMatch(/<script|https?:\/\//);
});

test('Ctrl-C in the middle of a run ends it, tells what is known and leads back to the kit; the name goes on, and stands beside home', async () => {
	const words = besideTheKit('evening');
	const child = spawn(process.execPath, [
		MAIN,
		...words,
		'--place',
		'gate',
		'--channel',
		'36',
		'--seconds',
		'60',
	]);
	let [stdout, stderr] = ['', ''];
	child.stdout.on('data', (text) => {
		stdout += text;
	});
	child.stderr.on('data', (text) => {
		stderr += text;
		// By what the program says, not by the clock: it is measuring.
		if (/measuring/i.test(stderr)) child.kill('SIGINT');
	});
	const code = await new Promise((done) => child.on('close', done));
	expect(code).toBe(0);
	expect(stdout).toContain('treat as not fit to steer');
	expect(stdout.indexOf('BACK TO THE KIT')).toBeGreaterThan(stdout.indexOf('MAY I STEER?'));
	expect(stdout).toMatch(LAST_SCREEN);
	const yardFile = () =>
		yardSchema.parse(JSON.parse(readFileSync(join(out, 'yards/evening/yard.json'), 'utf8')));
	expect(yardFile()).toMatchObject({ stopped: true, verdictRuns: [{ state: 'begun', reading: null }] });

	const home = await steerworthy([
		'link',
		'--tablet',
		'none',
		'--seconds',
		'5',
		'--out',
		out,
		'--name',
		'home',
	]);
	expect(home.code, home.stderr).toBe(0);
	const again = await steerworthy([...words, '--seconds', '6', '--home', join(out, 'home')]);
	expect(again.code, again.stderr).toBe(0);
	expect(yardFile().verdictRuns.map(({ state }) => state)).toEqual(['begun', 'done']);
	const told = again.stdout.slice(again.stdout.indexOf('BESIDE THE READING AT HOME')).replace(/\s+/g, ' ');
	expect(told).toMatch(
		/Delay here beside home: median [+−][\d.]+ ms, 19 times in 20 [+−][\d.]+ ms, give or take [\d.]+ ms/,
	);
	expect(told).toContain('does not carry to a yard');
	expect(told).toContain('The reading at home is home of ');
	expect(told).toContain('read on the same kind of device as here');
}, 240_000);

test('Ctrl-C while a question waits needs no further key, and leads back to the kit', async () => {
	const words = ['yard', '--name', 'asked', '--tablet', 'none', '--out', out];
	const child = spawn(process.execPath, [MAIN, ...words]);
	let stdout = '';
	child.stdout.on('data', (text) => {
		stdout += text;
	});
	// Nothing is typed, and the input stays open.
	child.stderr.on('data', (text) => {
		if (String(text).includes('1 to 4')) child.kill('SIGINT');
	});
	expect(await new Promise((done) => child.on('close', done))).toBe(0);
	expect(stdout).toContain('treat as not fit to steer');
	expect(stdout).toMatch(LAST_SCREEN);
});

test('a failure in the middle is told, with what was known and how to go on, and the last screen is back to the kit', async () => {
	const taken = createServer();
	await new Promise<void>((listening) => taken.listen(0, '127.0.0.1', listening));
	const address = taken.address();
	const port = typeof address === 'object' && address !== null ? address.port : 0;
	const { code, stdout } = await steerworthy([
		...besideTheKit('broken'),
		...['--place', 'gate', '--channel', '36', '--seconds', '6', '--port', `${port}`],
	]);
	taken.close();
	expect(code).toBe(3);
	const told = stdout.replace(/\s+/g, ' ');
	expect(told).toMatch(/IT ENDED HERE.*portInUse/);
	expect(told).toContain('yard --name broken goes on from there');
	expect(told).toContain('treat as not fit to steer');
	expect(stdout).toMatch(LAST_SCREEN);
});

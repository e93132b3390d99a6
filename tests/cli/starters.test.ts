/** The files to double-click: what the systems ask of them, and what the one for Linux does, with a made `node` and `npm` on the path. */
import { execFileSync, spawnSync } from 'node:child_process';
import { chmodSync, cpSync, mkdirSync, mkdtempSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { expect, test } from 'vitest';

const START = resolve(import.meta.dirname, '../../src/start');
const isUnix = process.platform !== 'win32';

/** A copy of the project's `src/start` alone, and a path with these programs, each of which writes down how it was called. */
function place(programs: Readonly<Record<string, string>>) {
	const root = mkdtempSync(join(tmpdir(), 'steerworthy a place-'));
	cpSync(START, join(root, 'src/start'), { recursive: true });
	const path = join(root, 'bin');
	mkdirSync(path);
	for (const [name, body] of Object.entries(programs)) {
		writeFileSync(join(path, name), `#!/bin/sh\necho "${name} $*" >> "${root}/calls"\n${body}\n`);
		chmodSync(join(path, name), 0o755);
	}
	for (const name of ['sh', 'dirname'])
		execFileSync('ln', ['-s', execFileSync('which', [name], { encoding: 'utf8' }).trim(), join(path, name)]);
	return {
		root,
		run: (file: string, ...words: string[]) =>
			spawnSync(file, words, { env: { PATH: path }, encoding: 'utf8', cwd: tmpdir() }),
		calls: () => readFileSync(join(root, 'calls'), 'utf8').trim().split('\n'),
	};
}

test.runIf(isUnix)(
	'a system that asks for the right to run a file gets it; Windows gets its own line ends, the others theirs',
	() => {
		for (const name of ['linux.sh', 'linux.desktop', 'macos.command'])
			expect(statSync(join(START, name)).mode & 0o111).toBe(0o111);
		for (const name of ['linux.sh', 'linux.desktop', 'macos.command'])
			expect(readFileSync(join(START, name), 'utf8')).not.toContain('\r');
		const lines = readFileSync(join(START, 'windows.cmd'), 'utf8').split('\n').slice(0, -1);
		expect(lines.every((line) => line.endsWith('\r'))).toBe(true);
	},
);

test.runIf(isUnix)(
	'the first time its parts are put in place and then it starts, from whatever folder, its words handed on',
	() => {
		const { root, run, calls } = place({
			node: '',
			npm: '[ "$1" = ci ] && exec /bin/mkdir node_modules; exit 0',
		});
		for (const name of ['linux.sh', 'macos.command'])
			expect(run(join(root, 'src/start', name), '--https').status).toBe(0);
		expect(calls()).toEqual(['npm ci', 'npm start -- --https', 'npm start -- --https']);
	},
);

test.runIf(isUnix)('what is missing is said in words, and the start is not called a success', () => {
	const bare = place({});
	const without = bare.run(join(bare.root, 'src/start/linux.sh'));
	expect([without.status, without.stdout]).toEqual([1, expect.stringContaining('Node is not installed')]);
	const offline = place({ node: '', npm: 'exit 1' });
	const failed = offline.run(join(offline.root, 'src/start/linux.sh'));
	expect([failed.status, failed.stdout]).toEqual([1, expect.stringContaining('Is the internet there?')]);
});

/** The words of an `Exec` line, as the Desktop Entry Specification 1.5 reads them: first the string's escapes, then the quotes. */
function execWords(text: string, file: string): string[] {
	const value = (/^Exec=(.*)$/m.exec(text)?.[1] ?? '').replaceAll('\\\\', '\\');
	const words = value.match(/"(?:\\.|[^"\\])*"|[^\s"]+/g) ?? [];
	return words.map((word) =>
		word === '%k' ? file : word.startsWith('"') ? word.slice(1, -1).replace(/\\(["`$\\])/g, '$1') : word,
	);
}

test.runIf(isUnix)('the entry for a Linux desktop finds the script beside it', () => {
	const { root, run, calls } = place({
		node: '',
		npm: '[ "$1" = ci ] && exec /bin/mkdir node_modules; exit 0',
	});
	const file = join(root, 'src/start/linux.desktop');
	const [program = '', ...words] = execWords(readFileSync(file, 'utf8'), file);
	expect(run(program, ...words).status).toBe(0);
	expect(calls().at(-1)).toBe('npm start --');
});

/** The built program run from outside, as a person runs it. */
import { spawn } from 'node:child_process';
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';

export const MAIN = resolve(import.meta.dirname, '../../dist/cli/main.js');

export type Ended = { readonly code: number | null; readonly stdout: string; readonly stderr: string };

export function steerworthy(
	words: readonly string[],
	environment: Readonly<Record<string, string>> = {},
): Promise<Ended> {
	return new Promise((done) => {
		const child = spawn(process.execPath, [MAIN, ...words], { env: { ...process.env, ...environment } });
		let stdout = '';
		let stderr = '';
		child.stdout.on('data', (text) => {
			stdout += text;
		});
		child.stderr.on('data', (text) => {
			stderr += text;
		});
		child.on('close', (code) => done({ code, stdout, stderr }));
	});
}

export function emptyFolder(): string {
	return mkdtempSync(join(tmpdir(), 'steerworthy-'));
}

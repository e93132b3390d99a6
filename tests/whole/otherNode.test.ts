/**
 * The same run judged on two versions of Node. `OTHER_NODE` names the second one's program; else what nvm keeps is looked through.
 * Where there is none the test is skipped: its title says so.
 */
import { execFileSync } from 'node:child_process';
import { readdirSync, readFileSync } from 'node:fs';
import { homedir } from 'node:os';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { MAIN } from './program.ts';

const EXAMPLE = join(import.meta.dirname, '../../reports/example');
const major = (version: string): string => version.split('.')[0] ?? '';

/** Programs of another major version than this one's. */
function otherNodes(): string[] {
	const named = process.env['OTHER_NODE'];
	if (named !== undefined) return [named];
	const folder = join(homedir(), '.nvm/versions/node');
	try {
		return readdirSync(folder)
			.filter(
				(version) =>
					['v20', 'v22', 'v24'].includes(major(version)) && major(version) !== major(process.version),
			)
			.map((version) => join(folder, version, 'bin/node'));
	} catch {
		return [];
	}
}

const others = otherNodes();

test.skipIf(others.length === 0)(
	'another version of Node gives the kept result, to the last digit (skipped where OTHER_NODE names none)',
	() => {
		for (const node of others) {
			const version = execFileSync(node, ['--version'], { encoding: 'utf8' });
			expect(major(version)).not.toBe(major(process.version));
			const judged = execFileSync(node, [MAIN, 'judge', EXAMPLE, '--json'], {
				...{ encoding: 'utf8', stdio: ['ignore', 'pipe', 'ignore'] },
			});
			expect(judged).toBe(readFileSync(join(EXAMPLE, 'result.json'), 'utf8'));
		}
	},
);

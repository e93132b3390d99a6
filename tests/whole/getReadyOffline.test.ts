/**
 * "Get ready at home" on a computer that is on no network but one of its own: in a network namespace with one address and no way out.
 * Needs Linux, root, `unshare` and `ip`; skipped, and the name says so, where these are not there.
 */
import { spawnSync } from 'node:child_process';
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { expect, test } from 'vitest';
import type { HomeCheck } from '../../src/protocol/console.ts';

const UNSHARE = 'unshare';
const ROOT = resolve(import.meta.dirname, '../..');
/** A pair of ends that lead only to each other. */
const ALONE =
	'ip link set lo up && ip link add wlan9 type veth peer name far9 && ip addr add 192.168.77.1/24 dev wlan9 && ip link set wlan9 up && ip link set far9 up';
const isPossible = spawnSync(UNSHARE, ['-n', 'sh', '-c', ALONE], { stdio: 'ignore' }).status === 0;

function inside(script: string): { readonly status: number | null; readonly stdout: string } {
	return spawnSync(
		UNSHARE,
		[
			'-n',
			'sh',
			'-c',
			`${ALONE} && exec "$0" --import tsx --input-type=module -e "$1"`,
			process.execPath,
			script,
		],
		{
			cwd: ROOT,
			encoding: 'utf8',
			timeout: 120_000,
		},
	);
}

test.skipIf(!isPossible)(
	`with no way to the internet every item of the list passes${isPossible ? '' : ' (no network namespace here)'}`,
	() => {
		const folder = mkdtempSync(join(tmpdir(), 'steerworthy-home-'));
		const means = {
			pagesFolder: join(ROOT, 'dist/pages'),
			runsFolder: folder,
			keepFolder: join(folder, 'keep'),
		};
		const { status, stdout } = inside(`
			import { lookup } from 'node:dns/promises';
			import { getReady } from './src/console/homeChecks.ts';
			let checks = [];
			await getReady(${JSON.stringify(means)}, (told) => { checks = told; });
			const isOnline = await lookup('example.org').then(() => true, () => false);
			console.log(JSON.stringify({ checks, isOnline }));
			process.exit(0);`);
		expect(status).toBe(0);
		const { checks, isOnline } = JSON.parse(stdout) as { checks: HomeCheck[]; isOnline: boolean };
		expect(isOnline).toBe(false);
		expect(checks.map(({ name, state, words }) => (state === 'pass' ? state : `${name}: ${words}`))).toEqual(
			new Array(5).fill('pass'),
		);
		expect(checks.at(-1)?.words).toContain('wlan9 (192.168.77.1)');
	},
);

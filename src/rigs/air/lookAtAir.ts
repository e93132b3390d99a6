/**
 * What this computer can see of the air: on Linux by the program `iw`, which only reads. Elsewhere, without the program or
 * without the right to scan, null: typed input is the main path.
 */
import { execFile } from 'node:child_process';
import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { promisify } from 'node:util';
import {
	type HeardNetwork,
	type JoinedLink,
	readLink,
	readScan,
	readStations,
	type StationCounts,
} from './iwText.ts';

const run = promisify(execFile);
const WITHIN_MS = 15_000;

export type SeenAir = {
	readonly device: string;
	readonly link: JoinedLink | null;
	readonly stations: readonly StationCounts[];
	/** Null: it may not scan here. */
	readonly heard: readonly HeardNetwork[] | null;
};

/** `system`: where the system lists its devices. */
export async function lookAtAir(system = '/sys/class'): Promise<SeenAir | null> {
	const device = wirelessDevice(system);
	if (device === null) return null;
	const link = await iw(device, 'link');
	if (link === null) return null;
	const scan = (await iw(device, 'scan')) ?? (await iw(device, 'scan', 'dump'));
	const stations = readStations((await iw(device, 'station', 'dump')) ?? '');
	return { device, link: readLink(link), stations, heard: scan === null ? null : readScan(scan) };
}

function wirelessDevice(system: string): string | null {
	try {
		return readdirSync(join(system, 'ieee80211')).length === 0
			? null
			: (readdirSync(join(system, 'net')).find((name) => /^wl/.test(name)) ?? null);
	} catch {
		return null;
	}
}

/** Null whatever goes wrong: no program, no right, too slow. */
async function iw(device: string, ...words: string[]): Promise<string | null> {
	return run('iw', ['dev', device, ...words], {
		timeout: WITHIN_MS,
		env: { ...process.env, LC_ALL: 'C' },
	}).then(
		({ stdout }) => stdout,
		() => null,
	);
}

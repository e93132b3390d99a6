/** What the computer sees of the air, by an `iw` of our own on the PATH that prints what real ones print, or a part of it. */
import { chmodSync, mkdirSync, mkdtempSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { delimiter, join } from 'node:path';
import { afterEach, expect, test } from 'vitest';
import { channelSeen, channelWords } from '../../../src/rigs/air/channelWords.ts';
import { lookAtAir } from '../../../src/rigs/air/lookAtAir.ts';

const PATH = process.env['PATH'] ?? '';
afterEach(() => {
	process.env['PATH'] = PATH;
});

const LINK = `Connected to 02:00:00:00:01:00 (on wlan0)
	SSID: kit
	freq: 5260.0
	signal: -51 dBm
`;
const SCAN = `BSS 02:00:00:00:01:00(on wlan0) -- associated
	freq: 5260.0
	SSID: kit
	VHT operation:
		 * channel width: 1 (80 MHz)
		 * center freq segment 1: 58
BSS 02:00:00:00:02:00(on wlan0)
	freq: 5280
	SSID:
	BSS Load:
		 * station count: 7
		 * channel utilisation: 204/255
BSS 02:00:00:00:03:00(on wlan0)
	SSID: no frequency at all
`;
const STATIONS = `Station 02:00:00:00:01:00 (on wlan0)
	tx packets:	900
	tx retries:	120
	signal avg:	-52 dBm
`;

/** A system with one device, and an `iw` that prints these by the words after `dev wlan0`; what it does not know fails. */
function withIw(
	prints: Readonly<Record<string, string>>,
	devices: readonly string[] = ['lo', 'wlan0'],
): string {
	const root = mkdtempSync(join(tmpdir(), 'steerworthy-iw-'));
	for (const device of devices) mkdirSync(join(root, 'sys/net', device), { recursive: true });
	mkdirSync(join(root, 'sys/ieee80211/phy0'), { recursive: true });
	const cases = Object.entries(prints).map(
		([words, text]) => `"dev wlan0 ${words}") cat <<'END'\n${text}END\n;;`,
	);
	writeFileSync(join(root, 'iw'), `#!/bin/sh\ncase "$*" in\n${cases.join('\n')}\n*) exit 255;;\nesac\n`);
	chmodSync(join(root, 'iw'), 0o755);
	process.env['PATH'] = `${root}${delimiter}${PATH}`;
	return join(root, 'sys');
}

test('link, scan and stations are read, whatever parts are missing, and the advice comes of them', async () => {
	const seen = await lookAtAir(withIw({ link: LINK, scan: SCAN, 'station dump': STATIONS }));
	expect(seen).toMatchObject({
		device: 'wlan0',
		link: { name: 'kit', freqMHz: 5260, signalDbm: -51, rxMbitPerS: null },
		stations: [{ txPackets: 900, txRetries: 120, txFailed: null, beaconLoss: null }],
	});
	expect(seen?.heard?.map(({ name, joined }) => [name, joined])).toEqual([
		['kit', true],
		[null, false],
	]);
	expect(channelSeen(seen)).toMatchObject({ channel: 52, takes: { widthMHz: 80 } });
	const { channel, words } = channelWords('', seen);
	expect(channel).toBe('5 GHz 52@80');
	expect(words.join(' ')).toMatch(/radar channels.*1 other network heard.*busy 80 % of the time/);
});

test('without the right to scan, what was heard before is taken; without that, the link still tells the channel', async () => {
	const dumped = await lookAtAir(withIw({ link: LINK, 'scan dump': SCAN }));
	expect(dumped?.heard).toHaveLength(2);
	const deaf = await lookAtAir(withIw({ link: LINK }));
	expect(deaf).toMatchObject({ heard: null, stations: [] });
	expect(channelSeen(deaf)).toMatchObject({ channel: 52, takes: { widthMHz: 20 } });
	expect(channelWords('', deaf).words.join(' ')).toContain('cannot tell who else is on the air');
});

test('joined to nothing, with no device, or with no such program: typed input is what is left', async () => {
	const alone = await lookAtAir(withIw({ link: 'Not connected.\n', scan: '' }));
	expect(alone).toMatchObject({ link: null, heard: [] });
	expect(channelSeen(alone)).toBeNull();
	expect(await lookAtAir(withIw({ link: LINK }, ['lo', 'eth0']))).toBeNull();
	const system = withIw({});
	expect(await lookAtAir(system)).toBeNull();
	expect(await lookAtAir(join(system, 'nowhere'))).toBeNull();
	expect(channelWords('36@80', null).channel).toBe('5 GHz 36@80');
	expect(channelWords('the blue one', null)).toEqual({ channel: 'the blue one', words: [] });
});

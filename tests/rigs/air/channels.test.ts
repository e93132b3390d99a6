import { expect, test } from 'vitest';
import { adviseOnChannel, readTypedChannel } from '../../../src/rigs/air/channelAdvice.ts';
import {
	blockOf,
	channelToMHz,
	freeSpaceLossDb,
	meetsRadar,
	mhzToChannel,
	overlaps,
} from '../../../src/rigs/air/channels.ts';
import { readLink, readScan, readStations } from '../../../src/rigs/air/iwText.ts';

/** Published numbers (standards.md 7). */
test.each([
	['2.4', 1, 2412],
	['2.4', 6, 2437],
	['2.4', 13, 2472],
	['2.4', 14, 2484],
	['5', 36, 5180],
	['5', 64, 5320],
	['5', 100, 5500],
	['5', 144, 5720],
	['5', 149, 5745],
	['5', 177, 5885],
	['6', 1, 5955],
	['6', 2, 5935],
	['6', 93, 6415],
	['6', 233, 7115],
] as const)('%s GHz channel %i has its centre at %i MHz, both ways', (band, channel, mhz) => {
	expect(channelToMHz(band, channel)).toBe(mhz);
	expect(mhzToChannel(mhz)).toEqual({ band, channel });
});

test('numbers that a band does not have are none', () => {
	expect([
		channelToMHz('2.4', 15),
		channelToMHz('5', 14),
		channelToMHz('6', 234),
		mhzToChannel(2413),
	]).toEqual([null, null, null, null]);
});

/** Centre channels of the wider blocks, from memory. */
test.each([
	[36, 40, 38],
	[44, 40, 46],
	[36, 80, 42],
	[48, 80, 42],
	[52, 80, 58],
	[100, 80, 106],
	[149, 80, 155],
	[161, 80, 155],
	[36, 160, 50],
	[100, 160, 114],
])('channel %i at %i MHz lies round channel %i', (channel, width, centre) => {
	expect(blockOf('5', channel, width)?.centreMHz).toBe(5000 + 5 * centre);
});

test.each([
	['1', '5', false],
	['1', '6', false],
	['1', '4', true],
	['6', '11', false],
	['36@80', '48', true],
	['36@80', '52', false],
	['36@160', '52', true],
	['6@40', '11', true],
])('%s and %s overlap: %s', (a, b, truth) => {
	expect(overlaps(readTypedChannel(a)!.takes, readTypedChannel(b)!.takes)).toBe(truth);
});

test('52 to 144 listen for radar, and so does a wide block that reaches there', () => {
	const radar = (text: string) => meetsRadar(readTypedChannel(text)!.takes);
	expect(['52', '64', '100', '144', '36@160'].map(radar)).toEqual([true, true, true, true, true]);
	expect(['1', '36', '48', '36@80', '149', '165'].map(radar)).toEqual([
		false,
		false,
		false,
		false,
		false,
		false,
	]);
});

/** Computed from the formula (standards.md 7). */
test.each([
	[10, 2437, 60.185],
	[10, 5180, 66.734],
	[10, 5955, 67.945],
	[1, 2412, 40.095],
])('%i m at %i MHz cost %f dB over free ground', (metres, mhz, db) => {
	expect(freeSpaceLossDb(metres, mhz)).toBeCloseTo(db, 2);
	expect(freeSpaceLossDb(2 * metres, mhz) - freeSpaceLossDb(metres, mhz)).toBeCloseTo(6.02, 2);
});

const SCAN = `BSS aa:bb:cc:00:00:01(on wlan0) -- associated
	last seen: 12 ms ago
	freq: 5180.0
	beacon interval: 100 TUs
	signal: -45.00 dBm
	SSID: kit net
	BSS Load:
		 * station count: 4
		 * channel utilisation: 128/255
		 * available admission capacity: 31250 [*32us]
	HT operation:
		 * primary channel: 36
		 * secondary channel offset: above
	VHT operation:
		 * channel width: 1 (80 MHz)
		 * center freq segment 1: 42
		 * center freq segment 2: 0
BSS aa:bb:cc:00:00:02(on wlan0)
	last seen: 4711.123s [boottime]
	freq: 2437
	something quite new: 7
	SSID: \\x00\\x00
BSS aa:bb:cc:00:00:03(on wlan0)
	SSID: nowhere
BSS aa:bb:cc:00:00:04(on wlan0)
	freq: 2462
	signal: -70.00 dBm
	SSID: barn
	HT operation:
		 * primary channel: 11
		 * secondary channel offset: below
`;

test('a scan is read in spite of missing and unknown parts', () => {
	const [kit, hidden, barn, ...others] = readScan(SCAN);
	expect(others).toEqual([]);
	expect(kit).toMatchObject({
		name: 'kit net',
		band: '5',
		channel: 36,
		joined: true,
		stations: 4,
		signalDbm: -45,
	});
	expect(kit?.takes).toEqual({ centreMHz: 5210, widthMHz: 80 });
	expect(kit?.busyRatio).toBeCloseTo(0.502, 3);
	expect(hidden).toMatchObject({ name: null, channel: 6, signalDbm: null, busyRatio: null, joined: false });
	expect(barn?.takes).toEqual({ centreMHz: 2452, widthMHz: 40 });
	expect(readScan('')).toEqual([]);
	expect(readScan('command failed: Operation not permitted (-1)')).toEqual([]);
});

test.each([
	['5180', 5180],
	['5640.0', 5640],
])('a link at %s MHz is read', (text, mhz) => {
	const link = readLink(`Connected to 04:18:d6:aa:bb:cc (on wlan0)
	SSID: lab-wifi
	freq: ${text}
	RX: 206623 bytes (393 packets)
	signal: -52 dBm
	rx bitrate: 780.0 MBit/s VHT-MCS 9 80MHz short GI VHT-NSS 2
	tx bitrate: 650.0 MBit/s HE-MCS 13 HE-NSS 2 HE-GI 0 HE-DCM 0`);
	expect(link).toEqual({
		...{ address: '04:18:d6:aa:bb:cc', name: 'lab-wifi', freqMHz: mhz },
		...{ signalDbm: -52, rxMbitPerS: 780, txMbitPerS: 650 },
	});
});

test('a computer that has joined nothing has no link', () => {
	expect(readLink('Not connected.\n')).toBeNull();
});

test('stations are read with what their driver tells', () => {
	const stations = readStations(`Station 04:18:d6:aa:bb:cc (on wlan0)
	inactive time:	4 ms
	tx packets:	497
	tx retries:	31
	tx failed:	0
	signal:  	-52 [-54, -56] dBm
Station 04:18:d6:aa:bb:cd (on wlan0)
	tx packets:	12`);
	expect(stations).toMatchObject([
		{ txPackets: 497, txRetries: 31, txFailed: 0, signalDbm: -52, beaconLoss: null },
		{ txPackets: 12, txRetries: null },
	]);
});

test('advice gives its reason and never judges by strength', () => {
	const codes = (typed: string, heard = readScan(SCAN)) =>
		adviseOnChannel(readTypedChannel(typed)!, heard).map(({ code }) => code);
	expect(codes('52')).toEqual(['radar']);
	expect(codes('149')).toEqual([]);
	expect(codes('40')).toEqual(['overlap', 'busy']);
	expect(codes('6@40')).toEqual(['wide24', 'band24', 'overlap']);
	const strong = readScan(SCAN.replaceAll(/signal: -?\d+/g, 'signal: -20'));
	expect(adviseOnChannel(readTypedChannel('40')!, strong)).toEqual(
		adviseOnChannel(readTypedChannel('40')!, readScan(SCAN)),
	);
	expect(adviseOnChannel(readTypedChannel('36')!, null).map(({ code }) => code)).toEqual(['notHeard']);
	const [overlap] = adviseOnChannel(readTypedChannel('40')!, readScan(SCAN));
	expect(overlap?.advice).toContain('channel 149');
});

test('a channel is typed as people say it', () => {
	expect(readTypedChannel(' channel 36 @ 80 MHz ')).toMatchObject({ band: '5', channel: 36 });
	expect(readTypedChannel('6 GHz 37@160')).toMatchObject({ band: '6', channel: 37 });
	expect(readTypedChannel('11')).toMatchObject({ band: '2.4' });
	expect([readTypedChannel('auto'), readTypedChannel('36@70'), readTypedChannel('300')]).toEqual([
		null,
		null,
		null,
	]);
});

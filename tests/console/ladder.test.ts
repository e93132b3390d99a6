import { expect, test } from 'vitest';
import { costsOf, isUdpMissing, ladderSteps, noTabletWords, type WayHere } from '../../src/console/ladder.ts';

const nothingYet: WayHere = {
	waitedMs: 1000,
	https: false,
	isPaired: false,
	wasPageServed: false,
	isSocketOpen: false,
	udp: 'untried',
	isRunOn: true,
	isVideoSeen: false,
};
const states = (way: WayHere) => ladderSteps(way).map(({ state }) => state);

test('one step is waited for at a time, and a step that does not come gets its likely causes', () => {
	expect(states(nothingYet)).toEqual(['now', 'later', 'later', 'later']);
	const late = ladderSteps({ ...nothingYet, waitedMs: 20_000 });
	expect(late.map(({ state }) => state)).toEqual(['failed', 'later', 'later', 'later']);
	for (const cause of ['no internet', 'client isolation', 'firewall'])
		expect(late[0]?.words.join(' ')).toContain(cause);
});

test('UDP that stays shut offers WebSocket, and over WebSocket it is not asked for', () => {
	const talking = { ...nothingYet, wasPageServed: true, isSocketOpen: true, waitedMs: 20_000 };
	expect(states(talking)).toEqual(['done', 'done', 'failed', 'later']);
	expect(isUdpMissing(ladderSteps(talking))).toBe(true);
	expect(isUdpMissing(ladderSteps({ ...talking, waitedMs: 1000 }))).toBe(false);
	expect(states({ ...talking, udp: 'notNeeded' })).toEqual(['done', 'done', 'notNeeded', 'failed']);
	expect(isUdpMissing(ladderSteps({ ...talking, udp: 'notNeeded' }))).toBe(false);
	expect(states({ ...talking, udp: 'open' })).toEqual(['done', 'done', 'done', 'failed']);
	expect(states({ ...talking, udp: 'open', isVideoSeen: true })).toEqual(['done', 'done', 'done', 'done']);
});

test('a trial that did not pass is told at once and before any run, each reason in its own words', () => {
	const waiting = { ...nothingYet, wasPageServed: true, isSocketOpen: true, isRunOn: false };
	expect(states({ ...waiting, udp: 'trying' })).toEqual(['done', 'done', 'now', 'later']);
	const words = (udp: WayHere['udp']) => ladderSteps({ ...waiting, udp })[2]?.words.join(' ') ?? '';
	expect(words('shut')).toMatch(
		/tried and did not pass.*WebSocket, which is labelled.*firewall.*client isolation/,
	);
	expect(words('noneThere')).toContain('browser has no WebRTC');
	expect(words('noneHere')).toContain('laptop has no WebRTC');
	expect(isUdpMissing(ladderSteps({ ...waiting, udp: 'shut' }))).toBe(true);
});

test('before a run is started nothing is missed that only a run brings', () => {
	const ready = { ...nothingYet, wasPageServed: true, isSocketOpen: true, isRunOn: false, waitedMs: 99_000 };
	expect(states({ ...ready, udp: 'open' })).toEqual(['done', 'done', 'done', 'later']);
});

test('over https the certificate is the first cause to think of', () => {
	const [page] = ladderSteps({ ...nothingYet, https: true, waitedMs: 20_000 });
	expect(page?.words[0]).toContain('certificate');
});

test('a minute without a tablet names the address to look for; plain http is told what it costs', () => {
	expect(noTabletWords('192.168.4.7').join(' ')).toContain('192.168.4.7');
	expect(costsOf({ videoDecoder: true, secureContext: true, wakeLock: true })).toEqual([]);
	expect(costsOf({ videoDecoder: false, secureContext: false, wakeLock: false })).toHaveLength(3);
});

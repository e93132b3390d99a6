import { expect, test } from 'vitest';
import { costsOf, ladderSteps, noTabletWords, type WayHere } from '../../src/console/ladder.ts';

const nothingYet: WayHere = {
	waitedMs: 1000,
	https: false,
	isPaired: false,
	wasPageServed: false,
	isSocketOpen: false,
	isUdpOpen: false,
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
	expect(ladderSteps(talking)[2]?.words.join(' ')).toContain('choose WebSocket');
	expect(states({ ...talking, isUdpOpen: null })).toEqual(['done', 'done', 'notNeeded', 'failed']);
	expect(states({ ...talking, isUdpOpen: true, isVideoSeen: true })).toEqual([
		'done',
		'done',
		'done',
		'done',
	]);
});

test('before a run is started nothing is missed that only a run brings', () => {
	const ready = { ...nothingYet, wasPageServed: true, isSocketOpen: true, isRunOn: false, waitedMs: 99_000 };
	expect(states(ready)).toEqual(['done', 'done', 'later', 'later']);
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

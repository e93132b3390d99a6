import { expect, test } from 'vitest';
import { networkWays } from '../../src/console/networkChoice.ts';
import { Pairing } from '../../src/console/pairing.ts';

/** A pairing whose clock and luck the test holds. */
function openPairing() {
	let nowMs = 0;
	let next = 0;
	const pairing = new Pairing({
		nowMs: () => nowMs,
		randomBytes: (count) => Uint8Array.from({ length: count }, () => (next = (next * 5 + 7) % 248)),
	});
	return { pairing, pass: (ms: number) => (nowMs += ms) };
}

test('a code lets one device in, once; used again it is old, and the next one is another', () => {
	const { pairing } = openPairing();
	const code = pairing.code;
	expect(code).toMatch(/^[2-9A-HJKMNP-Z]{8}$/);
	const first = pairing.redeem(code, 'a');
	expect(first.kind).toBe('paired');
	expect(pairing.redeem(code, 'b')).toEqual({ kind: 'refused', reason: 'old' });
	expect(pairing.code).not.toBe(code);
	if (first.kind === 'paired') expect(pairing.holds(first.ticket)).toBe(true);
	expect(pairing.holds('0'.repeat(32))).toBe(false);
	expect(pairing.holds(undefined)).toBe(false);
});

test('a code is old after ten minutes, and typed small and in groups it is the same code', () => {
	const { pairing, pass } = openPairing();
	const code = pairing.code;
	pass(600_000);
	expect(pairing.redeem(code, 'a')).toEqual({ kind: 'refused', reason: 'old' });
	const typed = `${pairing.code.slice(0, 4)} ${pairing.code.slice(4)}`.toLowerCase();
	expect(pairing.redeem(typed, 'a').kind).toBe('paired');
});

test('after five wrong tries an address waits a minute even with the right code, and others do not', () => {
	const { pairing, pass } = openPairing();
	for (let i = 0; i < 5; i++)
		expect(pairing.redeem(`WRONG${i}`, 'guesser')).toEqual({ kind: 'refused', reason: 'wrong' });
	expect(pairing.redeem(pairing.code, 'guesser')).toEqual({ kind: 'refused', reason: 'tooMany' });
	expect(pairing.redeem(pairing.code, 'tablet').kind).toBe('paired');
	pass(60_000);
	expect(pairing.redeem(pairing.code, 'guesser').kind).toBe('paired');
});

test('a guesser with many addresses is held to thirty tries a minute', () => {
	const { pairing } = openPairing();
	for (let i = 0; i < 30; i++) pairing.redeem('WRONG', `address ${i}`);
	expect(pairing.redeem(pairing.code, 'one more')).toEqual({ kind: 'refused', reason: 'tooMany' });
});

test('real networks come first, virtual ones after them, this computer last; a self-given address is none', () => {
	const at = (address: string, internal = false) => ({
		address,
		internal,
		family: 'IPv4' as const,
		netmask: '',
		mac: '',
		cidr: null,
	});
	const ways = networkWays({
		lo: [at('127.0.0.1', true)],
		docker0: [at('172.17.0.1')],
		'vEthernet (Default Switch)': [at('172.20.0.1')],
		wlan0: [at('192.168.4.7')],
		'Wi-Fi': [at('10.0.0.5')],
		eth1: [at('169.254.3.4')],
	});
	expect(ways.map(({ name }) => name)).toEqual([
		'Wi-Fi',
		'wlan0',
		'docker0',
		'vEthernet (Default Switch)',
		'lo',
	]);
});

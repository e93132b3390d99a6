import { expect, test } from 'vitest';
import type { ToViewer } from '../../../src/protocol/control.ts';
import { RtcLookers } from '../../../src/rigs/link/rtcLookers.ts';

function open() {
	const log: string[] = [];
	const lookers = new RtcLookers(() => ({
		watch: (link) => log.push(`watch ${link % 1_000_000}`),
		answer: (link, sdp) => log.push(`answer ${link % 1_000_000} ${sdp}`),
		unwatch: (link) => log.push(`unwatch ${link % 1_000_000}`),
	}));
	const tell = (name: string) => (message: ToViewer) => log.push(`${name} hears ${message.type}`);
	return { lookers, log, tell };
}
const LINK = 1_000_000;
const answer = (link: number) => ({ type: 'answer', way: 'picture', link, sdp: 'yes' }) as const;

test('each that looks on has a connection of its own, and nobody answers for another', () => {
	const { lookers, log, tell } = open();
	lookers.ready(0, tell('ann'));
	lookers.ready(1, tell('bob'));
	lookers.offered(LINK, 'an offer');
	lookers.offered(LINK + 1, 'an offer');
	lookers.answered(1, answer(LINK));
	lookers.answered(1, answer(LINK + 1));
	expect(log).toEqual(['watch 0', 'watch 1', 'ann hears offer', 'bob hears offer', 'answer 1 yes']);
	expect([lookers.has(LINK), lookers.has(1)]).toEqual([true, false]);
});

test('one that leaves is let go, one whose connection broke is offered another, and no ninth is served', () => {
	const { lookers, log, tell } = open();
	for (let id = 0; id < 9; id++) lookers.ready(id, tell('someone'));
	expect(log).toHaveLength(8);
	log.length = 0;
	lookers.gone(3);
	lookers.lost(LINK + 4);
	lookers.lost(LINK + 3);
	expect(log).toEqual(['unwatch 3', 'unwatch 4', 'watch 8']);
});

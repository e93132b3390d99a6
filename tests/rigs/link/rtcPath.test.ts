import { beforeEach, expect, test, vi } from 'vitest';
import type { StreamCountsRow } from '../../../src/observations/records.ts';
import { RtcPath } from '../../../src/rigs/link/rtcPath.ts';

const RELAY = {
	renew: () => log.push('renew'),
	senderSide: { host: '127.0.0.1', port: 7001 },
	viewerSide: { host: '127.0.0.1', port: 7002 },
};
const SDP = 'v=0\r\na=mid:0\r\na=candidate:1 1 udp 1 10.0.0.7 5000 typ host\r\n';

let log: string[] = [];
let heard: { link?: number; sdp?: string }[] = [];
let answers: string[] = [];

function open(relay: typeof RELAY | null = null): RtcPath {
	return new RtcPath({
		sender: () => ({
			join: (link) => log.push(`join ${link}`),
			answer: (link, sdp) => answers.push(`${link} ${sdp}`),
			leave: () => log.push('leave'),
		}),
		relay: () => relay,
		send: (message) => heard.push(message as (typeof heard)[number]),
		event: (code, detail) => log.push(`${code}: ${detail}`),
	});
}

/** 30 pictures a second, looked at four times a second, all held as long. */
function counts(untilMs: number, bufferMs: (atMs: number) => number): StreamCountsRow[] {
	let total = 0;
	return Array.from({ length: untilMs / 250 + 1 }, (_, i): StreamCountsRow => {
		total += 7.5 * bufferMs(i * 250);
		return [i * 250, 7.5 * i, 7.5 * i, 0, 0, total, 7.5 * (i + 1)];
	});
}

beforeEach(() => {
	[log, heard, answers] = [[], [], []];
	vi.useFakeTimers();
	return () => vi.useRealTimers();
});

test('behind a relay sender and viewer hear of its two sides alone, without one of each other', () => {
	const path = open(RELAY);
	path.viewerReady('page');
	expect(log).toEqual(['renew', 'join 1']);
	path.offered(1, SDP);
	path.answered({ type: 'answer', way: 'picture', link: 1, sdp: SDP });
	expect(heard[0]?.sdp).toContain('127.0.0.1 7002');
	expect(answers[0]).toContain('127.0.0.1 7001');
	for (const told of [heard[0]?.sdp, answers[0]]) expect(told).not.toContain('10.0.0.7');
	path.offered(2, SDP);
	path.answered({ type: 'answer', way: 'picture', link: 0, sdp: SDP });
	expect([heard.length, answers.length]).toEqual([1, 1]);
	const bare = open();
	bare.viewerReady('page');
	bare.offered(1, SDP);
	bare.answered({ type: 'answer', way: 'picture', link: 1, sdp: SDP });
	expect(heard.at(-1)?.sdp).toBe(SDP);
	expect(answers.at(-1)).toBe(`1 ${SDP}`);
});

test('a page that only lost its control socket keeps its picture; another one, or a broken connection, is offered anew', () => {
	const path = open();
	path.viewerReady('page one');
	path.viewerReady('page one');
	expect(log).toEqual(['join 1', 'join 2']);
	path.connected(1);
	path.viewerReady('page one');
	expect(log.at(-1)).toBe('join 3');
	path.connected(3);
	path.viewerReady('page one');
	expect(log.at(-1)).toBe('join 3');
	path.viewerReady('page two');
	expect(log.at(-1)).toBe('join 4');
	path.connected(4);
	path.lost(4, 'broken');
	vi.advanceTimersByTime(501);
	expect(log.slice(-2)).toEqual(['streamLost: broken', 'join 5']);
	path.lost(4, 'an older one');
	vi.advanceTimersByTime(1000);
	expect(log.at(-1)).toBe('join 5');
});

test('nothing is encoded for a viewer that is gone, and what breaks after the run is no news', () => {
	const gone = open();
	gone.viewerReady('page');
	gone.connected(1);
	gone.viewerGone();
	gone.lost(1, 'closed');
	vi.advanceTimersByTime(1000);
	expect(log).toEqual(['join 1', 'leave']);
	log = [];
	const over = open();
	over.viewerReady('page');
	over.lost(1, 'broken');
	over.close();
	vi.advanceTimersByTime(1000);
	expect(log).toEqual(['join 1', 'streamLost: broken']);
});

test('the run waits until the jitter buffer is at rest, and tells once what it waited for', () => {
	const path = open();
	expect(path.restlessMs).toBeNull();
	const resting = counts(8000, () => 30);
	path.viewerCounts(resting.slice(0, 20));
	expect(path.isAtRest).toBe(false);
	expect(path.restlessMs).toBeCloseTo(30, 6);
	path.viewerCounts(resting.slice(20));
	expect(path.isAtRest).toBe(true);
	expect(path.restlessMs).toBeNull();
	path.viewerCounts([resting.at(-1)!]);
	expect(log).toHaveLength(1);
	expect(log[0]).toMatch(/^bufferAtRest: 8\.0 s waited .*jitter buffer from 30 to 30 ms$/);
	log = [];
	const restless = open();
	restless.viewerCounts(counts(45_000, (atMs) => atMs / 50));
	expect(restless.isAtRest).toBe(true);
	expect(log[0]).toMatch(/^bufferNotAtRest: .*not at rest$/);
});

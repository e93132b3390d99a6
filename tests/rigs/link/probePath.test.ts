import { beforeEach, expect, test, vi } from 'vitest';
import { ProbePath } from '../../../src/rigs/link/probePath.ts';

const RELAY = {
	renew: () => log.push('renew'),
	senderSide: { host: '127.0.0.1', port: 7001 },
	viewerSide: { host: '127.0.0.1', port: 7002 },
};
const SDP = 'v=0\r\na=mid:0\r\na=candidate:1 1 udp 1 10.0.0.7 5000 typ host\r\n';
/** Later than any packet is waited for. */
const LATER_MS = 1e12;

let log: string[] = [];
let heard: { type: string; sdp?: string; link?: number }[] = [];
let answers: { link: number; sdp: string }[] = [];

function open(relay: typeof RELAY | null = null): ProbePath {
	return new ProbePath(
		{
			probe: () => ({
				join: (link) => log.push(`join ${link}`),
				answer: (link, sdp) => answers.push({ link, sdp }),
			}),
			relay: () => relay,
			send: (message) => heard.push(message as (typeof heard)[number]),
			event: (code, detail) => log.push(`${code}: ${detail}`),
		},
		1000,
	);
}

function toViewer(path: ProbePath, nowMs: number): [number, boolean][] {
	return path
		.take(nowMs)
		.filter(({ way }) => way === 'toViewer')
		.flatMap(({ packets }) =>
			packets.map(({ sequence, receivedMs }): [number, boolean] => [sequence, receivedMs !== null]),
		);
}

beforeEach(() => {
	[log, heard, answers] = [[], [], []];
	vi.useFakeTimers();
	return () => vi.useRealTimers();
});

test('behind a relay each end is told of its side alone, and of no other link than the newest', () => {
	const path = open(RELAY);
	path.viewerReady('page one');
	expect(log).toEqual(['renew', 'join 1']);
	path.events.offer(0, SDP);
	path.events.offer(1, SDP);
	expect(heard).toHaveLength(1);
	expect(heard[0]).toMatchObject({ type: 'offer', way: 'probe', link: 1 });
	expect(heard[0]?.sdp).toContain('127.0.0.1 7002');
	expect(heard[0]?.sdp).not.toContain('10.0.0.7');
	path.answered({ type: 'answer', way: 'probe', link: 9, sdp: SDP });
	path.answered({ type: 'answer', way: 'probe', link: 1, sdp: SDP });
	expect(answers).toHaveLength(1);
	expect(answers[0]?.sdp).toContain('127.0.0.1 7001');
	const bare = open();
	bare.viewerReady(undefined);
	bare.events.offer(1, SDP);
	expect(heard.at(-1)?.sdp).toBe(SDP);
});

test('a page that lost its control socket and comes back keeps its probe, and nothing that it got meanwhile is lost', () => {
	const path = open();
	path.viewerReady('page one');
	path.events.connected(1);
	path.viewerAway();
	path.events.probed({ type: 'probed', sent: [[0, 10]], got: [] });
	// However long it is away, nobody has said yet what became of the packet.
	expect(toViewer(path, LATER_MS)).toEqual([]);
	path.probed({ type: 'probed', sent: [], got: [[0, 12]] }, 20);
	expect(path.takeAll(0, false)).toMatchObject([
		{ way: 'toViewer', packets: [{ sequence: 0, receivedMs: 12 }] },
	]);
	path.viewerReady('page one');
	expect(log).toEqual(['join 1']);
	path.events.probed({ type: 'probed', sent: [[1, 30]], got: [] });
	expect(toViewer(path, LATER_MS)).toEqual([[1, false]]);
});

test('another page, one that does not say which it is, and one whose probe broke meanwhile get a new connection', () => {
	const path = open();
	path.viewerReady('page one');
	path.events.connected(1);
	path.events.probed({ type: 'probed', sent: [[0, 10]], got: [] });
	path.viewerReady('page two');
	expect(log).toEqual(['join 1', 'join 2']);
	// What was on its way to the page before is no loss of the air's.
	expect(toViewer(path, LATER_MS)).toEqual([]);
	path.events.connected(2);
	path.events.lost(2, 'broken');
	path.viewerReady('page two');
	expect(log).toEqual(['join 1', 'join 2', 'probeStreamLost: broken', 'join 3']);
	const nameless = open();
	log = [];
	nameless.viewerReady(undefined);
	nameless.events.connected(1);
	nameless.viewerReady(undefined);
	expect(log).toEqual(['join 1', 'join 2']);
});

test('a probe that breaks is offered anew after half a second, one of an older link or after the run is not', () => {
	const path = open();
	path.viewerReady('page');
	path.events.connected(1);
	path.events.lost(0, 'old');
	expect(log).toEqual(['join 1']);
	path.events.lost(1, 'broken');
	vi.advanceTimersByTime(499);
	expect(log).toEqual(['join 1', 'probeStreamLost: broken']);
	vi.advanceTimersByTime(2);
	expect(log.at(-1)).toBe('join 2');
	path.close();
	path.events.lost(2, 'the end');
	vi.advanceTimersByTime(5000);
	expect(log.at(-1)).toBe('join 2');
});

test('each way is joined from the end that sent and the end that got', () => {
	const path = open();
	path.viewerReady('page');
	path.events.probed({ type: 'probed', sent: [[0, 10]], got: [[5, 33]] });
	path.probed({ type: 'probed', sent: [[5, 30]], got: [[0, 12]] }, 40);
	expect(path.take(0)).toEqual([
		{ way: 'toViewer', packets: [{ sequence: 0, sentMs: 10, receivedMs: 12 }] },
		{ way: 'toBench', packets: [{ sequence: 5, sentMs: 30, receivedMs: 33 }] },
	]);
});

/** The trial of the way for small packets, its process played by hand. */
import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import { UdpTrial } from '../../src/console/udpTrial.ts';
import { OutsideFailure } from '../../src/failure.ts';
import type { ToViewer } from '../../src/protocol/control.ts';
import type { ProbeEvents } from '../../src/transports/probe.ts';

let events: ProbeEvents | null = null;
let orders: string[] = [];
let told: ToViewer[] = [];
let hosts: (string | null)[] = [];

function open(failure: Error | null = null): UdpTrial {
	return new UdpTrial({
		host: () => '10.0.0.5',
		onChange: () => {},
		async start({ onlyHost }, given) {
			hosts.push(onlyHost);
			if (failure !== null) throw failure;
			events = given;
			return {
				join: (link) => orders.push(`join ${link}`),
				answer: (link, sdp) => orders.push(`answer ${link} ${sdp}`),
				stop: async () => void orders.push('stop'),
			};
		},
	});
}
const tell = (message: ToViewer): void => void told.push(message);

beforeEach(() => {
	[events, orders, told, hosts] = [null, [], [], []];
	vi.useFakeTimers();
});
afterEach(() => vi.useRealTimers());

test('a connection that comes to stand says that the way is open, by the address that the tablet came to', async () => {
	const trial = open();
	await trial.begin(true, tell);
	expect(trial.state).toBe('trying');
	events?.offer(1, 'an offer');
	expect(told).toEqual([{ type: 'offer', way: 'probe', link: 1, sdp: 'an offer' }]);
	trial.answered({ type: 'answer', way: 'probe', link: 1, sdp: 'yes' });
	trial.answered({ type: 'answer', way: 'probe', link: 9, sdp: 'of another' });
	trial.answered({ type: 'answer', way: 'picture', link: 1, sdp: 'of a picture' });
	events?.connected(1);
	expect(trial.state).toBe('open');
	expect(orders).toEqual(['join 1', 'answer 1 yes', 'stop']);
	expect(hosts).toEqual(['10.0.0.5']);
	// What comes late changes nothing.
	events?.lost(1, 'closed');
	vi.advanceTimersByTime(60_000);
	expect(trial.state).toBe('open');
});

test('a connection that fails, or does not come to stand within twelve seconds, says that the way is shut', async () => {
	const failing = open();
	await failing.begin(true, tell);
	events?.lost(1, 'failed');
	expect(failing.state).toBe('shut');
	const silent = open();
	await silent.begin(true, tell);
	vi.advanceTimersByTime(11_900);
	expect(silent.state).toBe('trying');
	vi.advanceTimersByTime(200);
	expect(silent.state).toBe('shut');
});

test('without WebRTC on either end nothing is tried, and which end it is is known', async () => {
	const there = open();
	await there.begin(false, tell);
	expect([there.state, hosts]).toEqual(['noneThere', []]);
	const here = open(new OutsideFailure('webrtcMissing', 'not there', 'get it'));
	await here.begin(true, tell);
	expect(here.state).toBe('noneHere');
});

test('a run ends a trial without a result and brings its own; another way here is not known', async () => {
	const trial = open();
	await trial.begin(true, tell);
	trial.stop();
	expect(trial.state).toBe('untried');
	trial.seen(false);
	expect(trial.state).toBe('shut');
	trial.seen(true);
	expect(trial.state).toBe('open');
	trial.forget();
	expect(trial.state).toBe('untried');
});

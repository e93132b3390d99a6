/** The far end of the probe for a viewer in Node. */
import type { Instance } from 'simple-peer';
import { createRandom } from '../statistics/random.ts';
import { openProbeTraffic, type ProbeTraffic } from './probeChannel.ts';
import { repeatUnevenly } from './unevenly.ts';
import { openWebrtc } from './webrtc.ts';

const REPORT_EVERY_MS = 250;
const MOST_ROWS = 2000;

export type ProbeAnswer = {
	/** Answers an offer; the connection before is closed. An offer that cannot be understood gets no answer. */
	offered(link: number, sdp: string): void;
};

type Events = {
	answer(link: number, sdp: string): void;
	probed(traffic: ReturnType<ProbeTraffic['take']>): void;
};

/** `aheadMs`: how far this viewer's clock is ahead of the machine's. Throws `OutsideFailure` `webrtcMissing`. */
export async function openProbeAnswer(
	{
		perSecond,
		seed,
		aheadMs,
	}: { readonly perSecond: number; readonly seed: number; readonly aheadMs: number },
	events: Events,
): Promise<ProbeAnswer> {
	const webrtc = await openWebrtc();
	const random = createRandom(seed);
	const traffic = openProbeTraffic({ perSecond, draw: () => random.next(), aheadMs });
	repeatUnevenly(REPORT_EVERY_MS, () => {
		const { sent, got } = traffic.take();
		if (sent.length > 0 || got.length > 0)
			events.probed({ sent: sent.slice(0, MOST_ROWS), got: got.slice(0, MOST_ROWS) });
	});
	let current: Instance | null = null;
	return {
		offered(link, sdp) {
			current?.destroy();
			const peer = webrtc.openPeer({ initiator: false });
			current = peer;
			peer.on('signal', (signal) => {
				if (signal.type === 'answer' && signal.sdp !== undefined) events.answer(link, signal.sdp);
			});
			peer.on('connect', () => traffic.use(peer));
			peer.on('error', () => peer.destroy());
			peer.signal({ type: 'offer', sdp });
		},
	};
}
